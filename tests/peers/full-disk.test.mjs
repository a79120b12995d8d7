// What the hub promises when its disk is full: what it cannot keep it does not accept, what it has accepted it does not
// lose, and when there is room again it goes on by itself. The real daemon on a disk of 4 MB, made for this run.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import {
  appendFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { NDJSON_TYPE, startHome } from './hub.mjs';
import { metricsOf } from './open-metrics.mjs';

const DISK = 'size=4m';
const PER_BATCH = 20;
const BATCHES_MAX = 500;
const PASS_PATIENCE_MS = 120_000; // A pass or a file that found no room is tried again after a minute.

/** Mounts a small disk of its own and returns its folder; it is gone again when this process ends. */
function mountDisk() {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-disk-'));
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', DISK, 'tmpfs', folder], { stdio: 'pipe' });
  } catch (error) {
    rmSync(folder, { recursive: true });
    throw error;
  }
  process.once('exit', () => {
    execFileSync('umount', ['--lazy', folder], { stdio: 'pipe' });
    rmSync(folder, { recursive: true, force: true });
  });
  return folder;
}

let disk;
let skip = false;
try {
  disk = mountDisk();
} catch (error) {
  const [why] = `${error.stderr ?? error.message}`.split('\n');
  skip = `no small disk can be mounted here, so a full one was not tried: ${why}`;
}

/** Takes all the room there is; returns how to give it back. */
function fill() {
  const ballast = join(disk, 'ballast');
  for (const bytes of [65_536, 4096, 1]) {
    try {
      for (;;) appendFileSync(ballast, Buffer.alloc(bytes));
    } catch (error) {
      assert.equal(error.code, 'ENOSPC');
    }
  }
  return () => rmSync(ballast);
}

let serial = 0;

/** Weights that nobody handed in before. */
function batch(count) {
  const lines = [];
  for (let i = 0; i < count; ++i) {
    const time = new Date(Date.UTC(2026, 0, 1) + ++serial * 60_000).toISOString();
    const note = 'Weighed on the kitchen scales, together with the cat. '.repeat(10).trim();
    lines.push({ id: `w${serial}`, type: 'weight', person: 'juniper', time, by: 'marlow', kg: 18.5, note });
  }
  return lines.map((line) => JSON.stringify(line)).join('\n');
}

async function startHomeOnDisk(t) {
  for (const name of readdirSync(disk)) rmSync(join(disk, name), { recursive: true });
  const prepare = (home) => {
    const text = readFileSync(home.settings, 'utf8');
    assert.ok(text.includes('\ndata = "data"'));
    writeFileSync(home.settings, text.replace('\ndata = "data"', `\ndata = "${join(disk, 'data')}"`));
  };
  const home = await startHome(t, { prepare });
  home.stillRuns = () => assert.equal(home.hub.exitCode, null, `the hub ended\n${home.log()}`);
  await home.handIn(batch(PER_BATCH), NDJSON_TYPE);
  assert.equal((await home.pass()).confirmed, PER_BATCH);
  return home;
}

/** Hands in over the API until there is no room; returns how many were accepted. */
async function handInUntilFull(home) {
  for (let accepted = 0, i = 0; i < BATCHES_MAX; ++i) {
    const { status, body } = await home.call('POST', '/v1/entries', batch(PER_BATCH), NDJSON_TYPE);
    if (status === 507) {
      assert.match(body.error, /no room on the disk.*nothing was accepted/);
      return accepted;
    }
    assert.equal(status, 200, JSON.stringify(body));
    accepted += PER_BATCH;
  }
  return assert.fail('the disk never became full');
}

async function countEntries(home) {
  return (await home.get('/v1/entries?limit=10000')).entries.length;
}

/** Puts a file into the inbox and does not wait for it. */
function drop(home, name, text) {
  writeFileSync(join(home.folder, name), text);
  renameSync(join(home.folder, name), join(home.folder, 'inbox', name));
  return { waits: join(home.folder, 'inbox', name), taken: join(home.folder, 'inbox', 'done', name) };
}

