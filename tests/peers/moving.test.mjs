// Moving to another machine by backup and restore, step by step as deploy/moving.md has it: settings, keys and inbox are
// copied, the old machine is gone, and the clinic has everything once.

import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { ENTRIES } from './demo.mjs';
import { UNWANTED } from './diary.mjs';
import { byKey, door, newKey, signing } from './entrance.mjs';
import { BUILD, JSON_TYPE, otherMachine, startHome } from './hub.mjs';
import { assertOnceEach, entriesOf } from './once-each.mjs';

let minute = 10;
const weight = (id, more = {}) => ({
  type: 'weight', id, person: 'juniper', by: 'marlow', time: `2026-11-02T08:${minute++}`, kg: 18.4, ...more,
});
const handIn = (home, ...entries) => home.handIn(JSON.stringify(entries), JSON_TYPE);

async function run(home, ...args) {
  const { code, stdout, stderr } = await home.command(...args);
  assert.equal(code, 0, stdout + stderr);
  return stdout;
}

function check(home) {
  const ran = spawnSync(join(BUILD, 'nightferryd'), ['--check', '--settings', home.settings], { encoding: 'utf8' });
  return { code: ran.status, text: ran.stdout + ran.stderr };
}

const RECORDS = ['Observation', 'MedicationAdministration'];

/** What the clinic has of these types, by its name there, and in which version. */
async function versions(home, ...types) {
  const all = new Map();
  for (const type of types) {
    for (const { id, meta } of await home.clinic.all(type)) all.set(`${type}/${id}`, meta.versionId);
  }
  return all;
}

/**
 * A life of some weeks: sent and amended, set aside, waiting with and without an answer, put away. Returns what the clinic,
 * which does not answer any more then, had.
 */
async function live(home) {
  await home.handInFortnight();
  await handIn(home, weight('amended'), weight('refused', { note: UNWANTED }));
  await home.pass();
  await run(home, 'amend', 'amended', 'kg=18.6', '--by', 'tove', '--reason', 'typing slip');
  await home.pass();
  writeFileSync(join(home.folder, 'inbox', 'unclear.json'), '{');
  await home.waitFor('it is put away', () => existsSync(join(home.folder, 'inbox', 'refused', 'unclear.json')));

  const answered = await versions(home, ...RECORDS, 'Provenance');
  const { writes } = await home.clinic.counts();
  await home.clinic.setOptions({ 'lose-answers': 1 });
  await handIn(home, weight('unanswered'));
  await home.requestPass();
  await home.waitFor('it arrives', async () => (await home.clinic.counts()).writes > writes);
  // The Provenance of what got no answer is sent once more, under its own id.
  const there = new Map([...answered, ...(await versions(home, ...RECORDS))]);
  await home.clinic.setOptions({ down: true });
  await handIn(home, weight('waiting-1'), weight('waiting-2'));
  return there;
}

test('a hub that moves by backup and restore goes on where it was, and nothing is at the clinic twice', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: () => byKey('.'),
  });
  const old = await startHome(t, { door: entrance.open, clinicOptions: ['--refuse-note', UNWANTED] });
  const before = { versions: await live(old), entries: await entriesOf(old) };
  assert.match(await run(old, 'queue'), /set aside/);
  assert.equal(await old.endHub('SIGTERM'), 0);
  writeFileSync(join(old.folder, 'inbox', 'late.json'), JSON.stringify(weight('late')));

  const machine = otherMachine(t, old);
  const stick = join(machine.folder, 'stick');
  mkdirSync(stick);
  const backup = join(stick, 'logbook');
  await run(old, 'backup', backup);
  const copy = (...names) => execFileSync('cp', ['-a', ...names.map((name) => join(old.folder, name)), machine.folder]);
  copy('household.toml');
  const keyless = check(machine);
  assert.equal(keyless.code, 78);
  assert.match(keyless.text, /authorization\.key: .*hub\.pem/);
  copy('hub.pem', 'clinic-ca.pem', 'inbox');
  rmSync(old.folder, { recursive: true });
  await old.clinic.setOptions({ down: false });

  const checked = check(machine);
  assert.equal(checked.code, 0, checked.text);
  assert.match(await run(machine, 'verify-backup', backup), /It is sound/);
  await run(machine, 'restore', backup);
  await machine.startHub();
  await machine.waitFor('what lay in the inbox is taken', () => existsSync(join(machine.folder, 'inbox', 'done', 'late.json')));
  await run(machine, 'check-clinic');
  await machine.rest();
  await run(machine, 'pass', '--wait', '60');

  const { waiting, set_aside: aside, confirmed } = await machine.queue();
  assert.deepEqual([waiting, aside, confirmed], [0, 1, ENTRIES + 5]);
  await assertOnceEach(machine, ENTRIES + 5);
  const after = await versions(machine, ...RECORDS, 'Provenance');
  for (const [name, version] of before.versions) assert.equal(after.get(name), version, `${name} was written again`);
  // A Provenance for each revision that the clinic has: the fortnight with its amendment and retraction as one each.
  assert.equal((await machine.clinic.all('Provenance')).length, ENTRIES + 6);
  const isKnown = ([id]) => before.entries.some(([known]) => known === id);
  const entries = await entriesOf(machine);
  assert.deepEqual(entries.filter(isKnown), before.entries);
  assert.equal(entries.length, before.entries.length + 1, 'and the late one');
  assert.deepEqual(readdirSync(join(machine.folder, 'inbox', 'done')).sort(), ['doses.csv', 'late.json']);
  assert.ok(existsSync(join(machine.folder, 'inbox', 'refused', 'unclear.json')));
  assert.match(await run(machine, 'audit'), /restored[^]*The chain holds/);
});
