// A clinic's door that is wrong in one way each: the real daemon has an entry to send, and refuses the door in words
// that say what is wrong, before any health data leave. The tables are in bad-doors/; a case is
//
//   name   what is wrong
//   make   ({ test, folder }) => what the settings say of the clinic (see makeHome()), with `ears` where something listens
//   says   what people are told
//   hears  what the door may have heard by then, see MAY_HEAR
//   remark what the queue says besides; tokens: how many of them were asked for
//   fault  cases that people need not tell from each other share one; all others are told in words of their own
//   slow   it takes as long as the daemon waits, up to 90 s, so it is tried once; those run first, beside the others
//
// At most AT_ONCE hubs run at a time.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { BROKEN_ANSWERS } from './bad-doors/answers.mjs';
import { badCertificate } from './bad-doors/certificates.mjs';
import { clinicDoor, PATIENT } from './bad-doors/clinic.mjs';
import { Ears } from './bad-doors/doors.mjs';
import { BAD_PATIENTS } from './bad-doors/patients.mjs';
import { REFUSED_SETUPS } from './bad-doors/setups.mjs';
import { BAD_STATEMENTS } from './bad-doors/statements.mjs';
import { BAD_TOKENS } from './bad-doors/tokens.mjs';
import { UNTRUSTED } from './bad-doors/trust.mjs';
import { NO_WAY } from './bad-doors/ways.mjs';
import { BUILD, makeHome } from './hub.mjs';

const AT_ONCE = 8;
const PATIENCE_MS = 150_000; // The daemon's own, beside seven other hubs.

const NOTE = 'Bluish edge, she says it itches';
const ENTRY = {
  id: 'entry-of-the-bad-door',
  type: 'finding',
  person: 'juniper',
  time: '2026-10-14T07:50:00+01:00',
  by: 'marlow',
  finding: 'bruise',
  region: 'abdomen',
  side: 'right',
  length_cm: 1.5,
  note: NOTE,
  recorded: '2026-10-14T07:51:00+01:00',
};
// What must not leave, besides the patient's number: of the entry, of the household, of the resources made of them.
const SECRETS = [
  ENTRY.id,
  NOTE,
  'bruise',
  'juniper',
  'Juniper',
  'marlow',
  'Marlow',
  'tove',
  'enoxaparin',
  'abdomen',
  'resourceType',
  'Device/hub',
];

// What may have been asked at a door: about the server and for a token, or for the patient as well. One that hears
// "nothing" was sent no request at all, and one that hears "connect" the wish for a tunnel only.
const MAY_HEAR = {
  questions: /^(GET \/fhir\/metadata|GET \/fhir\/\.well-known\/smart-configuration|POST \/token)$/,
  patient: /^(GET \/fhir\/(metadata|\.well-known\/smart-configuration|Patient\?.*)|POST \/token)$/,
};

// RFC 9110 section 9.3.6.
const WISH_FOR_A_TUNNEL = 'CONNECT clinic.example:443 HTTP/1.1\r\nHost: clinic.example:443\r\n\r\n';

/** A home whose hub was started, and has one entry to send. */
async function startAtDoor(t, make) {
  let door;
  const home = await makeHome(t, async ({ folder }) => (door = await make({ test: t, folder })));
  await home.startHub();
  await home.drop('entry.json', JSON.stringify(ENTRY));
  return { home, door };
}

const isRefused = ({ pass }) => (!pass.running && pass.words !== undefined) || (pass.failures ?? 0) > 0;

/** Waits until the clinic was tried, and tells the queue then. */
function tried(home, since) {
  return home.waitFor(
    'the clinic was tried',
    async () => {
      const queue = await home.queue();
      // One that had stopped has begun anew by now; one that waited has only tried once more.
      const isMore = !since?.pass.running || !queue.pass.running || queue.pass.failures > since.pass.failures;
      return isRefused(queue) && isMore ? queue : undefined;
    },
    PATIENCE_MS,
  );
}

async function askAgain(home, before) {
  await home.requestPass();
  return tried(home, before);
}

function assertHeardNothingOfHealth(ears, hears) {
  const all = ears.all().toString('latin1');
  const secrets = hears === 'patient' ? SECRETS : [...SECRETS, PATIENT.value];
  for (const secret of secrets) assert.ok(!all.includes(secret), `${secret} left: ${all.slice(0, 2000)}`);
  for (const request of ears.requests) assert.match(request, MAY_HEAR[hears] ?? /^$/);
  assert.ok(hears !== 'nothing' || ears.inside.every((bytes) => bytes.length === 0), 'not even a request');
  for (const bytes of ears.raw) {
    if (hears === 'connect') assert.equal(bytes.toString(), WISH_FOR_A_TUNNEL);
    else assert.ok(Ears.records(bytes), `something else than TLS left: ${bytes.toString('latin1').slice(0, 200)}`);
  }
}

