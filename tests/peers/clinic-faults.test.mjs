// The ways in which the test clinic misbehaves on request, each proved from outside, so that a test of the daemon
// which relies on one of them cannot pass because the fault never happened.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import https from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';

import { bundle, createEntry, dose, finding, startClinic, SYSTEM } from './clinic-support.mjs';

const URN = 'urn:uuid:5a0c1e9e-0f6b-4a52-9a7e-6d3f0b9f0011';
const OTHER_URN = 'urn:uuid:5a0c1e9e-0f6b-4a52-9a7e-6d3f0b9f0012';

const noted = (value) => dose(value, { note: [{ text: 'given late, UNWANTED, at school' }] });
const condition = (value) => ({ 'if-none-exist': `identifier=${SYSTEM}|${value}` });

test('A resource with the refused note is refused with 422, alone, in a transaction and in a batch', async (t) => {
  const clinic = await startClinic(t, '--refuse-note', 'UNWANTED');
  const single = await clinic.post('/MedicationAdministration', noted('single'));
  assert.deepEqual([single.status, single.body.issue[0].code], [422, 'business-rule']);

  const entries = [createEntry(URN, dose('innocent')), createEntry(OTHER_URN, noted('guilty'))];
  const transaction = await clinic.post('', bundle('transaction', entries));
  assert.deepEqual([transaction.status, transaction.body.resourceType], [422, 'OperationOutcome']);
  assert.equal(await clinic.count('MedicationAdministration'), 0);

  const batch = await clinic.post('', bundle('batch', entries));
  assert.equal(batch.status, 200);
  assert.deepEqual(batch.body.entry.map((entry) => entry.response.status), ['201', '422']);

  await clinic.setOptions({ 'refuse-note': '' });
  assert.equal((await clinic.post('/MedicationAdministration', noted('single'))).status, 201);
});

test('A lost answer is a write that took effect', async (t) => {
  const clinic = await startClinic(t);
  await clinic.setOptions({ 'lose-answers': 2 });
  await assert.rejects(clinic.post('/MedicationAdministration', dose('lost'), condition('lost')));
  assert.equal(await clinic.count('MedicationAdministration'), 1);

  // Neither a read nor a refusal uses one up.
  assert.equal((await clinic.get('/Patient/p1')).status, 200);
  assert.equal((await clinic.post('/MedicationAdministration', dose('x', { status: undefined }))).status, 400);

  const entries = [createEntry(URN, dose('lost')), createEntry(OTHER_URN, finding('lost-bruise', URN))];
  await assert.rejects(clinic.post('', bundle('transaction', entries)));
  const answer = await clinic.post('', bundle('transaction', entries));
  assert.deepEqual(answer.body.entry.map((entry) => entry.response.status), ['200', '200']);
  assert.equal(await clinic.count('MedicationAdministration'), 1);
});

test('A clinic that is down answers nothing and does nothing', async (t) => {
  const clinic = await startClinic(t);
  await clinic.setOptions({ down: true });
  await assert.rejects(clinic.get('/metadata'));
  await assert.rejects(clinic.post('/MedicationAdministration', dose('down')));
  assert.equal(await clinic.count('MedicationAdministration'), 0);
  await clinic.setOptions({ down: false });
  assert.equal((await clinic.post('/MedicationAdministration', dose('down'))).status, 201);
});

test('Without the token every request is refused with 401', async (t) => {
  const clinic = await startClinic(t, '--token', 'open-sesame');
  for (const headers of [{}, { authorization: 'Bearer wrong' }]) {
    const refused = await clinic.post('/MedicationAdministration', dose('token'), headers);
    assert.deepEqual([refused.status, refused.body.issue[0].code], [401, 'login']);
    assert.equal(refused.headers.get('www-authenticate'), 'Bearer');
    assert.equal((await clinic.get('/metadata', headers)).status, 401);
  }
  clinic.headers = { authorization: 'Bearer open-sesame' };
  assert.equal((await clinic.post('/MedicationAdministration', dose('token'))).status, 201);
});

