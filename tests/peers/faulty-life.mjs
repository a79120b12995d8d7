// A short life of a household while a system call fails, and what has to be true after the life that follows it.

import assert from 'node:assert/strict';
import { setTimeout as sleep } from 'node:timers/promises';

import { PATIENCE_MS, POLL_MS } from './faulty-home.mjs';

const dose = (id, day, more) => ({
  id,
  type: 'dose_given',
  person: 'juniper',
  time: `2026-10-${day}T08:00:00+01:00`,
  by: 'marlow',
  medicine: 'enoxaparin-100',
  amount: 0.18,
  unit: 'mL',
  region: 'abdomen',
  side: 'left',
  recorded: `2026-10-${day}T08:02:00+01:00`,
  ...more,
});
const weight = (id, kg) => {
  const time = '2026-10-12T07:30:00+01:00';
  return { id, type: 'weight', person: 'juniper', time, by: 'marlow', kg, recorded: time };
};

const ENTRIES = [dose('spoken', 12), weight('weight', 18.4)];
const REFUSED = weight('refused', -1);
const RECORDED = { recorded: '2026-10-12T09:00:00+01:00', recorded_by: 'tove', reason: 'Read again' };
const AMENDMENT = { ...dose('spoken', 12), action: 'amend', amount: 0.19, ...RECORDED };
const ROWS = [dose('row-1', 13), dose('row-2', 14)];
const csv = (rows) => [Object.keys(rows[0]), ...rows.map(Object.values)].map((row) => `${row.join()}\n`).join('');
const GOOD_FILE = 'doses.csv';
const WRONG_FILE = 'wrong.csv';
const FILES = { [GOOD_FILE]: csv(ROWS), [WRONG_FILE]: csv([weight('refused-row', -1)]) };

// What the clinic holds in the end: milligrams or kilograms of the newest revision.
const AT_THE_CLINIC = { spoken: 19, weight: 18.4, 'row-1': 18, 'row-2': 18 };
const valueOf = (resource) => (resource.dosage?.dose ?? resource.valueQuantity).value;

// Nobody else is in the way (75), and nothing was wrong with the command line (64).
const HONEST_ENDINGS = new Set([74, 78]);

/**
 * The two days on which a fault may strike: a household's first, from an empty folder on; and the one after a power
 * cut, when the logbook is recovered and the clinic does not have the newest revisions.
 */
export const DAYS = {
  first: { before: async () => {}, spend: spendFirstDay },
  recovery: { before: untilPowerCut, spend: (home, hub) => hub.pass() },
};

/**
 * Lives through a day in which `fault` strikes ("pwrite 17 EIO once"). Fails where the daemon hangs, dies of a signal,
 * or ends without saying why. Fills `life` with which revisions were promised and which turned away ({ label:
 * revision }), what the daemon said and how it ended.
 */
export async function liveThrough(home, day, fault, life) {
  Object.assign(life, { promised: {}, turnedAway: { [REFUSED.id]: 1, 'refused-row': 1 } });
  await DAYS[day].before(home, life);
  const hub = home.start(fault);
  life.lines = hub.lines;
  const isUp = await hub.says(/ info ready | disk_full what=logbook /);
  // On a full disk it waits for room, which takes too long here; so it is only asked to end.
  if (isUp && hub.lines.some((line) => / info ready /.test(line))) await DAYS[day].spend(home, hub, life);
  const askedToEnd = hub.isRunning;
  if (askedToEnd) hub.terminate();
  const ended = await hub.ends();
  if (home.files().done.length > 0) for (const { id } of ROWS) life.promised[id] = 1;
  Object.assign(life, hub.report(), { ending: hub.ending, lastWords: hub.lines.at(-1) });
  assert.ok(isUp || !askedToEnd, 'it hangs before it is ready');
  assert.ok(ended, 'it hangs when it is asked to end');
  checkEnding(life, fault, askedToEnd);
}

async function spendFirstDay(home, hub, life) {
  await hub.saysHowPassWent(); // Last night's, which there never was.
  await handIn(hub, [...ENTRIES, REFUSED], life);
  for (const [name, text] of Object.entries(FILES)) {
    home.drop(name, text);
    await hub.takesInbox();
  }
  await hub.pass();
  await handIn(hub, [AMENDMENT], life);
  await hub.pass();
}

async function untilPowerCut(home, life) {
  const hub = home.start();
  assert.ok(await hub.says(/ info ready /));
  await handIn(hub, ENTRIES, life);
  await hub.pass();
  await handIn(hub, [AMENDMENT], life);
  await hub.kill();
}

/** Hands these in together and notes the answers. A storage error has to end the daemon. */
async function handIn(hub, entries, life) {
  const answer = await hub.call('POST', '/v1/entries', entries);
  if (answer?.status === 507) {
    assert.match(answer.body.error, /nothing was accepted/);
    for (const { id, action } of entries) life.turnedAway[id] = action ? 2 : 1;
  } else if (answer?.status === 500) {
    assert.ok(await hub.ends(), `it goes on after ${answer.body.error}`);
  } else if (answer) {
    assert.ok([200, 422].includes(answer.status), JSON.stringify(answer));
    answer.body.answers.forEach(({ answer: word, revision }, index) => {
      const { id, action } = entries[index];
      const isGood = ['accepted', 'already_there'].includes(word);
      const hasNoBase = action === 'amend' && !(id in life.promised); // What it amends was not accepted.
      assert.ok(isGood !== (id === REFUSED.id) || hasNoBase, JSON.stringify(answer.body));
      if (isGood) life.promised[id] = revision;
    });
  }
}

