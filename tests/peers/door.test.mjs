// Getting in at a clinic as hospitals have them: the real daemon before nginx, a certified OAuth 2.0 server and a FHIR
// server, none of which anybody here wrote. What arrives behind them is read back from the FHIR server itself.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { X509Certificate } from 'node:crypto';
import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { Ears } from './bad-doors/doors.mjs';
import { ENTRIES } from './demo.mjs';
import { byKey, door, KNOWS_ANOTHER_KEY, newKey, SCOPE, signing } from './entrance.mjs';
import { certificates, startHome } from './hub.mjs';
import { metricsOf } from './open-metrics.mjs';
import { startProxy } from './proxy.mjs';

async function assertAllArrived(home) {
  const queue = await home.queue();
  assert.equal(queue.waiting, 0, JSON.stringify(queue));
  assert.equal(queue.set_aside, 0, JSON.stringify(queue));
  const doses = await home.clinic.all('MedicationAdministration');
  const others = await home.clinic.all('Observation');
  assert.equal(doses.length + others.length, ENTRIES);
}

const AT_CLINIC = '{clinic="nowhere"}';
const seconds = () => Date.now() / 1000;

/** Of a token of this life, got after `since`, the end is told. */
function assertTokenEnds(value, since, life = 300) {
  const ends = value('token_expiry_timestamp_seconds', AT_CLINIC);
  // The server tells it in whole seconds.
  assert.ok(ends >= since + life - 1 && ends <= seconds() + life + 1, `${ends}, got after ${since}`);
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

test('metrics tell of the token, the clinic\'s clock, the pass and what came back', async (t) => {
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
  });
  const [ahead, delay] = [100, 0.5];
  const clinicOptions = ['--clock-ahead-s', `${ahead}`, '--delay-ms', `${delay * 1000}`];
  const since = seconds();
  const home = await startHome(t, { door: entrance.open, clinicOptions });
  await home.handInFortnight();
  const begun = seconds();
  await home.pass();
  const took = seconds() - begun;
  await assertAllArrived(home);
  const value = await metricsOf(home);
  assertTokenEnds(value, since);
  assert.equal(value('certificate_expiry_timestamp_seconds', '{clinic="nowhere",whose="hub"}'), undefined, 'it has none');
  const skew = value('clock_skew_seconds', AT_CLINIC);
  assert.ok(Math.abs(skew - ahead) <= 2, `${skew} s`);
  const duration = value('last_pass_duration_seconds', AT_CLINIC);
  assert.ok(duration >= delay && duration <= took, `${duration} s of ${took} s`);
  // nginx counts what it packed.
  const packed = [...entrance.log().matchAll(/"[A-Z]+ \/fhir(?!\/\.well-known)\S* HTTP\/1\.1" \d+ (\d+) /g)];
  assert.ok(packed.length > 3, entrance.log());
  const received = value('clinic_received_bytes', AT_CLINIC);
  assert.ok(received > packed.reduce((sum, [, bytes]) => sum + Number(bytes), 0), `${received} bytes`);
  assert.equal(value('persons_left_out', AT_CLINIC), 0);
  const size = (name) => statSync(join(home.folder, 'data', name)).size;
  assert.equal(value('logbook_bytes'), size('logbook.sqlite') + size('logbook.sqlite-wal'));
});

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
  const since = seconds();
  await home.handInFortnight();
  await home.requestPass();
  await sleep(300);
  assert.equal((await metricsOf(home))('pass_running', AT_CLINIC), 1);
  await entrance.tokens.tell({ client: { ...signing([key]), scope: 'system/Patient.rs system/Observation.rs' } });
  await entrance.tokens.tell({ revoke: true });
  const stopped = await home.rest();
  assert.ok(stopped.waiting > 0);
  const value = await metricsOf(home);
  assert.deepEqual([value('pass_running', AT_CLINIC), value('last_pass_stopped', AT_CLINIC)], [0, 1]);
  assert.equal(value('passes', '{clinic="nowhere",result="stopped"}'), 1);
  const age = value('oldest_waiting_age_seconds', AT_CLINIC);
  assert.ok(age > 0 && age <= seconds() - since, `${age} s`);
  assert.match(stopped.pass.words, /^stopped: the token server refused: 'invalid_scope'/);
  await entrance.tokens.tell({ client: signing([key]) });
  await home.pass();
  await assertAllArrived(home);
});

test('an unknown client is refused in words before anything of a patient is sent', async (t) => {
  const entrance = door(t, KNOWS_ANOTHER_KEY);
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
  const since = seconds();
  const home = await startHome(t, { door: entrance.open });
  await home.handInFortnight();
  await home.pass();
  await assertAllArrived(home);
  assert.match(home.log(), /hub_certificate_ends/, 'it ends within a month, and that is told');
  const value = await metricsOf(home);
  assertTokenEnds(value, since);
  const expires = (whose) => value('certificate_expiry_timestamp_seconds', `{clinic="nowhere",whose="${whose}"}`);
  const validTo = (file) => Date.parse(new X509Certificate(readFileSync(file)).validTo) / 1000;
  assert.equal(expires('hub'), validTo(join(home.folder, 'client.pem')));
  const { cert, ca: authority } = certificates();
  assert.equal(expires('clinic'), Math.min(validTo(cert), validTo(authority)));
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

for (const credentials of [undefined, 'hub-7:a-word']) {
  test(`through a proxy ${credentials ? 'that wants a password ' : ''}the clinic is reached, and the proxy sees its name and TLS only`, async (t) => {
    const entrance = door(t, {
      client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
      lines: byKey,
    });
    let proxy;
    const open = async (at) => {
      const { folder } = at;
      const opened = await entrance.open(at);
      proxy = await startProxy(t, { clinicPort: opened.port, credentials });
      const file = join(folder, 'proxy-credentials');
      writeFileSync(file, `${credentials}\n`, { mode: 0o600 });
      const shown = credentials ? `proxy_credentials = "${file}"\n` : '';
      return { ...opened, lines: `proxy = "http://127.0.0.1:${proxy.port}"\n${shown}${opened.lines}` };
    };
    const home = await startHome(t, { door: open });
    await home.handInFortnight();
    await home.pass();
    await assertAllArrived(home);
    // RFC 9110 section 9.3.6.
    const authority = `127.0.0.1:${entrance.port}`;
    assert.ok(proxy.ears.raw.length >= 2, 'to the clinic and to its token server');
    for (const bytes of proxy.ears.raw) {
      const end = bytes.indexOf('\r\n\r\n');
      const [request, ...fields] = bytes.subarray(0, end).toString('latin1').split('\r\n');
      assert.equal(request, `CONNECT ${authority} HTTP/1.1`);
      const expected = [`Host: ${authority}`];
      // RFC 7617 section 2.
      if (credentials) expected.push(`Proxy-Authorization: Basic ${Buffer.from(credentials).toString('base64')}`);
      assert.deepEqual(fields, expected);
      assert.ok(Ears.records(bytes.subarray(end + 4)), 'something else than TLS went through the proxy');
    }
    const hubs = entrance.log().split('\n').filter((line) => line !== '').length;
    assert.ok(hubs > 0 && proxy.log().match(/Established connection/g).length === proxy.ears.connections, proxy.log());
  });
}