async function everythingArrives(home, count) {
  const isConfirmed = async () => {
    await home.requestPass();
    return (await home.queue()).confirmed === count;
  };
  await home.waitFor('everything is confirmed', isConfirmed, PASS_PATIENCE_MS);
  home.stillRuns();
  const observations = await home.clinic.all('Observation');
  assert.equal(new Set(observations.map(({ identifier }) => identifier[0].value)).size, observations.length);
  assert.equal(observations.length, count);
}

test('A full disk refuses what is handed in, whole, and keeps what it had', { skip }, async (t) => {
  const home = await startHomeOnDisk(t);
  const makeRoom = fill();
  t.after(() => rmSync(join(disk, 'ballast'), { force: true }));
  const accepted = PER_BATCH + (await handInUntilFull(home));
  const file = drop(home, 'more.ndjson', batch(PER_BATCH));
  await sleep(2500); // It is told of the file at once.
  assert.ok(existsSync(file.waits) && !existsSync(file.taken), 'the file did not stay where it was');
  assert.equal((await metricsOf(home))('disk_full'), 1);
  assert.equal(await countEntries(home), accepted);
  home.stillRuns();

  makeRoom();
  await home.waitFor('the file is taken', () => existsSync(file.taken), PASS_PATIENCE_MS);
  await home.handIn(batch(PER_BATCH), NDJSON_TYPE);
  await everythingArrives(home, accepted + 2 * PER_BATCH);
  assert.equal((await metricsOf(home))('disk_full'), 0);
});

test('A pass on a full disk loses nothing, and goes on when there is room', { skip }, async (t) => {
  const home = await startHomeOnDisk(t);
  const makeRoom = fill();
  t.after(() => rmSync(join(disk, 'ballast'), { force: true }));
  const accepted = PER_BATCH + (await handInUntilFull(home));
  await home.requestPass();
  await sleep(3000);
  home.stillRuns();
  await home.requestPass();
  assert.equal(await countEntries(home), accepted);

  makeRoom();
  await everythingArrives(home, accepted);
});

test('A disk that fills up in the middle of a pass loses nothing either', { skip }, async (t) => {
  const home = await startHomeOnDisk(t);
  for (let i = 0; i < 10; ++i) await home.handIn(batch(PER_BATCH), NDJSON_TYPE);
  await home.clinic.setOptions({ 'delay-ms': 50 });
  const { writes } = await home.clinic.counts();
  await home.requestPass();
  await home.waitFor('something arrives', async () => (await home.clinic.counts()).writes > writes);
  const makeRoom = fill();
  t.after(() => rmSync(join(disk, 'ballast'), { force: true }));
  await home.clinic.setOptions({ 'delay-ms': 0 });
  await sleep(3000);
  home.stillRuns();

  makeRoom();
  await everythingArrives(home, 11 * PER_BATCH);
});

test('A hub that is started on a full disk comes up by itself when there is room', { skip }, async (t) => {
  const home = await startHomeOnDisk(t);
  assert.equal(await home.endHub('SIGTERM'), 0);
  const makeRoom = fill();
  t.after(() => rmSync(join(disk, 'ballast'), { force: true }));
  const log = () => readFileSync(join(home.folder, 'hub.log'), 'utf8');
  const complaints = () => log().split(' disk_full what=logbook ').length - 1;
  for (const [started, signal] of ['SIGTERM', 'SIGINT'].entries()) {
    home.hub = home.spawnHub();
    await home.waitFor('the hub says why it is not there', () => complaints() === started + 1);
    const told = Date.now();
    assert.equal(await home.endHub(signal), 0);
    assert.ok(Date.now() - told < 5000, 'it did not end at once');
  }

  home.hub = home.spawnHub();
  await sleep(12_000); // It tries again every 10 s.
  home.stillRuns();
  assert.equal(complaints(), 3, 'it says so once, not at every attempt');
  makeRoom();
  await home.waitFor('the hub answers', () => home.call('GET', '/v1/queue').catch(() => undefined));
  await home.handIn(batch(PER_BATCH), NDJSON_TYPE);
  await everythingArrives(home, 2 * PER_BATCH);
});
