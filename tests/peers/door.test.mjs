// Getting in at a clinic as hospitals have them: the real daemon before nginx, a certified OAuth 2.0 server and a FHIR
// server, none of which anybody here wrote. What arrives behind them is read back from the FHIR server itself.

import assert from 'node:assert/strict';
import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { freePort, startGateway, startTokenServer } from './gateway.mjs';
import { BUILD, certificates, startHome } from './hub.mjs';

const ENTRIES = 62; // Of the demo fortnight; see crossing.test.mjs.
const PATIENT = 'urn:example:nowhere-clinic|TEST-000417'; // The demo household's.
const SCOPE = 'system/MedicationAdministration.crus system/Observation.crus system/Provenance.cu system/Patient.rs';

/** A new key pair by the command for it; returns its public half as the clinic's IT would be sent it. */
function newKey(file, algorithm) {
  const printed = execFileSync(join(BUILD, 'nightferry'), ['new-key', file, '--algorithm', algorithm], { stdio: ['ignore', 'pipe', 'pipe'] });
  const { keys } = JSON.parse(printed);
  assert.equal(keys.length, 1);
  return keys[0];
}

const signing = (keys) => ({
  client_id: 'hub-7',
  grant_types: ['client_credentials'],
  redirect_uris: [],
  response_types: [],
  token_endpoint_auth_method: 'private_key_jwt',
  jwks: { keys },
  scope: SCOPE,
});

/** A door whose token server lets in what `client({ folder })` describes; `lines` are for the clinic's settings. */
function door(test, { client, lines, gateway = {} }) {
  const made = {};
  made.open = async ({ clinic, folder }) => {
    const { cert, key } = certificates();
    const port = await freePort();
    made.tokens = await startTokenServer(test, `https://127.0.0.1:${port}`);
    await made.tokens.tell({ client: await client({ folder }) });
    Object.assign(made, await startGateway(test, { port, cert, key, clinic, tokens: made.tokens, ...gateway }));
    return { port, lines: lines(folder) };
  };
  made.log = () => readFileSync(join(made.folder, 'access.log'), 'utf8');
  return made;
}

const byKey = (folder, more = '') =>
  `authorization = { method = "private_key_jwt", client_id = "hub-7", key = "${folder}/hub.pem"${more} }\n`;

async function assertAllArrived(home) {
  const queue = await home.queue();
  assert.equal(queue.waiting, 0, JSON.stringify(queue));
  assert.equal(queue.set_aside, 0, JSON.stringify(queue));
  const doses = await home.clinic.all('MedicationAdministration');
  const others = await home.clinic.all('Observation');
  assert.equal(doses.length + others.length, ENTRIES);
}

for (const algorithm of ['RS384', 'ES384']) {
  test(`the fortnight goes through with tokens got by ${algorithm}`, async (t) => {
    const entrance = door(t, {
      client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), algorithm)]),
      lines: byKey,
    });
    const home = await startHome(t, { door: entrance.open });
    await home.handInFortnight();
    await home.pass();
    await assertAllArrived(home);
    const log = entrance.log();
    assert.match(log, /"GET \/fhir\/\.well-known\/smart-configuration HTTP\/1\.1" 200/);
    assert.equal(log.match(/"POST \/token HTTP\/1\.1" 200/g).length, 1, 'one token is enough');
  });
}

test('tokens that run out in the middle of a pass are replaced', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
  });
  const home = await startHome(t, { door: entrance.open, clinicOptions: ['--max-entries', '8', '--delay-ms', '300'] });
  await entrance.tokens.tell({ seconds: 1 });
  await entrance.tokens.tell({ revoke: true });
  await home.handInFortnight();
  await home.pass();
  await assertAllArrived(home);
  assert.ok(entrance.log().match(/"POST \/token HTTP\/1\.1" 200/g).length > 3, entrance.log());
});

test('tokens that are revoked in the middle of a pass are replaced', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
  });
  const home = await startHome(t, { door: entrance.open, clinicOptions: ['--max-entries', '8', '--delay-ms', '200'] });
  await home.handInFortnight();
  await home.requestPass();
  for (let times = 0; times < 4; ++times) {
    await sleep(250);
    await entrance.tokens.tell({ revoke: true });
  }
  await home.rest();
  await home.pass();
  await assertAllArrived(home);
  assert.ok(entrance.log().match(/ HTTP\/1\.1" 401/g)?.length >= 1, 'none was refused');
});

test('a key roll-over in the middle of the queue loses nothing and is remarked on', async (t) => {
  let next;
  const entrance = door(t, {
    client: ({ folder }) => {
      next = newKey(join(folder, 'next.pem'), 'ES384');
      return signing([newKey(join(folder, 'hub.pem'), 'RS384')]);
    },
    lines: (folder) => byKey(folder, `, next_key = "${folder}/next.pem"`),
  });
  const home = await startHome(t, { door: entrance.open, clinicOptions: ['--max-entries', '8', '--delay-ms', '200'] });
  await home.handInFortnight();
  await home.requestPass();
  await sleep(300);
  await entrance.tokens.tell({ client: signing([next]) });
  await entrance.tokens.tell({ revoke: true });
  await home.rest();
  await home.pass();
  await assertAllArrived(home);
  assert.match(home.log(), /next_key_in_use/);
  const { stdout } = await home.command('public-keys');
  assert.deepEqual(JSON.parse(stdout).keys[1], next);
});

