// How carers' phones are let in to the page, and what becomes of everybody else: a client by others against the real
// daemon.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { X509Certificate } from 'node:crypto';
import { once } from 'node:events';
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import net from 'node:net';
import { join } from 'node:path';
import test from 'node:test';
import tls from 'node:tls';

import { BUILD, JSON_TYPE } from './hub.mjs';
import { readOpenMetrics } from './open-metrics.mjs';
import { codeFor, metricsOf, NAME, newCertificate, Phone, startHomeWithPage } from './phone.mjs';

const WEIGHT = { type: 'weight', person: 'juniper', by: 'marlow', time: '2026-10-12T08:00', kg: 18.4 };

/** Every file below a folder with its bytes; sockets are none. */
function filesBelow(folder) {
  return readdirSync(folder, { recursive: true })
    .map((name) => join(folder, name))
    .filter((file) => statSync(file).isFile())
    .map((file) => ({ file, bytes: readFileSync(file) }));
}

async function devicesOf(home) {
  return (await home.get('/v1/devices')).devices;
}

/** Connects without TLS, writes, and tells what came back until the other side hung up, and after how long. */
async function heard(port, words, connect = net.connect) {
  const begun = Date.now();
  const socket = connect({ host: '127.0.0.1', port, rejectUnauthorized: false, servername: NAME });
  const chunks = [];
  socket.on('data', (chunk) => chunks.push(chunk)).on('error', () => {});
  socket.write(words);
  await once(socket, 'close');
  return { text: Buffer.concat(chunks).toString('latin1'), milliseconds: Date.now() - begun };
}

test('a phone is let in by a code, is known from then on, and is let in no longer once it was unpaired', async (t) => {
  const home = await startHomeWithPage(t);
  const { fingerprint256, subjectAltName } = new X509Certificate(readFileSync(join(home.folder, 'page.pem')));
  assert.equal(home.printed, `SHA-256 fingerprint: ${fingerprint256}\n`);
  assert.equal(subjectAltName, `DNS:${NAME}, IP Address:127.0.0.1`);
  assert.match(home.wholeLog(), / info page_served$/m);

  const phone = new Phone(home);
  const outside = await phone.get();
  assert.equal(outside.status, 401);
  assert.match(outside.body, /Let this phone in[^]*name="code"/);
  assert.doesNotMatch(outside.body, /juniper/i, 'nobody is named to strangers');
  const code = await phone.pair();
  assert.equal((await phone.get()).status, 200, 'it is in');
  assert.equal((await new Phone(home).post('/pair', { code })).status, 403, 'it was good once');
  const [device] = await devicesOf(home);
  assert.deepEqual([device.name, device.carer, device.unpaired], ["Tove's phone", 'tove', undefined]);
  assert.equal(device.last_used, new Intl.DateTimeFormat('sv', { timeZone: 'Europe/Dublin' }).format(new Date()));
  const listed = await home.command('devices');
  const line = `^${device.id}  Tove's phone  tove  paired .*  used last on \\d{4}-\\d\\d-\\d\\d$`;
  assert.match(listed.stdout, new RegExp(line, 'm'));

  const other = new Phone(home);
  await other.pair('marlow', 'kitchen');
  const unpaired = await home.command('unpair', device.id, '--by', 'marlow');
  assert.deepEqual([unpaired.code, unpaired.stdout], [0, `unpaired ${device.id}; it is not let in any more\n`]);
  assert.equal((await phone.get()).status, 401);
  assert.equal((await other.get()).status, 200);
  assert.equal((await home.command('unpair', 'nobody', '--by', 'marlow')).code, 69);

  const audit = await home.command('audit', '--json');
  assert.equal(audit.code, 0, 'the chain holds');
  const rows = JSON.parse(audit.stdout).rows.filter(({ event }) => event.endsWith('paired'));
  assert.deepEqual(rows.map(({ event, detail }) => `${event} ${detail.replace(/device=\w+;/, '')}`), [
    'paired carer=tove',
    'paired carer=marlow',
    'unpaired carer=tove;by=marlow',
  ]);
  assert.match(home.wholeLog(), new RegExp(` info device_paired device=${device.id}$`, 'm'));
  assert.match(home.wholeLog(), new RegExp(` info device_revoked device=${device.id}$`, 'm'));
});

