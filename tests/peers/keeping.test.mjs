// Keeping the logbook: backup and restore, beginning anew by an export, checking, and erasing a person, through the real
// programs and with a clinic that has what was sent before. Moving to another machine is in moving.test.mjs.

import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { BUILD, JSON_TYPE, startHome } from './hub.mjs';
import { assertOnceEach, entriesOf, identifiers } from './once-each.mjs';

const CANARY = 'a canary sang at breakfast';
const weight = (id, kg, more = {}) => ({
  type: 'weight', id, person: 'juniper', by: 'marlow', time: '2026-10-20T08:00', kg, ...more,
});
const dose = (id, more = {}) => ({
  type: 'dose_given', id, person: 'juniper', by: 'tove', time: '2026-10-20T08:05', medicine: 'enoxaparin-100',
  amount: 0.2, unit: 'mL', region: 'thigh', side: 'left', ...more,
});
const bruise = (id, of) => ({
  type: 'finding', id, person: 'juniper', by: 'tove', time: '2026-10-21T08:00', finding: 'bruise', region: 'thigh',
  side: 'left', length_cm: 1.5, dose: of,
});

async function run(home, ...args) {
  const { code, stdout, stderr } = await home.command(...args);
  assert.equal(code, 0, stdout + stderr);
  return stdout;
}
const handIn = (home, ...entries) => home.handIn(JSON.stringify(entries), JSON_TYPE);


test('A backup is made while the daemon runs or not, never over another file, and told sound or not', async (t) => {
  const home = await startHome(t);
  const file = join(home.folder, 'backup');
  await handIn(home, weight('w1', 18.4), dose('d1'));
  await home.pass();
  assert.match(await run(home, 'backup', file), /2 entries in 2 revisions.*\n.*\n.*\n.*\nIt is sound[^]*Written and checked/);
  assert.equal(statSync(file).mode & 0o777, 0o600);
  assert.match(await run(home, 'verify-backup', file), /It is sound/);
  const before = readFileSync(file);
  const again = await home.command('backup', file);
  assert.equal(again.code, 73);
  assert.match(again.stderr, /is there already, and is never overwritten/);
  assert.deepEqual(readFileSync(file), before);
  assert.match(await run(home, 'check-logbook'), /It is sound/);

  await home.endHub('SIGTERM');
  await run(home, 'backup', `${file}-alone`);
  assert.equal(JSON.parse(await run(home, 'verify-backup', '--json', `${file}-alone`)).entries, 2);
  assert.match(await run(home, 'check-logbook'), /It is sound/);

  before.fill(0xff, before.length - 4096);
  writeFileSync(`${file}-damaged`, before);
  const damaged = await home.command('verify-backup', `${file}-damaged`);
  assert.equal(damaged.code, 65, damaged.stdout + damaged.stderr);
  assert.equal((await home.command('verify-backup', join(home.folder, 'nowhere'))).code, 69);
});

/** Runs the command as a shell does that lets no file grow beyond 4 KiB. */
const onTinyDisk = (home, ...args) =>
  new Promise((done) => {
    const script = `trap '' XFSZ; ulimit -f 8; exec "$@"`;
    const line = ['-c', script, 'sh', join(BUILD, 'nightferry'), '--settings', home.settings, ...args];
    execFile('/bin/sh', line, (error, stdout, stderr) => done({ code: error?.code ?? 0, stdout, stderr }));
  });

test('A backup that fails is not there and holds nothing up, and one at a time is made', async (t) => {
  const home = await startHome(t);
  const file = join(home.folder, 'backup');
  await handIn(home, weight('w1', 18.4));
  const failed = await onTinyDisk(home, 'backup', file);
  assert.equal(failed.code, 78, failed.stdout + failed.stderr);
  assert.match(failed.stderr, /backup\.part cannot be written: File too large/);
  assert.deepEqual([existsSync(file), existsSync(`${file}.part`)], [false, false]);
  // The daemon has let go of its copy.
  await run(home, 'backup', file);
  const { copy } = (await home.call('POST', '/v1/logbook/copy')).body;
  const second = await home.command('backup', `${file}-2`);
  assert.equal(second.code, 75, second.stdout + second.stderr);
  assert.match(second.stderr, /another backup is being made/);
  await home.call('POST', `/v1/logbook/copy/end?copy=${copy}`);
  await run(home, 'backup', `${file}-2`);
});