function checkEnding({ ending, lastWords, lines }, fault, askedToEnd) {
  if (ending === 0) return assert.ok(askedToEnd, 'it ended with 0 without being asked to');
  assert.ok(HONEST_ENDINGS.has(ending), `it ended with ${ending}: ${lastWords}`);
  assert.match(lastWords, / error ended status=\d+ reason=".{20,}"$/, 'it does not say why it ended');
  assert.doesNotMatch(lastWords, /unexpected|unchecked/);
  // A hub that was ready may be started again: nothing in its settings is wrong.
  if (lines.some((line) => / info ready /.test(line))) assert.equal(ending, 74, lastWords);
  assert.doesNotMatch(lastWords, /damaged|restore/, 'it takes a failing disk for a damaged file');
  // What nobody has to put right is not called a matter of rights and folders.
  if (!/EACCES|EROFS/.test(fault)) assert.doesNotMatch(lastWords, /must exist and be writable|read-only/);
}

/** The next day, without a fault: everything that was promised is there, and in the end everything is at the clinic. */
export async function endWell(home, life, clinic, before) {
  const hub = home.start();
  assert.ok(await hub.says(/ info ready /), 'it does not start any more');
  await checkPromises(home, hub, life);
  await settleFiles(home, hub);
  await handInAgain(hub, life);
  const queue = await passUntilEmpty(hub);
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, 4], JSON.stringify(queue));
  await checkClinic(hub, clinic, before);
  hub.terminate();
  assert.ok(await hub.ends(), 'it hangs at its end');
  assert.equal(hub.ending, 0);
}

async function checkPromises(home, hub, { promised, turnedAway }) {
  for (const [label, revision] of Object.entries(promised)) {
    const { status, body } = await hub.call('GET', `/v1/entries/${label}`);
    assert.equal(status, 200, `${label} was accepted and is lost`);
    assert.ok(body.revision >= revision, `revision ${revision} of ${label} was accepted and is lost`);
  }
  for (const [label, revision] of Object.entries(turnedAway)) {
    if (promised[label] >= revision) continue; // Somebody handed it in again later.
    const { status, body } = await hub.call('GET', `/v1/entries/${label}`);
    assert.ok(status === 404 || body.revision < revision, `${label} was turned away and is there`);
  }
}

/** Each file lies where it belongs once, or is taken now. One that could not be read was refused and is put back. */
async function settleFiles(home, hub) {
  for (const [name, text] of Object.entries(FILES)) {
    const { inbox, done, refused } = home.files();
    if (refused.includes(name) && /could not be read|cannot be read/.test(home.reason(name))) home.bringBack(name);
    else if (![...inbox, ...done, ...refused].includes(name)) home.drop(name, text); // There was no inbox yet.
  }
  await hub.takesInbox(PATIENCE_MS);
  const { inbox, done, refused } = home.files();
  assert.deepEqual([inbox, done, refused], [[], [GOOD_FILE], [WRONG_FILE, `${WRONG_FILE}.reason.txt`]]);
  assert.match(home.reason(WRONG_FILE), /0 of 1 entry [^]* kg/);
}

/** As a family does that is not sure: what was promised meets itself. */
async function handInAgain(hub, { promised }) {
  for (const entry of [...ENTRIES, AMENDMENT]) {
    const { status, body } = await hub.call('POST', '/v1/entries', [entry]);
    assert.equal(status, 200, JSON.stringify(body));
    const wasPromised = promised[entry.id] >= (entry.action ? 2 : 1);
    if (wasPromised) assert.equal(body.answers[0].answer, 'already_there', JSON.stringify(body));
  }
}

/** Passes until nothing waits. One that the last life left behind may be under way already. */
async function passUntilEmpty(hub) {
  const deadline = Date.now() + PATIENCE_MS;
  for (;;) {
    const { body } = await hub.call('GET', '/v1/queue');
    const [queue] = body.clinics;
    if ((queue.waiting === 0 && !queue.pass.running) || Date.now() > deadline) return queue;
    await hub.call('POST', '/v1/passes');
    await sleep(POLL_MS);
  }
}

async function checkClinic(hub, clinic, before) {
  let versions = 0;
  for (const [label, value] of Object.entries(AT_THE_CLINIC)) {
    const { body: entry } = await hub.call('GET', `/v1/entries/${label}`);
    const type = label === 'weight' ? 'Observation' : 'MedicationAdministration';
    const { body: found } = await clinic.get(`/${type}?identifier=urn:uuid:${entry.id}`);
    assert.equal(found.entry?.length, 1, `${label} is at the clinic ${found.entry?.length ?? 0} times`);
    const { resource } = found.entry[0];
    assert.equal(valueOf(resource), value, `${label} is not in its newest revision`);
    const { body: history } = await clinic.get(`/${type}/${resource.id}/_history`);
    versions += history.entry.length;
  }
  const { byType } = await clinic.counts();
  const added = (type) => (byType[type] ?? 0) - (before.byType[type] ?? 0);
  const all = ['MedicationAdministration', 'Observation', 'Provenance'].map(added);
  assert.deepEqual(all, [3, 1, versions], 'doses, weights, and a Provenance for each version');
  assert.ok(versions <= 5, `${versions} versions of five revisions`);
}
