// What IT looks at before a hub goes in, and what the hub makes sure of in each pass: `nightferry check-clinic` and
// `nightferryd --check`, the patient's record, the release of FHIR.

import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { ENTRIES } from './demo.mjs';
import { byKey, door, KNOWS_ANOTHER_KEY, newKey, signing } from './entrance.mjs';
import { freePort } from './gateway.mjs';
import { BUILD, certificates, startHome } from './hub.mjs';
import { metricsOf } from './open-metrics.mjs';

const PATIENT = 'urn:example:nowhere-clinic|TEST-000417'; // The demo household's.

/** The steps that `check-clinic` tells, and how it ended. */
async function checkClinic(home, ...args) {
  const { code, stdout, stderr } = await home.command('check-clinic', '--json', ...args);
  assert.ok(stdout.startsWith('{'), stderr);
  return { code, steps: JSON.parse(stdout).clinics[0].steps };
}

test('check-clinic finds the door open step by step, and its test record ends as entered in error', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
  });
  const home = await startHome(t, { door: entrance.open });
  const { code, steps } = await checkClinic(home, '--send-test-record');
  assert.equal(code, 0, JSON.stringify(steps, null, 1));
  const names = [...new Set(steps.map(({ step }) => step))];
  assert.deepEqual(
    names.filter((name) => name !== 'validation'),
    ['name', 'connection', 'TLS', 'certificate', 'sign-in', 'server', 'patient', 'permission', 'test record'],
  );
  const written = await home.clinic.all('Observation');
  assert.deepEqual(written.map(({ status, subject }) => [status, subject.type]), [['entered-in-error', 'Device']]);
  const { stdout } = await home.command('check-clinic');
  assert.match(stdout, /^nowhere, https:\/\/127\.0\.0\.1:\d+\/fhir\n {2}good {2}name +127\.0\.0\.1 is at 127\.0\.0\.1\n/);
});

test('check-clinic names the step at which a door is shut', async (t) => {
  const entrance = door(t, KNOWS_ANOTHER_KEY);
  const home = await startHome(t, { door: entrance.open });
  const last = async () => {
    const { code, steps } = await checkClinic(home);
    assert.equal(code, 69);
    return steps.filter(({ result }) => result === 'bad');
  };
  const [signIn] = await last();
  assert.equal(signIn.step, 'sign-in');
  assert.match(signIn.words, /invalid_client/);
  const settings = readFileSync(home.settings, 'utf8');
  writeFileSync(home.settings, settings.replace('clinic-ca.pem', 'other.pem'));
  assert.equal((await last())[0].step, 'settings');
  writeFileSync(home.settings, settings.replace(/127\.0\.0\.1:\d+/, `127.0.0.1:${await freePort()}`));
  assert.equal((await last())[0].step, 'connection');
  writeFileSync(home.settings, settings.replace(/127\.0\.0\.1:/, 'nowhere.invalid:'));
  assert.equal((await last())[0].step, 'name');
});

test('a record of the patient that the clinic replaces gets nothing more, and a flag says so until it is right again', async (t) => {
  const home = await startHome(t, { regimen: true });
  const [patient] = await home.clinic.all('Patient');
  const flagged = async () => {
    const { stdout, stderr } = await home.command('flags', '--json', '--all');
    assert.equal(stderr, '');
    return JSON.parse(stdout).flags.find(({ flag }) => flag === 'patient_record');
  };
  const replace = (link) => home.clinic.ask('PUT', `/fhir/Patient/${patient.id}`, { ...patient, link });
  const { status } = await replace([{ other: { reference: 'Patient/another' }, type: 'replaced-by' }]);
  assert.equal(status, 200);
  await home.handInFortnight();
  await home.pass();
  assert.equal((await metricsOf(home))('persons_left_out', '{clinic="nowhere"}'), 1);
  const stopped = await home.queue();
  assert.ok(stopped.waiting >= ENTRIES, 'and summaries');
  assert.match(stopped.pass.words, /the clinic replaced the patient record 'Patient\/.*' by 'Patient\/another'; ask the clinic/);
  assert.deepEqual(await home.clinic.all('MedicationAdministration'), []);
  const flag = await flagged();
  assert.equal(flag.state, 'open');
  assert.match(flag.reason, /^Nothing that is recorded here reaches .*: the clinic replaced the patient record/);
  await replace(undefined);
  await home.pass();
  const { waiting, set_aside: aside } = await home.queue();
  assert.deepEqual([waiting, aside], [0, 0]);
  assert.equal((await metricsOf(home))('persons_left_out', '{clinic="nowhere"}'), 0);
  assert.equal((await flagged()).state, 'cleared');
});