const toldBy = new Map();

/** Whether the same was told of another fault; ports and times differ from run to run. */
function assertToldApart(name, fault, words) {
  const plain = words.replace(/:\d{4,5}\b/g, '').replace(/\d{4}-\d\d-\d\dT[\d:.]+Z?/g, 'then');
  const other = toldBy.get(plain);
  assert.ok(!other || other.fault === fault, `${name} and ${other?.name} are told in the same words: ${words}`);
  toldBy.set(plain, { name, fault });
}

async function refuse(t, { name, make, says, hears, fault = name, slow = false, remark, tokens }) {
  const { home, door } = await startAtDoor(t, make);
  const first = await tried(home);
  const queue = slow ? first : await askAgain(home, first);
  const { stdout } = await home.command('queue');
  await home.endHub('SIGKILL');
  const { words } = queue.pass;
  assert.match(words, says);
  assert.match(stdout.replace(/\s+/g, ' '), says, 'the command tells it, too');
  assert.deepEqual([queue.waiting, queue.confirmed, queue.set_aside], [1, 0, 0], words);
  assertToldApart(name, fault, words);
  const remarks = queue.remarks ?? [];
  if (remark)
    assert.ok(
      remarks.some((one) => remark.test(one)),
      remarks.join('\n'),
    );
  if (door.ears) {
    assert.ok(door.ears.connections > 0, 'the door was never tried');
    assertHeardNothingOfHealth(door.ears, hears);
    const asked = door.ears.requests.filter((one) => one === 'POST /token').length;
    // In each of two passes.
    if (tokens) assert.ok(asked >= tokens && asked <= 2 * tokens, door.ears.requests.join('\n'));
  }
  if (door.alsoHeard) {
    assert.ok(door.alsoHeard.connections > 0, 'the other door was never tried');
    assertHeardNothingOfHealth(door.alsoHeard, 'nothing');
  }
  const log = readFileSync(join(home.folder, 'hub.log'), 'utf8');
  for (const secret of [NOTE, PATIENT.value, 'juniper']) assert.ok(!log.includes(secret), log);
}

const table = [
  ...UNTRUSTED.map((one) => ({ hears: 'nothing', ...one })),
  ...NO_WAY.map((one) => ({ hears: 'nothing', ...one })),
  ...[...BROKEN_ANSWERS, ...BAD_STATEMENTS, ...BAD_TOKENS].map((one) => ({ hears: 'questions', ...one })),
  ...BAD_PATIENTS,
];
const slowestFirst = [...table].sort((a, b) => Number(b.slow ?? false) - Number(a.slow ?? false));

test(
  'every door that is wrong is refused in words of its own before any health data leave',
  { concurrency: AT_ONCE },
  async (t) => {
    assert.ok(table.length >= 40);
    await Promise.all(slowestFirst.map((one) => t.test(one.name, (own) => refuse(own, one))));
  },
);

// What the table's doors would hear of a clinic that is good: or else they might be deaf.
for (const version of ['TLSv1.2', 'TLSv1.3']) {
  test(`a door that is good is sent the entry by ${version}`, async (t) => {
    const options = { ...badCertificate('good').tls, minVersion: version, maxVersion: version };
    const make = async ({ test }) => ({ ...(await clinicDoor(test, { options })), ca: badCertificate('ca').cert });
    const { home, door } = await startAtDoor(t, make);
    await askAgain(home, await tried(home));
    const heard = Buffer.concat(door.ears.inside).toString('utf8');
    for (const secret of [NOTE, PATIENT.value, 'marlow', 'resourceType']) assert.ok(heard.includes(secret), heard);
    assert.ok(
      door.ears.raw.every((bytes) => !bytes.includes(NOTE) && Ears.records(bytes).includes('application_data')),
    );
  });
}

for (const { name, make, refused } of REFUSED_SETUPS) {
  test(`the hub does not start with ${name}, and says so`, async (t) => {
    const home = await makeHome(t, ({ folder }) => make({ test: t, folder }));
    assert.equal(await home.ended(home.spawnHub()), 78, home.log());
    assert.match(home.log(), / error settings_problem file=| error ended status=78 reason="clinic nowhere: /);
    // What quotes the settings is told to whoever asks, and not to the log.
    const { status, stderr } = spawnSync(join(BUILD, 'nightferryd'), ['--check', '--settings', home.settings], {
      encoding: 'utf8',
    });
    assert.equal(status, 78);
    assert.match(stderr, refused);
    assertToldApart(name, name, stderr);
  });
}
