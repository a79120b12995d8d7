// What the hub costs while nothing happens: wake-ups, resident memory, growth of files, with the demo's fortnight in it.
//
// NIGHTFERRY_IDLE_SECONDS: how long it is watched, 130 if left out: at least one of its wake-ups comes in that time.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { startHome } from './hub.mjs';
import { startManager } from './manager.mjs';

const SECONDS = Number(process.env.NIGHTFERRY_IDLE_SECONDS ?? 130);
const MEMORY_KIB = 12 * 1024;

/** A number that the kernel tells of the hub, or of one of its threads (proc(5), /proc/pid/status). */
const told = (home, name, thread = home.hub.pid) =>
  Number(new RegExp(`^${name}:\\s+(\\d+)`, 'm').exec(readFileSync(`/proc/${home.hub.pid}/task/${thread}/status`, 'utf8'))[1]);
/** How often its threads went to rest, and how often they had to let another go first, as on a machine that is busy. */
function switches(home) {
  const threads = readdirSync(`/proc/${home.hub.pid}/task`);
  const sum = (name) => threads.reduce((all, thread) => all + told(home, name, thread), 0);
  return { threads, rests: sum('voluntary_ctxt_switches'), waits: sum('nonvoluntary_ctxt_switches') };
}
const sizes = (folder) =>
  readdirSync(folder, { recursive: true })
    .sort()
    .map((name) => [name, statSync(join(folder, name)).size]);

async function startWithTheFortnight(t, prepare) {
  const home = await startHome(t, { prepare, regimen: true });
  await home.handInFortnight();
  await home.pass();
  return home;
}

test('a hub at rest wakes up at most once a minute, and nothing grows', async (t) => {
  const home = await startWithTheFortnight(t);
  await sleep(3000);
  const before = { files: sizes(home.folder), switches: switches(home) };
  await sleep(SECONDS * 1000);
  const after = switches(home);
  const [rests, waits] = ['rests', 'waits'].map((what) => after[what] - before.switches[what]);
  const words = `${rests + waits} wake-ups (${waits} of them for others' sake) of ${after.threads.length} threads`;
  t.diagnostic(`${words} in ${SECONDS} s, ${told(home, 'VmRSS')} KiB resident`);
  assert.deepEqual(after.threads, before.switches.threads, 'a thread that ends takes its number along');
  // Whatever comes once a minute comes once more where one falls right behind the beginning.
  assert.ok(rests + waits <= Math.floor(SECONDS / 60) + 1, words);
  assert.deepEqual(sizes(home.folder), before.files);
  // Looked at every two minutes.
  if (SECONDS > 300) assert.ok(told(home, 'VmRSS') <= MEMORY_KIB, `${told(home, 'VmRSS')} KiB`);
});

test('a hub at rest keeps at most 12 MiB resident, after its start and after each pass', async (t) => {
  const prepare = async (home) => {
    const { address } = await startManager(t, join(home.folder, 'notify'));
    // It looks after itself every half second then.
    Object.assign(home.environment, { NOTIFY_SOCKET: address, WATCHDOG_USEC: '1000000' });
  };
  const home = await startWithTheFortnight(t, prepare);
  const atRest = () => home.waitFor('rest', () => told(home, 'VmRSS') <= MEMORY_KIB);
  await atRest();
  await home.get('/v1/report');
  await home.pass();
  await atRest();
  t.diagnostic(`${told(home, 'VmRSS')} KiB resident, ${told(home, 'VmHWM')} KiB at most`);
});