for (const release of ['R4B', 'R5']) {
  test(`the fortnight goes out in ${release} where the server speaks that`, async (t) => {
    let journal;
    const practice = async ({ folder }) => {
      const { cert, key } = certificates();
      journal = join(folder, 'practice.ndjson');
      const files = ['--journal', journal, '--certificate', cert, '--key', key];
      const child = spawn(join(BUILD, 'practice_clinic'), [...files, '--release', release, '--patient', PATIENT]);
      t.after(() => child.kill('SIGKILL'));
      const [line] = await once(child.stdout, 'data');
      return { port: Number(/^ready (\d+)/.exec(line)[1]), lines: '' };
    };
    const home = await startHome(t, { door: practice });
    await home.handInFortnight();
    await home.pass();
    const queue = await home.queue();
    assert.deepEqual([queue.confirmed, queue.waiting, queue.set_aside], [ENTRIES, 0, 0], JSON.stringify(queue));
    const kept = readFileSync(journal, 'utf8');
    assert.equal(kept.includes('occurenceDateTime'), release === 'R5', 'as that release names it');
  });
}

/** How many core files a process leaves in a folder when it is made to end with one. */
async function coresOf(folder, program, ...args) {
  const child = spawn('sh', ['-c', 'ulimit -c unlimited; exec "$@"', 'sh', program, ...args], { cwd: folder, stdio: 'ignore' });
  await sleep(1000);
  child.kill('SIGABRT');
  await once(child, 'exit');
  return readdirSync(folder).filter((name) => name.startsWith('core')).length;
}

// Only where the system writes core files into the folder of the process can this be seen.
const hasCoreFiles = readFileSync('/proc/sys/kernel/core_pattern', 'utf8').startsWith('core');

test('no core file of the daemon can hold a key', { skip: !hasCoreFiles }, async (t) => {
  const home = await startHome(t);
  assert.equal(await home.endHub('SIGTERM'), 0);
  const folder = join(home.folder, 'cores');
  mkdirSync(folder);
  assert.equal(await coresOf(folder, join(BUILD, 'nightferryd'), '--settings', home.settings), 0);
  assert.equal(await coresOf(folder, process.execPath, '-e', 'setTimeout(() => {}, 60000)'), 1, 'others leave one');
});

test('--check finds a key that others may read', async (t) => {
  const home = await startHome(t);
  const check = () => {
    const ran = spawnSync(join(BUILD, 'nightferryd'), ['--settings', home.settings, '--check'], { encoding: 'utf8' });
    return { code: ran.status, text: ran.stdout + ran.stderr };
  };
  const key = join(home.folder, 'hub.pem');
  newKey(key, 'ES384');
  const settings = readFileSync(home.settings, 'utf8').replace(/(url = .*\n)/, `$1${byKey(home.folder)}`);
  writeFileSync(home.settings, settings);
  assert.deepEqual(check(), {
    code: 0,
    text: `${home.settings}: the settings are good, and so are the keys and certificates that they name\n`,
  });
  chmodSync(key, 0o644);
  const { code, text } = check();
  assert.equal(code, 78);
  assert.match(text, /clinic nowhere: authorization\.key: .*hub\.pem/);
  assert.match(text, /chmod/);
});