test('A delayed write has taken effect before its answer', async (t) => {
  const clinic = await startClinic(t, '--delay-ms', '400');
  const started = Date.now();
  let answered = false;
  const answer = clinic.post('/MedicationAdministration', dose('slow')).finally(() => (answered = true));
  while ((await clinic.count('MedicationAdministration')) === 0) assert.ok(Date.now() - started < 10_000);
  assert.equal((await clinic.get('/MedicationAdministration?_count=1000')).body.total, 1); // reads do not wait
  assert.equal(answered, false);
  assert.equal((await answer).status, 201);
  assert.ok(Date.now() - started >= 390);
});

test('A bundle with too many entries is refused with 413', async (t) => {
  const clinic = await startClinic(t, '--max-entries', '2');
  const entries = ['a', 'b', 'c'].map((value) => createEntry(undefined, dose(value)));
  const refused = await clinic.post('', bundle('batch', entries));
  assert.deepEqual([refused.status, refused.body.issue[0].code], [413, 'too-long']);
  assert.equal((await clinic.post('', bundle('batch', entries.slice(1)))).status, 200);
  assert.equal(await clinic.count('MedicationAdministration'), 2);
});

test('The counts tell requests, kept versions and stored resources apart', async (t) => {
  const clinic = await startClinic(t);
  const seeded = { Patient: 1, RelatedPerson: 2, Device: 1 };
  assert.deepEqual(await clinic.counts(), { requests: 0, writes: 0, byType: seeded });
  await clinic.post('/MedicationAdministration', dose('count'), condition('count'));
  await clinic.post('/MedicationAdministration', dose('count'), condition('count'));
  const { body: patient } = await clinic.get('/Patient/p1');
  await clinic.put('/Patient/p1', patient);
  const byType = { ...seeded, MedicationAdministration: 1 };
  assert.deepEqual(await clinic.counts(), { requests: 4, writes: 2, byType });
});

test('An option that is unknown or makes no sense changes nothing', async (t) => {
  const clinic = await startClinic(t);
  for (const changes of [{ 'lose-answers': 1, colour: 'red' }, { 'delay-ms': -1 }, { down: 'true' }]) {
    assert.equal((await clinic.setOptions(changes)).status, 400);
  }
  const { body: options } = await clinic.setOptions({});
  assert.deepEqual([options['delay-ms'], options['lose-answers'], options.down], [0, 0, false]);
});

test('A body that is not JSON or is not said to be is refused', async (t) => {
  const clinic = await startClinic(t);
  const plain = await clinic.post('/Patient', { resourceType: 'Patient' }, { 'content-type': 'text/plain' });
  assert.equal(plain.status, 415);
  const cut = await fetch(`${clinic.origin}/fhir/Patient`, {
    method: 'POST',
    headers: { 'content-type': 'application/fhir+json; charset=utf-8' },
    body: '{"resourceType":',
  });
  assert.equal(cut.status, 400);
});

test('SIGTERM ends the clinic at once, even with an answer outstanding', async (t) => {
  const clinic = await startClinic(t, '--delay-ms', '60000');
  const answer = assert.rejects(clinic.post('/MedicationAdministration', dose('never')));
  while ((await clinic.count('MedicationAdministration')) === 0);
  const started = Date.now();
  assert.equal(await clinic.stop(), 0);
  assert.ok(Date.now() - started < 2000);
  await answer;
});

test('With a certificate the clinic speaks HTTPS', async (t) => {
  const folder = mkdtempSync(join(tmpdir(), 'clinic-'));
  t.after(() => rmSync(folder, { recursive: true }));
  const [cert, key] = [join(folder, 'cert.pem'), join(folder, 'key.pem')];
  const request = 'req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 1 -subj /CN=localhost';
  const names = ['-addext', 'subjectAltName=IP:127.0.0.1', '-keyout', key, '-out', cert];
  try {
    execFileSync('openssl', [...request.split(' '), ...names], { stdio: 'ignore' });
  } catch (error) {
    if (error.code === 'ENOENT') return t.skip('no openssl command to make a certificate with');
    throw error;
  }
  const clinic = await startClinic(t, '--cert', cert, '--key', key);
  const url = `https://127.0.0.1:${clinic.port}/fhir/Patient/p1`;
  const [status, patient] = await new Promise((resolve, reject) => {
    const receive = async (response) => {
      let text = '';
      for await (const chunk of response) text += chunk;
      resolve([response.statusCode, JSON.parse(text)]);
    };
    https.get(url, { ca: readFileSync(cert), agent: false }, receive).on('error', reject);
  });
  assert.deepEqual([status, patient.id], [200, 'p1']);
});
