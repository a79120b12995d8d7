// What the hub promises when it is not let finish: nothing is lost, nothing arrives twice, and it says plainly how it
// ended. The real daemon, killed at moments that differ from run to run, against a FHIR server that nobody here wrote.
//
//   NIGHTFERRY_SEED=123 node --test survival.test.mjs      the same moments as a run that printed this seed

import assert from 'node:assert/strict';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { seededRandom } from './diary.mjs';
import { JSON_TYPE, startHome } from './hub.mjs';

const ENTRIES = 62; // of the demo fortnight
const SUMMARIES = 21 + 3; // of its days and weeks
const KILLS = 10;
const AMENDMENTS_PER_KILL = 3;

/** Of every dose given and not retracted, how to amend it: the whole entry with another amount. */
async function amendableDoses(home) {
  const { entries } = await home.get('/v1/entries?limit=100');
  const doses = entries.filter(({ type, retracted }) => type === 'dose_given' && !retracted);
  const fields = ['id', 'type', 'person', 'time', 'by', 'medicine', 'unit', 'region', 'side', 'x_cm', 'y_cm', 'vial'];
  return doses.map((dose) => (amount, recorded) => ({
    action: 'amend',
    ...Object.fromEntries(fields.filter((name) => name in dose).map((name) => [name, dose[name]])),
    amount,
    recorded,
    recorded_by: 'tove',
    reason: 'Read again',
  }));
}

async function heldByIdentifier(clinic) {
  const resources = [...(await clinic.all('MedicationAdministration')), ...(await clinic.all('Observation'))];
  const held = new Map(resources.map((resource) => [resource.identifier[0].value, resource]));
  assert.equal(held.size, resources.length, 'an entry is there twice');
  return held;
}

test('After ten SIGKILLs in mid-pass the clinic has every entry once, in its latest revision', async (t) => {
  const seed = Number(process.env.NIGHTFERRY_SEED ?? Math.floor(Math.random() * 2 ** 32));
  t.diagnostic(`NIGHTFERRY_SEED=${seed}`);
  const random = seededRandom(seed);
  const home = await startHome(t, { regimen: true });
  const { clinic } = home;
  await home.handInFortnight();
  const amend = await amendableDoses(home);
  await clinic.setOptions({ 'delay-ms': 60 });

  const milligrams = new Map(); // of the amended doses, by id
  let inMidPass = 0;
  for (let kill = 1; kill <= KILLS; ++kill) {
    if (!home.hub) await home.startHub();
    if (kill % 3 === 0) await clinic.setOptions({ 'lose-answers': 1 });
    const { writes } = await clinic.counts();
    await home.requestPass();
    // Some of these doses are at the clinic already, some wait, some are under way, some are amended a second time.
    const amendments = Array.from({ length: AMENDMENTS_PER_KILL }, () => {
      const dose = amend[Math.floor(random() * amend.length)];
      return dose(`0.${10 + kill}`, `2026-11-02T09:${10 + kill}:00Z`);
    });
    await home.handIn(JSON.stringify(amendments), JSON_TYPE);
    for (const { id } of amendments) milligrams.set(id, 10 + kill);
    await home.waitFor('something arrives', async () => (await clinic.counts()).writes > writes);
    await sleep(random() * (20 + 20 * kill));
    const { waiting, pass } = await home.queue();
    assert.equal(await home.endHub('SIGKILL'), 'SIGKILL');
    if (waiting > 0 && pass.running) ++inMidPass;
  }
  t.diagnostic(`${inMidPass} of ${KILLS} kills came in mid-pass`);
  assert.ok(inMidPass >= KILLS / 2, 'too few kills came in mid-pass to prove anything');

  await clinic.setOptions({ 'delay-ms': 0, 'lose-answers': 0 });
  await home.startHub();
  await home.requestPass();
  const queue = await home.rest();
  const { entries } = await home.get('/v1/entries?limit=100&summaries=yes');
  const held = await heldByIdentifier(clinic);
  const provenances = await clinic.all('Provenance');

  await t.test('Every entry is confirmed in the logbook', () => {
    assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, ENTRIES + SUMMARIES]);
    assert.ok(entries.every(({ deliveries }) => deliveries[0].state === 'confirmed'));
  });

  await t.test('The clinic holds one resource for each entry and none besides', () => {
    assert.deepEqual([...held.keys()].sort(), entries.map(({ id }) => `urn:uuid:${id}`).sort());
  });

  await t.test('The newest receipt names the version that the clinic holds', () => {
    for (const { id, revision, deliveries } of entries) {
      const { resourceType, id: place, meta } = held.get(`urn:uuid:${id}`);
      const receipt = deliveries[0].receipts.at(-1);
      assert.deepEqual([receipt.revision, receipt.resource], [revision, `${resourceType}/${place}`]);
      assert.equal(receipt.version, meta.versionId);
    }
  });

  await t.test('Every amended dose shows its last amount', () => {
    for (const [id, mg] of milligrams) assert.equal(held.get(`urn:uuid:${id}`).dosage.dose.value, mg);
  });

  await t.test('Every version at the clinic has one Provenance, so none was written twice', async () => {
    for (const { resourceType, id } of held.values()) {
      const name = `${resourceType}/${id}`;
      const { body } = await clinic.get(`/${name}/_history`);
      const about = provenances.filter(({ target }) => target[0].reference === name);
      assert.equal(about.length, body.entry.length, name);
    }
  });
});

test('SIGTERM ends the hub with 0 at once, although the clinic still owes an answer', async (t) => {
  const home = await startHome(t, { clinicOptions: ['--delay-ms', '60000'] });
  const weight = { type: 'weight', person: 'juniper', time: '2026-11-02T07:30:00Z', by: 'marlow', kg: 18.5 };
  await home.handIn(JSON.stringify(weight), JSON_TYPE);
  await home.requestPass();
  await home.waitFor('a write is under way', async () => (await home.clinic.counts()).writes > 0);
  assert.equal((await home.queue()).pass.running, true);
  const started = Date.now();
  assert.equal(await home.endHub('SIGTERM'), 0);
  assert.ok(Date.now() - started < 5000);
});

test('A second hub on the same logbook ends with 75, and the first goes on', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  assert.equal(await home.ended(home.spawnHub()), 75);
  assert.equal(home.hub.exitCode, null);
  const queue = await home.pass();
  assert.equal(queue.confirmed, ENTRIES);
});

test('While the hub is stopped the command reads the logbook itself', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  const running = await home.command('list');
  assert.equal(await home.endHub('SIGTERM'), 0);
  const stopped = await home.command('list');
  assert.deepEqual([stopped.code, stopped.stdout], [0, running.stdout]);
  assert.equal(stopped.stdout.trimEnd().split('\n').length, ENTRIES);
  assert.match(stopped.stderr, /the daemon is not running/);
});
