// How a household has to stand when everything that broke has been put right: what the logbook holds against what the
// family handed in, and what the clinic holds against the logbook.

import assert from 'node:assert/strict';
import { setTimeout as sleep } from 'node:timers/promises';

import { revisionInEffect, UNWANTED } from './diary.mjs';

// What follows may have been cut short on the way.
const CLINICS_WORDS = /^HTTP 422 refused by the clinic's rules/;
// For a backlog of a thousand lives on a busy machine, after the five minutes in which a hub that was killed may have to
// wait until nothing that it sent before can still arrive.
const PATIENCE_MS = 540_000;

const nameOf = ({ resourceType, id }) => `${resourceType}/${id}`;

/** Everything the clinic holds of this hub: identifier -> resources that bear it. */
async function heldByIdentifier(clinic) {
  const resources = [...(await clinic.all('MedicationAdministration')), ...(await clinic.all('Observation'))];
  const held = new Map();
  for (const resource of resources) {
    const { value } = resource.identifier[0];
    held.set(value, [...(held.get(value) ?? []), resource]);
  }
  return held;
}

/** After the last kill: no fault any more, and passes until nothing waits. */
async function comeToRest(home, lives) {
  await home.proxy.calm();
  await home.startHub();
  await lives.settle();
  await home.waitFor('every late request has arrived', async () => (await home.proxy.counts()).outstanding === 0);
  const deadline = Date.now() + PATIENCE_MS;
  for (;;) {
    const queue = await home.queue();
    if (queue.waiting === 0 && !queue.pass.running) return queue;
    assert.ok(Date.now() < deadline, `${queue.waiting} entries still wait: ${queue.pass.words}\n${home.log()}`);
    await home.requestPass(); // Cuts a wait short; while the pass is working it changes nothing.
    await sleep(200);
  }
}

/** Lets the household come to rest and holds everything against everything, each as a test of its own. */
export async function assertAllIsWell(t, home, lives) {
  const queue = await comeToRest(home, lives);
  const { entries } = await home.get('/v1/entries?limit=10000');
  const known = new Map(entries.map((entry) => [entry.id, entry]));
  const held = await heldByIdentifier(home.clinic);
  const inEffect = new Map(); // id -> the revision that is in effect in the logbook
  // A retracted entry keeps its words.
  const isRefused = (id) => known.get(id).note.includes(UNWANTED);

  await t.test('The logbook has every accepted entry in its newest revision, and nothing that nobody wrote', () => {
    for (const entry of lives.diary.entries.values()) {
      const revision = revisionInEffect(entry, known.get(entry.id));
      if (revision) inEffect.set(entry.id, revision);
    }
    assert.deepEqual([...known.keys()].filter((id) => !inEffect.has(id)), []);
  });

  await t.test('Every entry is confirmed, but for those that the clinic refuses, and these are listed', async () => {
    for (const id of inEffect.keys()) {
      const [{ state, words }] = known.get(id).deliveries;
      assert.equal(state, isRefused(id) ? 'set_aside' : 'confirmed', `${id}: ${words}`);
      if (isRefused(id)) assert.match(words, CLINICS_WORDS);
    }
    const refused = [...inEffect.keys()].filter(isRefused);
    assert.deepEqual([queue.waiting, queue.set_aside], [0, refused.length]);
    const listed = (await home.get('/v1/deliveries?state=set_aside&limit=10000')).entries.map(({ id }) => id);
    assert.deepEqual(listed.sort(), refused.sort());
  });

  await t.test('The clinic holds each confirmed entry once, as it stands in the logbook', () => {
    for (const [id, { mark, retracts }] of inEffect) {
      if (isRefused(id)) continue;
      const resources = held.get(`urn:uuid:${id}`) ?? [];
      assert.equal(resources.length, 1, `${id} is there ${resources.length} times`);
      const [{ status, note, meta }] = resources;
      if (retracts) assert.equal(status, 'entered-in-error', id);
      else assert.equal(note[0].text, mark, id);
      const { revision, deliveries } = known.get(id);
      const receipt = deliveries[0].receipts.at(-1);
      assert.deepEqual([receipt.revision, receipt.resource], [revision, nameOf(resources[0])]);
      assert.equal(receipt.version, meta.versionId);
    }
  });

  await t.test('Of what it refuses it holds an earlier revision or nothing, and it holds nothing else', () => {
    for (const [identifier, resources] of held) {
      const entry = lives.diary.entries.get(identifier.slice('urn:uuid:'.length));
      assert.ok(entry && inEffect.has(entry.id), `${identifier} is in no logbook`);
      assert.equal(resources.length, 1, identifier);
      if (resources[0].status === 'entered-in-error') continue;
      assert.ok(entry.revisions.some(({ mark }) => mark === resources[0].note[0].text), identifier);
    }
  });

  await t.test('No revision was written twice, and the one in effect has its Provenance', async () => {
    const recorded = new Map();
    for (const one of await home.clinic.all('Provenance')) {
      const { reference } = one.target[0];
      recorded.set(reference, (recorded.get(reference) ?? new Set()).add(Date.parse(one.recorded)));
    }
    for (const [identifier, [resource]] of held) {
      const id = identifier.slice('urn:uuid:'.length);
      const { body } = await home.clinic.get(`/${nameOf(resource)}/_history`);
      // What is retracted keeps the note of the revision before.
      const versions = body.entry.map(({ resource: { status, note } }) => `${status === 'entered-in-error'} ${note[0].text}`);
      assert.deepEqual([...new Set(versions)], versions, nameOf(resource));
      if (isRefused(id)) continue;
      // An earlier one may lack it where a kill came between the two and an amendment came next.
      assert.ok(recorded.get(nameOf(resource))?.has(Date.parse(known.get(id).recorded)), nameOf(resource));
    }
  });
}