test('Nobody is exported by mistake, and it is said how much was', async (t) => {
  const home = await startHome(t);
  await handIn(home, weight('w1', 18.4));
  const file = join(home.folder, 'all.ndjson');
  for (const format of ['--ndjson', '--fhir']) {
    const nobody = await home.command('export', format, file, '--person', 'junipr');
    assert.equal(nobody.code, 69, nobody.stdout + nobody.stderr);
    assert.match(nobody.stderr, /no \[\[person\]\] has the key 'junipr'/);
    assert.equal(existsSync(file), false);
  }
  assert.match(await run(home, 'export', '--ndjson', file, '--person', 'juniper'), /Written: .*, 1 revision\n/);
  const again = await home.command('export', '--ndjson', file);
  assert.equal(again.code, 73);
  const piped = await home.command('export', '--ndjson', '-');
  assert.equal(piped.stdout, readFileSync(file, 'utf8'));
  assert.equal(piped.stderr, 'Written: 1 revision\n');
  assert.equal((await home.command('export', '--ndjson', '-', '--fhir', '-')).code, 64);
});

test('After a restore nothing is at the clinic twice, nothing is lost, and what was changed there meanwhile is kept', async (t) => {
  const home = await startHome(t);
  const file = join(home.folder, 'backup');
  await handIn(home, weight('sent', 18.4), weight('amended', 18.5));
  await home.pass();
  await handIn(home, weight('waits', 18.6, { time: '2026-10-20T09:00' }));
  await run(home, 'backup', file);
  // A life that is lost: what waited is sent, one is amended, others are recorded and sent.
  await run(home, 'amend', 'amended', 'kg=19.0', '--by', 'tove', '--reason', 'typing slip');
  await handIn(home, dose('lost-dose'), bruise('lost-bruise', 'lost-dose'));
  await home.pass();
  await assertOnceEach(home, 5);

  assert.equal((await home.command('restore', '--move-aside', file)).code, 75);
  await home.endHub('SIGTERM');
  const refused = await home.command('restore', file);
  assert.equal(refused.code, 78);
  assert.match(refused.stderr, /--move-aside/);
  assert.match(await run(home, 'restore', '--move-aside', file), /only the clinic can list: it\s+bears\s+identifiers\s+of\s+the\s+system/);
  await home.startHub();
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, 3]);
  await assertOnceEach(home, 5);
  // Handed in again it is recognised.
  await handIn(home, dose('lost-dose'), bruise('lost-bruise', 'lost-dose'));
  assert.deepEqual(await home.pass().then(({ waiting, set_aside: aside }) => [waiting, aside]), [0, 0]);
  await assertOnceEach(home, 5);
  // The clinic has a revision that this logbook does not know: it is not overwritten.
  await run(home, 'amend', 'amended', 'kg=18.8', '--by', 'tove', '--reason', 'read again');
  const after = await home.pass();
  assert.equal(after.set_aside, 1);
  const held = await home.clinic.all('Observation');
  assert.ok(held.some(({ valueQuantity }) => valueQuantity?.value === 19));
  assert.match(await run(home, 'explain', 'amended'), /was set aside and waits for somebody to look[^]*nightferry release [-0-9a-f]+ --clinic nowhere\n/);
  assert.match(await run(home, 'audit'), /restored[^]*The chain holds/);
});

