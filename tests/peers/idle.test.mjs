// What the hub costs while nothing happens: wake-ups, resident memory, growth of files, with the demo's fortnight in it.
//
// NIGHTFERRY_IDLE_SECONDS: how long it is watched, 60 if left out.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { startHome } from './hub.mjs';
import { startManager } from './manager.mjs';

const SECONDS = Number(process.env.NIGHTFERRY_IDLE_SECONDS ?? 60);
const MEMORY_KIB = 12 * 1024;

/** A number that the kernel tells of the hub (proc(5), /proc/pid/status). */
const told = (home, name) =>
  Number(new RegExp(`^${name}:\\s+(\\d+)`, 'm').exec(readFileSync(`/proc/${home.hub.pid}/status`, 'utf8'))[1]);
const wakeUps = (home) => told(home, 'voluntary_ctxt_switches') + told(home, 'nonvoluntary_ctxt_switches');
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
  const before = { files: sizes(home.folder), wakeUps: wakeUps(home) };
  await sleep(SECONDS * 1000);
  const woken = wakeUps(home) - before.wakeUps;
  t.diagnostic(`${woken} wake-ups in ${SECONDS} s, ${told(home, 'VmRSS')} KiB resident`);
  assert.ok(woken <= Math.ceil(SECONDS / 60) + 1, `${woken} wake-ups`);
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
