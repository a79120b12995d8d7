// An answer that nobody asked for, on a connection that is kept: it must not pass for the answer to the next request
// (RFC 9112 section 9.2). The real daemon behind the fault proxy.

import assert from 'node:assert/strict';
import test from 'node:test';

import { NDJSON_TYPE, startHome } from './hub.mjs';

const DAYS = [2, 3, 4];

/** A weight for each of the days, or an amendment of each. */
function weights(kg, extra = {}) {
  const about = { type: 'weight', person: 'juniper', by: 'marlow' };
  const day = (n) => ({ id: `w${n}`, ...about, time: `2026-11-0${n}T07:30:00Z`, kg: kg + n, ...extra });
  const lines = DAYS.map(day);
  return lines.map((line) => JSON.stringify(line)).join('\n');
}

async function startCrossedHome(t) {
  const home = await startHome(t, { faults: { percent: 0 } });
  await home.handIn(weights(10), NDJSON_TYPE);
  assert.equal((await home.pass()).confirmed, DAYS.length);
  const how = { action: 'amend', recorded: '2026-11-05T09:00:00Z', recorded_by: 'tove' };
  await home.handIn(weights(20, how), NDJSON_TYPE);
  return home;
}

/** Every weight is at the clinic once, amended, and its receipt names the place where it is. */
async function assertAmendedOnce(home) {
  const { entries } = await home.get('/v1/entries?limit=10');
  const held = new Map((await home.clinic.all('Observation')).map((one) => [`Observation/${one.id}`, one]));
  assert.equal(held.size, DAYS.length);
  for (const { kg, deliveries } of entries) {
    const [{ state, words, receipts }] = deliveries;
    assert.equal(state, 'confirmed', words);
    const { valueQuantity, meta } = held.get(receipts.at(-1).resource);
    assert.deepEqual([valueQuantity.value, meta.versionId], [kg, receipts.at(-1).version]);
  }
}

test('A stray answer of an earlier transaction confirms nothing', async (t) => {
  const home = await startCrossedHome(t);
  await home.proxy.force('stale-answer'); // behind the patient
  await home.requestPass();
  await home.waitFor('everything is confirmed', async () => (await home.queue()).confirmed === DAYS.length);
  await home.rest();
  assert.equal((await home.proxy.counts()).faults['stale-answer'], 1);
  await assertAmendedOnce(home);
});

test('A stray answer of an earlier search sets nothing aside', async (t) => {
  const home = await startCrossedHome(t);
  // The patient, the amendments, and then one look at each of them, since nobody knows whether they arrived.
  for (const fault of ['none', 'cut-after', 'none', 'stale-answer']) await home.proxy.force(fault);
  await home.requestPass();
  await home.waitFor('a failure is counted', async () => (await home.queue()).pass.failures > 0);
  await home.requestPass();
  const queue = await home.rest();
  assert.equal((await home.proxy.counts()).faults['stale-answer'], 1);
  assert.deepEqual([queue.confirmed, queue.set_aside], [DAYS.length, 0]);
  await assertAmendedOnce(home);
});