test('Another hub that is given the export has the same entries and sends none of them twice', async (t) => {
  const home = await startHome(t);
  await handIn(home, weight('w1', 18.4, { note: 'after breakfast' }), dose('d1', { vial: 'V3' }), bruise('b1', 'd1'), weight('w2', 81.4));
  await run(home, 'amend', 'd1', 'amount=0.18 mL', '--by', 'marlow', '--reason', 'typed 0.81');
  await run(home, 'retract', 'w2', '--by', 'tove', '--reason', 'another child');
  await home.pass();
  const there = (await identifiers(home)).size;
  const entries = await entriesOf(home);
  const versions = (await home.clinic.all('Observation')).map(({ meta }) => meta.versionId);
  const [ndjson, bundle] = [join(home.folder, 'all.ndjson'), join(home.folder, 'all.fhir.json')];
  await run(home, 'export', '--ndjson', ndjson, '--fhir', bundle);
  assert.equal(readFileSync(ndjson, 'utf8').trim().split('\n').length, 6);
  const { type, entry } = JSON.parse(readFileSync(bundle, 'utf8'));
  assert.equal(type, 'collection');
  const types = entry.map(({ resource }) => resource.resourceType);
  assert.deepEqual(
    ['Patient', 'MedicationAdministration', 'Observation', 'Provenance'].map((one) => types.filter((other) => other === one).length),
    [1, 1, 3, 6],
  );
  assert.match(await run(home, 'fhir-check', bundle), /valid/);

  await home.endHub('SIGTERM');
  home.changeSettings((text) => text.replace('data = "data"', 'data = "data-new"'));
  await home.startHub();
  assert.match(await run(home, 'hand-in', ndjson), /accepted 6, already there 0, conflicts 0, refused 0/);
  assert.deepEqual(await entriesOf(home), entries);
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0]);
  await assertOnceEach(home, there);
  assert.deepEqual((await home.clinic.all('Observation')).map(({ meta }) => meta.versionId), versions);
  assert.match(await run(home, 'hand-in', ndjson), /accepted 0, already there 6/);
});

test('Erasing a person leaves no word of it in the data folder, and the audit trail holds', async (t) => {
  const home = await startHome(t);
  const filesWith = (text) =>
    readdirSync(join(home.folder, 'data')).filter((name) => readFileSync(join(home.folder, 'data', name)).includes(text));
  await handIn(home, weight('w1', 18.4, { note: CANARY }), dose('d1', { note: CANARY }));
  await home.pass();
  const [{ id: patient }] = await home.clinic.all('Patient');
  await handIn(home, weight('w2', 18.5, { note: CANARY }));
  const say = ['erase-person', 'juniper', '--by', 'marlow', '--reason', 'moved away'];
  const inUse = await home.command(...say, '--yes');
  assert.equal(inUse.code, 75);
  assert.match(inUse.stderr, /stop nightferryd/);
  assert.equal(await home.endHub('SIGTERM'), 0);
  for (const word of [CANARY, patient]) assert.notDeepEqual(filesWith(word), []);
  const unasked = await home.command(...say);
  assert.equal(unasked.code, 64);
  assert.match(unasked.stdout, /To be erased for good: 3 entries[^]*has 2 of these entries/);
  assert.notDeepEqual(filesWith(CANARY), []);
  assert.equal((await home.command('erase-person', 'nobody', ...say.slice(2), '--yes')).code, 69);
  const stranger = await home.command('erase-person', 'juniper', '--by', 'nobody', '--reason', 'x', '--yes');
  assert.equal(stranger.code, 65, stranger.stderr);
  const erased = await run(home, ...say, '--yes');
  assert.match(erased, /Erased: 3 entries[^]*no row of the person, no copy beside it, and the logbook is sound/);
  const [, row, hash] = /Row (\d+) of the audit trail[^]*\n  ([0-9a-f]{64})\n/.exec(erased);
  for (const word of [CANARY, 'Patient/']) assert.deepEqual(filesWith(word), []);
  await home.startHub();
  assert.deepEqual((await home.get('/v1/entries')).entries, []);
  assert.match(await run(home, 'audit'), /erased[^]*reason=moved away[^]*The chain holds/);
  const told = (await home.get('/v1/audit?limit=5000')).rows.find(({ event }) => event === 'erased');
  assert.deepEqual([String(told.number), told.hash], [row, hash]);
  assert.match(await run(home, 'check-logbook'), /It is sound/);
  // What a clinic has already is recognised when it is handed in again, and the hub goes on.
  await handIn(home, weight('w1', 18.4, { note: CANARY }), weight('w3', 18.6, { time: '2026-10-22T08:00' }));
  const { waiting, set_aside: aside } = await home.pass();
  assert.deepEqual([waiting, aside], [0, 0]);
  await assertOnceEach(home, 3);
});
