// What the hub promises, under everything at once: the real daemon killed at random moments while a family hands in
// entries over the API and the inbox, behind a proxy that breaks connections, answers in the clinic's name, and has
// requests arrive twice or seconds late, against a FHIR server that nobody here wrote.
//
//   NIGHTFERRY_KILLS=1000 NIGHTFERRY_SEED=123 node --test endurance.test.mjs
//
// The seed fixes the chances; where in its work a kill finds the hub, the machine decides.

import assert from 'node:assert/strict';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { assertAllIsWell } from './aftermath.mjs';
import { seededRandom, UNWANTED } from './diary.mjs';
import { BUILD, JSON_TYPE, startHome } from './hub.mjs';
import { ShortLives } from './short-lives.mjs';

const KILLS = Number(process.env.NIGHTFERRY_KILLS ?? 25);
const SEED = Number(process.env.NIGHTFERRY_SEED ?? Math.floor(Math.random() * 2 ** 32));
const FAULTS = { percent: 25, 'silence-ms': 300, 'latest-ms': 4000 };
const SLOW_DISK = join(BUILD, 'tests', 'slow_disk.so');
const SYNC_MS = 25;

/** A household that the clinic knows, whose hub is not running. */
async function startShortLives(t, options) {
  const clinicOptions = ['--refuse-note', UNWANTED];
  const home = await startHome(t, { clinicOptions, clinicIsDown: true, ...options });
  await home.endHub('SIGKILL');
  await home.clinic.setOptions({ down: false });
  return { home, lives: new ShortLives(home, seededRandom(SEED)) };
}

/** So many lives; says how they went. */
async function live(t, { proxy }, lives, kills) {
  t.diagnostic(`NIGHTFERRY_SEED=${SEED} NIGHTFERRY_KILLS=${KILLS}`);
  const started = Date.now();
  while (lives.tally.kills < kills) await lives.live();
  const seconds = (Date.now() - started) / 1000;
  t.diagnostic(`${kills} kills in ${Math.round(seconds)} s: ${JSON.stringify(lives.tally)}`);
  const { outstanding, faults, ...traffic } = await proxy.counts();
  t.diagnostic(`requests: ${JSON.stringify(traffic)}; abandoned ones were under way at a kill`);
  t.diagnostic(`faults: ${JSON.stringify(faults)}`);
  return Object.values(faults).reduce((sum, count) => sum + count, 0);
}

test(`After ${KILLS} kills among faults the clinic has every entry once, in its newest revision`, async (t) => {
  const { home, lives } = await startShortLives(t, { faults: { seed: SEED, ...FAULTS } });
  const faults = await live(t, home, lives, KILLS);
  const { inPass, inIntake } = lives.tally;
  const enough = inPass >= KILLS / 3 && inIntake >= KILLS / 25 && faults >= KILLS / 5;
  assert.ok(enough, 'too little happened to prove anything');
  await assertAllIsWell(t, home, lives);
});

const noPreload = existsSync(SLOW_DISK) ? false : 'the slow disk cannot be put before this build';

test('With a slow disk kills come in the middle of writing, and nothing changes', { skip: noPreload }, async (t) => {
  const hubEnvironment = { LD_PRELOAD: SLOW_DISK, NIGHTFERRY_SYNC_MS: `${SYNC_MS}` };
  const { home, lives } = await startShortLives(t, { faults: { seed: SEED, ...FAULTS }, hubEnvironment });
  await live(t, home, lives, Math.ceil(KILLS / 3));
  await assertAllIsWell(t, home, lives);
  const started = performance.now();
  const weight = { type: 'weight', person: 'juniper', time: '2026-01-02T07:30:00Z', by: 'marlow', kg: 18.5 };
  await home.handIn(JSON.stringify(weight), JSON_TYPE);
  assert.ok(performance.now() - started >= SYNC_MS, 'the disk was not slow at all');
});