test('neither a token nor a code nor what a phone is called gets where it does not belong', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  const code = await phone.pair('tove', "a canary's phone");
  const pending = await codeFor(home, 'marlow', 'another canary');
  await phone.get();
  await phone.post('/pair', { code: pending.replace(/.$/, '0') });
  const token = phone.cookie.split('=')[1];
  assert.match(token, /^[0-9a-f]{64}$/);
  const secrets = [token, ...[code, pending].flatMap((one) => [one, one.replace('-', '')])];
  const metrics = await metricsOf(home);
  const known = ['cmdline', 'environ'].map((name) => readFileSync(`/proc/${home.hub.pid}/${name}`, 'latin1')).join();
  for (const [where, text] of [['log', home.wholeLog()], ['metrics', metrics], ['process table', known]])
    for (const one of [...secrets, 'canary']) assert.ok(!text.includes(one), `${one} in the ${where}`);
  const away = join(home.folder, 'away.ndjson');
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  assert.equal((await home.command('export', '--ndjson', away)).code, 0);
  assert.ok(!readFileSync(away, 'utf8').includes('canary'), 'exports hold no phone');
  const raw = Buffer.from(token, 'hex');
  for (const { file, bytes } of filesBelow(home.folder)) {
    for (const one of secrets) assert.ok(!bytes.includes(one), `${one} in ${file}`);
    assert.ok(!bytes.includes(raw), file);
  }
  assert.ok(filesBelow(join(home.folder, 'data')).some(({ bytes }) => bytes.includes('canary')), 'they were looked at');
});

test('who guesses is locked out for a while, and nobody who was let in', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  await phone.pair();
  const pending = await codeFor(home, 'marlow', 'his');
  const guesser = new Phone(home);
  const answers = [];
  for (let i = 0; i < 7; ++i) {
    const { status, headers } = await guesser.post('/pair', { code: `CCCCCCC${'CDFGHJK'[i]}` });
    assert.equal(headers['set-cookie'], undefined);
    answers.push(status);
  }
  assert.deepEqual(answers, [403, 403, 403, 403, 403, 429, 429]);
  assert.equal((await guesser.post('/pair', { code: pending })).status, 429);
  assert.equal((await phone.get()).status, 200, 'as before');
  const { code, stderr } = await home.command('pair', '--carer', 'marlow', '--name', 'his');
  assert.equal(code, 69);
  assert.match(stderr, /^nightferry: too many wrong codes were tried, so none is taken for 1 minute; /);
  const told = home.wholeLog().split('\n').filter((line) => line.includes('pairing_refused'));
  assert.deepEqual(
    told.map((line) => line.split(' ').slice(1, -1).join(' ')),
    ['wrong', 'locked', 'while_locked'].map((outcome) => `warning pairing_refused outcome=${outcome}`),
    'each kind once',
  );
  const { samples } = readOpenMetrics(await metricsOf(home)).nightferry_log_events;
  assert.equal(samples['{event="pairing_refused"}'], '8');
});

test('another site gets nothing from a paired phone', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  await phone.pair();
  const code = await codeFor(home, 'marlow', 'his');
  for (const headers of [
    { origin: 'https://rebound.example' },
    { origin: undefined },
    { origin: 'null' },
    { origin: `http://${NAME}:${home.pagePort}` },
    { 'sec-fetch-site': 'cross-site' },
    { host: `rebound.example:${home.pagePort}`, origin: `https://rebound.example:${home.pagePort}` },
  ])
    assert.equal((await phone.post('/pair', { code }, headers)).status, 403, JSON.stringify(headers));
  for (const host of ['rebound.example', NAME, `localhost:${home.pagePort}`])
    assert.equal((await phone.get('/', { headers: { host } })).status, 403, host);
  assert.equal((await phone.get('/', { headers: { host: `127.0.0.1:${home.pagePort}` } })).status, 200);
  assert.equal((await phone.post('/pair', { code })).status, 303, 'none of them was a try');
});

test('nothing of the local API is on the network, and no device can be let in from there', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  for (const status of [401, 404]) {
    for (const path of ['/v1/devices', '/v1/entries', '/v1/health', '/metrics'])
      assert.equal((await phone.get(path)).status, status, path);
    assert.equal((await phone.post('/v1/devices?carer=tove&name=x', {})).status, status);
    if (status === 401) await phone.pair();
  }
  assert.equal((await devicesOf(home)).length, 1);
});

