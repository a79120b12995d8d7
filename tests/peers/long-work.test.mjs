// While something takes long: no sign of life comes from a loop that does not go round.

import assert from 'node:assert/strict';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { BUILD, JSON_TYPE, startHome } from './hub.mjs';
import { startManager } from './manager.mjs';

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
