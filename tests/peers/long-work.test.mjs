// While something takes long: no sign of life comes from a loop that does not go round, and a hub that is told to end
// leaves the work and ends.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { BUILD, JSON_TYPE, startHome } from './hub.mjs';
import { startManager } from './manager.mjs';

const STOP_MS = 5000; // What a stop may take at most, at any moment.
const ENTRIES = 60_000;
const SLOW_DISK = join(BUILD, 'tests', 'slow_disk.so');
const SYNC_MS = 1000;
const WATCHED_MS = 400; // Of that, with time before it for the request to arrive, and some behind it.

const weight = (id) =>
  JSON.stringify({ id, type: 'weight', person: 'juniper', time: '2026-11-02T07:30:00Z', by: 'marlow', kg: 18.5 });

const noPreload = existsSync(SLOW_DISK) ? false : 'the slow disk cannot be put before this build';

test('a loop that is held up gives no sign of life until it goes on', { skip: noPreload }, async (t) => {
  let manager;
  const prepare = async (home) => {
    manager = await startManager(t, join(home.folder, 'notify'));
    // It looks after itself every tenth of a second then.
    Object.assign(home.environment, { NOTIFY_SOCKET: manager.address, WATCHDOG_USEC: '200000' });
  };
  const hubEnvironment = { LD_PRELOAD: SLOW_DISK, NIGHTFERRY_SYNC_MS: `${SYNC_MS}` };
  const home = await startHome(t, { prepare, hubEnvironment });
  const signs = () => manager.heard.filter((one) => one === 'WATCHDOG=1').length;
  const signsIn = async (milliseconds) => {
    manager.heard.length = 0;
    await sleep(milliseconds);
    return signs();
  };
  assert.ok((await signsIn(WATCHED_MS)) > 1, 'while nothing happens');

  let isAnswered = false;
  const answer = home.handIn(weight('w1'), JSON_TYPE).then(() => (isAnswered = true));
  await sleep(SYNC_MS - 1.25 * WATCHED_MS);
  assert.equal(await signsIn(WATCHED_MS), 0, 'while the disk takes its time');
  assert.equal(isAnswered, false, 'it took its time');
  await answer;
  manager.heard.length = 0;
  await home.waitFor('it goes on', () => signs() > 1);
});

/** A household whose logbook has very much in it, with a clinic that does not answer. */
async function startWithMuch(t) {
  const home = await startHome(t, { clinicIsDown: true });
  assert.equal(await home.endHub('SIGTERM'), 0);
  const data = join(home.folder, 'data');
  for (const name of readdirSync(data)) rmSync(join(data, name));
  execFileSync(join(BUILD, 'tests', 'make_backlog'), [data, `${ENTRIES}`], { stdio: 'ignore' });
  await home.startHub();
  return home;
}

for (const [what, ...more] of [['check-logbook'], ['backup', 'kept']]) {
  test(`told to end in the middle of ${what} it ends in time, and the next one starts`, async (t) => {
    const home = await startWithMuch(t);
    const line = (name) => [what, ...more.map((one) => join(home.folder, `${one}-${name}`))];
    const begun = Date.now();
    const whole = await home.command(...line('whole'));
    assert.equal(whole.code, 0, whole.stderr);
    const usual = Date.now() - begun;
    t.diagnostic(`${what} takes ${usual} ms`);
    for (const share of [0.2, 0.4, 0.6, 0.8]) {
      const work = home.command(...line(share));
      await sleep(share * usual);
      const told = Date.now();
      assert.equal(await home.endHub('SIGTERM'), 0);
      const took = Date.now() - told;
      const { code } = await work;
      t.diagnostic(`told after ${Math.round(share * usual)} ms it ended in ${took} ms; ${what} ended with ${code}`);
      assert.ok([0, 75].includes(code), `${what} ended with ${code}`);
      assert.ok(took < STOP_MS, `it took ${took} ms to end`);
      assert.match(home.wholeLog(), / stopped\n$/);
      // What was not written to its end is not there.
      for (const file of line(share).slice(1)) assert.deepEqual([existsSync(file), existsSync(`${file}.part`)], [code === 0, false]);
      await home.startHub();
      assert.equal((await home.queue()).waiting, ENTRIES);
    }
    const left = readdirSync(join(home.folder, 'data')).filter((name) => !/^logbook\.sqlite(-wal|-shm)?$/.test(name));
    assert.deepEqual(left, []);
    // A signal that is read while the loop is at work is acted upon behind it.
    const after = home.command('check-logbook');
    await sleep(300);
    await home.reload();
    const { code, stdout, stderr } = await after;
    assert.equal(code, 0, stdout + stderr);
  });
}