test('only TLS 1.2 and 1.3 are spoken, and the slow and the large are cut off', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  const plain = await heard(home.pagePort, `GET / HTTP/1.1\r\nHost: ${NAME}:${home.pagePort}\r\n\r\n`);
  assert.ok(plain.text.length <= 7, `at most an alert: ${plain.text}`);
  const old = { minVersion: 'TLSv1', maxVersion: 'TLSv1.1', ciphers: 'ALL:@SECLEVEL=0' };
  await assert.rejects(phone.get('/', { tls: old }), /alert protocol version/);
  for (const version of ['TLSv1.2', 'TLSv1.3']) {
    const { status } = await phone.get('/', { tls: { minVersion: version, maxVersion: version } });
    assert.equal(status, 401, version);
  }
  for (const one of ['AES256-SHA', 'ECDHE-ECDSA-AES128-SHA', 'ECDHE-ECDSA-AES256-SHA384']) {
    const weak = { maxVersion: 'TLSv1.2', ciphers: `${one}:@SECLEVEL=0` };
    await assert.rejects(phone.get('/', { tls: weak }), /alert handshake failure/, one);
  }

  const large = await phone.post('/pair', { code: 'C'.repeat(70_000) }).catch(({ code }) => ({ status: code }));
  assert.ok([413, 'ECONNRESET', 'EPIPE'].includes(large.status), `${large.status}`);
  const [silent, slow] = await Promise.all([
    heard(home.pagePort, ''),
    heard(home.pagePort, `GET / HTTP/1.1\r\nHost: ${NAME}:${home.pagePort}\r\n`, tls.connect),
  ]);
  assert.equal(silent.text, '');
  assert.ok(silent.milliseconds < 12_000, `a silent one after ${silent.milliseconds} ms`);
  assert.equal(slow.text, '');
  assert.ok(slow.milliseconds < 25_000, `half a request after ${slow.milliseconds} ms`);
  assert.equal((await phone.get()).status, 401, 'the others are served');
});

test('many connections that say nothing keep no program on the hub from recording', async (t) => {
  const home = await startHomeWithPage(t);
  const where = { host: '127.0.0.1', port: home.pagePort };
  const sockets = Array.from({ length: 60 }, () => net.connect(where).on('error', () => {}));
  t.after(() => sockets.forEach((socket) => socket.destroy()));
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  await home.waitFor('the page is served again', async () => {
    const answer = await new Phone(home).get().catch(() => undefined);
    return answer?.status === 401;
  });
});

