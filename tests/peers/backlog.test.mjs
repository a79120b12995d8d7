// What a long time without the clinic costs: with very much waiting the hub starts as quickly as ever, stays small as
// all of it crosses, and a bundle costs what is in it, not what waits behind it.
//
//   NIGHTFERRY_BACKLOG=1000000 NIGHTFERRY_BACKLOG_SENT=1000000 node --test backlog.test.mjs      takes a good while
//
// The person has no regimen: with one the hub computes from everything that person ever recorded.

import assert from 'node:assert/strict';
import { loadavg } from 'node:os';
import test from 'node:test';

import { BacklogHome } from './backlog-home.mjs';

const BACKLOG = Number(process.env.NIGHTFERRY_BACKLOG ?? 50_000);
const SENT = Number(process.env.NIGHTFERRY_BACKLOG_SENT ?? Math.min(10_000, BACKLOG)); // So many of them, at least.
const FEW = 1000;
const START_MS_MAX = 200;
const RESIDENT_KB_MAX = 32 * 1024;
const COST_RATIO_MAX = 2;
const STARTS = 3; // The best of them counts: other work on the machine can only make a start slower.
const BUNDLES_COMPARED = 18; // Of the twenty in which a thousand entries go out.

/** What each of the bundles that follow this one cost, on average. */
function costAfter(bundles, first) {
  const [from, to] = [bundles[first], bundles[first + BUNDLES_COMPARED]];
  const each = (name) => (to[name] - from[name]) / BUNDLES_COMPARED;
  return { at: each('at'), cpuMs: each('cpuMs'), writtenKb: each('writtenKb') };
}

function words({ at, cpuMs, writtenKb }) {
  return `${at.toFixed(1)} ms, ${cpuMs.toFixed(1)} ms of processor time, ${writtenKb.toFixed(0)} KiB written`;
}

/** Starts while nobody answers at the clinic, each after an end by this signal. */
async function starts(home, signal) {
  const times = [];
  while (times.length < STARTS) {
    if (signal === 'SIGKILL') await home.killInMidPass();
    home.clinic.isSilent = true;
    times.push(await home.start());
    await home.end('SIGTERM');
    home.clinic.isSilent = false;
  }
  return times;
}

test(`With ${BACKLOG} entries waiting`, async (t) => {
  const few = await BacklogHome.make(t, FEW);
  await few.start();
  await few.sendUntil(FEW);
  const costOfFew = costAfter(few.bundles, 1);

  const home = await BacklogHome.make(t, BACKLOG);
  t.diagnostic(`a logbook of ${home.megabytes()} MiB; load ${loadavg()[0]}`);
  const afterEnd = await starts(home, 'SIGTERM');
  await home.start();
  await home.waitFor(() => home.bundles.length > 1 + BUNDLES_COMPARED);
  await home.end('SIGTERM');
  const cost = costAfter(home.bundles, 1);
  const afterKill = await starts(home, 'SIGKILL');
  await home.start();
  // At least so many more that what was under way at the last kill is settled, too.
  await home.sendUntil(Math.min(BACKLOG, Math.max(SENT, home.clinic.held + FEW)));
  const lastCost = costAfter(home.bundles, home.bundles.length - 1 - BUNDLES_COMPARED);
  const most = Math.max(...home.bundles.map(({ mostKb }) => mostKb));
  const { waiting, set_aside, confirmed } = await home.queue();

  for (const [end, times] of [['a clean end', afterEnd], ['a kill', afterKill]]) {
    const shown = times.map(({ byTheClock, ownMs }) => `${byTheClock} (${ownMs})`);
    t.diagnostic(`ready after ${end} in ${shown.join(', ')} ms; in brackets without waiting for a processor`);
  }
  t.diagnostic(`a bundle with ${FEW} waiting: ${words(costOfFew)}`);
  t.diagnostic(`a bundle with ${BACKLOG} waiting: ${words(cost)}`);
  t.diagnostic(`the last ones of ${home.clinic.held} sent: ${words(lastCost)}`);
  t.diagnostic(`at most ${(most / 1024).toFixed(1)} MiB resident; load ${loadavg()[0]}`);

  await t.test('the hub is ready in no time, after a clean end and after a kill', () => {
    for (const times of [afterEnd, afterKill]) {
      const best = Math.min(...times.map(({ ownMs }) => ownMs));
      assert.ok(best < START_MS_MAX, `${best} ms`);
    }
  });

  await t.test('it stays small while they cross', () => {
    assert.ok(most < RESIDENT_KB_MAX, `${most} KiB`);
  });

  // By its own processor time, in which other work on the machine hardly shows.
  await t.test('a bundle costs what is in it, whatever waits behind it and whatever went before it', () => {
    assert.ok(cost.cpuMs <= COST_RATIO_MAX * costOfFew.cpuMs, words(cost));
    assert.ok(lastCost.cpuMs <= COST_RATIO_MAX * costOfFew.cpuMs, words(lastCost));
  });

  await t.test('nothing is missing, and nothing went twice', () => {
    assert.deepEqual([waiting + confirmed, set_aside], [BACKLOG, 0]);
    assert.equal(confirmed, home.clinic.held);
    assert.equal(home.clinic.twice, 0);
  });
});