test('a scope that is withdrawn stops the pass in words, and nothing is lost when it is given back', async (t) => {
  let key;
  const entrance = door(t, {
    client: ({ folder }) => signing([(key = newKey(join(folder, 'hub.pem'), 'ES384'))]),
    lines: byKey,
  });
  const home = await startHome(t, { door: entrance.open, clinicOptions: ['--max-entries', '8', '--delay-ms', '200'] });
  await home.handInFortnight();
  await home.requestPass();
  await sleep(300);
  await entrance.tokens.tell({ client: { ...signing([key]), scope: 'system/Patient.rs system/Observation.rs' } });
  await entrance.tokens.tell({ revoke: true });
  const stopped = await home.rest();
  assert.ok(stopped.waiting > 0);
  assert.match(stopped.pass.words, /^stopped: the token server refused: 'invalid_scope'/);
  await entrance.tokens.tell({ client: signing([key]) });
  await home.pass();
  await assertAllArrived(home);
});

test('an unknown client is refused in words before anything of a patient is sent', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => {
      newKey(join(folder, 'hub.pem'), 'ES384');
      return signing([newKey(join(folder, 'other.pem'), 'ES384')]);
    },
    lines: byKey,
  });
  const home = await startHome(t, { door: entrance.open });
  await home.handInFortnight();
  await home.pass();
  const { pass, waiting } = await home.queue();
  assert.equal(waiting, ENTRIES);
  assert.match(pass.words, /^stopped: the token server refused: 'invalid_client'/);
  assert.doesNotMatch(entrance.log(), /"(GET|POST|PUT) \/fhir(?!\/\.well-known)/, 'nothing but the question for the way in');
});

/** A certificate of the tests' authority for a client of this name, or one that is signed by itself. */
function clientCertificate(folder, name, { selfSigned = false } = {}) {
  const { ca } = certificates();
  const file = (what) => join(folder, what);
  const openssl = (...args) => execFileSync('openssl', args, { stdio: 'pipe' });
  const newPair = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes', '-keyout', file('client-key.pem')];
  if (selfSigned) {
    openssl('req', '-x509', ...newPair, '-subj', `/CN=${name}`, '-days', '60', '-out', file('client.pem'));
    return;
  }
  openssl('req', ...newPair, '-subj', `/CN=${name}`, '-out', file('client.csr'));
  writeFileSync(file('client.cnf'), 'extendedKeyUsage=clientAuth\n');
  const authority = ['-CA', ca, '-CAkey', ca.replace(/ca\.pem$/, 'ca-key.pem'), '-set_serial', '7', '-days', '10'];
  openssl('x509', '-req', '-in', file('client.csr'), ...authority, '-extfile', file('client.cnf'), '-out', file('client.pem'));
}

const withCertificate = (folder) => `certificate = "${folder}/client.pem"\ncertificate_key = "${folder}/client-key.pem"\n`;

test('a certificate in TLS gets tokens that are bound to it (RFC 8705)', async (t) => {
  const { ca } = certificates();
  const entrance = door(t, {
    client: ({ folder }) => {
      clientCertificate(folder, 'hub-7.example');
      return {
        ...signing([]),
        jwks: undefined,
        token_endpoint_auth_method: 'tls_client_auth',
        tls_client_auth_subject_dn: 'CN=hub-7.example',
        tls_client_certificate_bound_access_tokens: true,
      };
    },
    lines: (folder) => `${withCertificate(folder)}authorization = { method = "tls_client_auth", client_id = "hub-7" }\n`,
    gateway: { clientCa: ca, needsCertificate: true },
  });
  const home = await startHome(t, { door: entrance.open });
  await home.handInFortnight();
  await home.pass();
  await assertAllArrived(home);
  assert.match(home.log(), /own_certificate_ends/, 'it ends within a month, and that is told');
});

test('a server that wants a certificate gets no health data without one', async (t) => {
  const { ca } = certificates();
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
    gateway: { clientCa: ca, needsCertificate: true },
  });
  const home = await startHome(t, { door: entrance.open });
  await home.handInFortnight();
  await home.pass();
  const { pass, waiting } = await home.queue();
  assert.equal(waiting, ENTRIES);
  // nginx tells it by HTTP rather than in TLS.
  assert.match(pass.words, /^stopped: how to get a token could not be learned .*HTTP 400/);
});

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
  const entrance = door(t, {
    client: ({ folder }) => {
      newKey(join(folder, 'hub.pem'), 'ES384');
      return signing([newKey(join(folder, 'other.pem'), 'ES384')]);
    },
    lines: byKey,
  });
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

test('a record of the patient that the clinic replaces gets nothing more, and the clinic is named what to mend', async (t) => {
  const home = await startHome(t);
  const [patient] = await home.clinic.all('Patient');
  const replace = (link) => home.clinic.ask('PUT', `/fhir/Patient/${patient.id}`, { ...patient, link });
  const { status } = await replace([{ other: { reference: 'Patient/another' }, type: 'replaced-by' }]);
  assert.equal(status, 200);
  await home.handInFortnight();
  await home.pass();
  const stopped = await home.queue();
  assert.equal(stopped.waiting, ENTRIES);
  assert.match(stopped.pass.words, /the clinic replaced the patient record 'Patient\/.*' by 'Patient\/another'; ask the clinic/);
  assert.deepEqual(await home.clinic.all('MedicationAdministration'), []);
  await replace(undefined);
  await home.pass();
  await assertAllArrived(home);
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