test('a reload takes a new certificate, ends codes and keeps paired phones; a bad one is refused', async (t) => {
  const home = await startHomeWithPage(t);
  const phone = new Phone(home);
  await phone.pair();
  const code = await codeFor(home, 'marlow', 'his');
  newCertificate(home, 'next', '--days', '20');
  home.changeSettings((text) => text.replace('"page.pem"', '"next.pem"'));
  await home.reload('reload_refused');
  assert.match(home.log(), / settings_problem reason="page\.certificate: this hub's own certificate or its key cannot be used/);
  assert.equal((await phone.get()).status, 200, 'the old one is served');
  const check = spawnSync(join(BUILD, 'nightferryd'), ['--check', '--settings', home.settings], { encoding: 'utf8' });
  assert.equal(check.status, 78);
  assert.match(check.stderr, /: page\.certificate: this hub's own certificate or its key cannot be used/);

  home.changeSettings((text) => text.replace('"page-key.pem"', '"next-key.pem"'));
  await home.reload();
  const again = new Phone(home, { certificate: 'next.pem' });
  again.cookie = phone.cookie;
  assert.equal((await again.get()).status, 200);
  assert.equal((await new Phone(home, { certificate: 'next.pem' }).post('/pair', { code })).status, 403);
  assert.match(home.log(), / warning page_certificate_ends$/m);
  const { validTo } = new X509Certificate(readFileSync(join(home.folder, 'next.pem')));
  const told = readOpenMetrics(await metricsOf(home)).nightferry_page_certificate_expiry_timestamp_seconds;
  assert.equal(Number(told.samples['']) * 1000, Date.parse(validTo));

  home.changeSettings((text) => text.replace(/\n\[page\][^]*$/, '\n'));
  await home.reload();
  await assert.rejects(again.get(), { code: 'ECONNREFUSED' });
  const { code: status, stderr } = await home.command('pair', '--carer', 'marlow', '--name', 'his');
  assert.equal(status, 69);
  assert.match(stderr, /the settings have no \[page\]/);
  assert.equal((await devicesOf(home)).length, 1);
});

test('a page that cannot be served is told, keeps nobody from recording, and is tried again', async (t) => {
  // A watchdog hastens the beat, whoever looks at it.
  const home = await startHomeWithPage(t, { hubEnvironment: { WATCHDOG_USEC: '1000000' } });
  await home.endHub('SIGTERM');
  const other = http.createServer();
  other.listen(home.pagePort, '127.0.0.1');
  await once(other, 'listening');
  await home.startHub();
  await home.waitFor('it is told', () => / page_not_served /.test(home.wholeLog()));
  assert.match(home.log(), / error page_not_served reason="cannot listen on 127\.0\.0\.1, port \d+: Address already in use"/);
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  const { stderr } = await home.command('pair', '--carer', 'tove', '--name', 'x');
  assert.match(stderr, /^nightferry: the page is not served: cannot listen on /);
  assert.equal(home.wholeLog().split(' page_not_served ').length, 2, 'once');
  const served = () => home.wholeLog().split(' page_served').length;
  const before = served();
  other.close();
  await home.waitFor('it listens', () => served() > before);
  assert.equal((await new Phone(home).get()).status, 401);

  await home.endHub('SIGTERM');
  writeFileSync(join(home.folder, 'page.pem'), 'no certificate');
  await home.startHub();
  const told = /page_not_served reason="page\.certificate: .*page\.pem is no certificate/;
  await home.waitFor('it is told', () => told.test(home.log()));
});

test('after a restore no phone is let in before it is paired again; unpairing works without the daemon', async (t) => {
  const home = await startHomeWithPage(t);
  const [phone, lost] = [new Phone(home), new Phone(home)];
  await phone.pair();
  await lost.pair('marlow', 'lost on a bus');
  const backup = join(home.folder, 'backup');
  assert.equal((await home.command('backup', backup)).code, 0);
  await home.endHub('SIGTERM');
  const { devices } = JSON.parse((await home.command('devices', '--json')).stdout);
  const { id } = devices.find(({ carer }) => carer === 'marlow');
  assert.equal((await home.command('unpair', id, '--by', 'tove')).code, 0);
  assert.equal((await home.command('pair', '--carer', 'tove', '--name', 'x')).code, 69);
  await home.startHub();
  assert.equal((await phone.get()).status, 200);
  assert.equal((await lost.get()).status, 401);
  await home.endHub('SIGTERM');
  const restored = await home.command('restore', '--move-aside', backup);
  assert.equal(restored.code, 0, restored.stderr);
  assert.match(restored.stdout, /Phones that were paired with the page are not let in any more/);
  await home.startHub();
  assert.equal((await lost.get()).status, 401);
  assert.equal((await phone.get()).status, 401);
  await phone.pair();
  assert.equal((await phone.get()).status, 200);
  assert.equal((await devicesOf(home)).filter(({ unpaired }) => unpaired === undefined).length, 1);
});

test('certificates are made for names and addresses only, and never over what is there', async (t) => {
  const home = await startHomeWithPage(t);
  const before = readFileSync(join(home.folder, 'page.pem'), 'utf8');
  const options = { encoding: 'utf8', cwd: home.folder };
  const make = (...args) => spawnSync(join(BUILD, 'nightferry'), ['new-certificate', ...args], options);
  assert.equal(make('page.pem', 'other.pem', '--name', NAME).status, 73);
  assert.equal(make('other.pem', 'page-key.pem', '--name', NAME).status, 73);
  assert.equal(make('other.pem', 'other-key.pem', '--name', 'a b').status, 64);
  assert.equal(make('other.pem', 'other-key.pem', '--name', NAME, '--days', '826').status, 64);
  assert.equal(make('other.pem', 'other-key.pem').status, 64);
  assert.deepEqual(readdirSync(home.folder).filter((name) => name.startsWith('other')), []);
  assert.equal(readFileSync(join(home.folder, 'page.pem'), 'utf8'), before);
  assert.equal(statSync(join(home.folder, 'page-key.pem')).mode & 0o777, 0o600);
  const { stderr } = make('v6.pem', 'v6-key.pem', '--name', 'fd00::10');
  assert.match(stderr, /\[page\] with certificate = ".*\/v6\.pem" and/);
  const { subjectAltName } = new X509Certificate(readFileSync(join(home.folder, 'v6.pem')));
  assert.equal(subjectAltName, 'IP Address:FD00:0:0:0:0:0:0:10');
});
