// What our daemon relies on when it sends to a clinic: conditional creates, transactions, versions and reading back,
// as the third-party library behind clinic.mjs does them. Where the library is stricter, laxer or odder than the
// standard says, a test pins what was seen, because the daemon has to live with it.

import assert from 'node:assert/strict';
import test from 'node:test';

import { bundle, createEntry, dose, finding, provenance, putEntry, startClinic, SYSTEM } from './clinic-support.mjs';

const DOSE_URN = 'urn:uuid:5a0c1e9e-0f6b-4a52-9a7e-6d3f0b9f0001';
const FINDING_URN = 'urn:uuid:5a0c1e9e-0f6b-4a52-9a7e-6d3f0b9f0002';
const PROVENANCE_ID = '5a0c1e9e-0f6b-4a52-9a7e-6d3f0b9f0003';

function doseFindingAndProvenance(value) {
  return bundle('transaction', [
    createEntry(DOSE_URN, dose(value)),
    createEntry(FINDING_URN, finding(`${value}-bruise`, DOSE_URN)),
    putEntry(provenance(PROVENANCE_ID, [DOSE_URN, FINDING_URN])),
  ]);
}

function manyDoses(count, prefix) {
  return Array.from({ length: count }, (_, index) => createEntry(undefined, dose(`${prefix}-${index}`)));
}

const statuses = (answer) => answer.body.entry.map((entry) => entry.response.status);
const locations = (answer) => answer.body.entry.map((entry) => entry.response.location);
const words = (answer) => answer.body.issue[0].details.text;

test('The clinic says what it can do', async (t) => {
  const clinic = await startClinic(t);
  const { status, headers, body } = await clinic.get('/metadata');
  assert.equal(status, 200);
  assert.equal(headers.get('content-type'), 'application/fhir+json');
  assert.equal(body.fhirVersion, '4.0.1');
  assert.deepEqual(body.format, ['application/fhir+json', 'json']);
  const [rest] = body.rest;
  assert.deepEqual(rest.interaction, [{ code: 'transaction' }, { code: 'batch' }]);
  const type = rest.resource.find((resource) => resource.type === 'MedicationAdministration');
  assert.equal(type.versioning, 'versioned');
  assert.ok(type.conditionalCreate && type.conditionalUpdate && type.updateCreate);
  assert.ok(type.searchParam.some(({ name, type: kind }) => name === 'identifier' && kind === 'token'));
});

test('The patient, the carers and the hub are there from the start', async (t) => {
  const clinic = await startClinic(t);
  const found = await clinic.get('/Patient?identifier=urn:example:nowhere-clinic|TEST-000417');
  assert.deepEqual([found.status, found.body.total, found.body.entry[0].resource.id], [200, 1, 'p1']);
  for (const path of ['/Patient/p1', '/RelatedPerson/marlow', '/RelatedPerson/tove', '/Device/hub']) {
    assert.equal((await clinic.get(path)).status, 200, path);
  }
});

test('A conditional create by header makes one resource', async (t) => {
  const clinic = await startClinic(t);
  const condition = { 'if-none-exist': `identifier=${SYSTEM}|header` };
  const first = await clinic.post('/MedicationAdministration', dose('header'), condition);
  const second = await clinic.post('/MedicationAdministration', dose('header'), condition);
  assert.deepEqual([first.status, second.status], [201, 200]);
  assert.equal(second.body.id, first.body.id);

  const { id, meta } = first.body;
  const path = `/fhir/MedicationAdministration/${id}/_history/${meta.versionId}`;
  assert.equal(first.headers.get('location'), `${clinic.origin}${path}`);
  assert.equal(first.headers.get('etag'), `W/"${meta.versionId}"`);
  assert.equal(second.headers.get('location'), null);
  assert.equal(second.headers.get('etag'), `W/"${meta.versionId}"`);
  assert.equal((await clinic.ask('GET', path)).body.id, id);
  assert.equal(await clinic.count('MedicationAdministration'), 1);
});

test('A conditional create that matches several resources is refused with 412', async (t) => {
  const clinic = await startClinic(t);
  for (let copy = 0; copy < 2; copy += 1) await clinic.post('/MedicationAdministration', dose('twin'));
  const condition = { 'if-none-exist': `identifier=${SYSTEM}|twin` };
  const single = await clinic.post('/MedicationAdministration', dose('twin'), condition);
  const bundled = await clinic.post('', bundle('transaction', [createEntry(DOSE_URN, dose('twin'))]));
  assert.deepEqual([single.status, bundled.status], [412, 412]);
  assert.equal(single.body.issue[0].code, 'multiple-matches');
  assert.equal(await clinic.count('MedicationAdministration'), 2);
});

test('Many equal conditional creates at once make one resource', async (t) => {
  const clinic = await startClinic(t);
  const condition = { 'if-none-exist': `identifier=${SYSTEM}|race` };
  const send = () => clinic.post('/MedicationAdministration', dose('race'), condition);
  const answers = await Promise.all(Array.from({ length: 20 }, send));
  assert.equal(answers.filter(({ status }) => status === 201).length, 1);
  assert.equal(new Set(answers.map(({ body }) => body.id)).size, 1);
});

test('A transaction ties its resources together and repeating it adds none', async (t) => {
  const clinic = await startClinic(t);
  const first = await clinic.post('', doseFindingAndProvenance('d1'));
  assert.deepEqual([first.status, first.body.type], [200, 'transaction-response']);
  assert.deepEqual(statuses(first), ['201', '201', '200']); // a PUT that creates is answered like one that updates
  const [doseAt, findingAt, provenanceAt] = locations(first);
  assert.match(doseAt, /^MedicationAdministration\/[0-9a-f-]{36}$/);
  assert.match(findingAt, /^Observation\/[0-9a-f-]{36}$/);
  assert.equal(provenanceAt, `Provenance/${PROVENANCE_ID}`);

  const storedFinding = (await clinic.get(`/${findingAt}`)).body;
  const storedProvenance = (await clinic.get(`/${provenanceAt}`)).body;
  assert.deepEqual(storedFinding.partOf, [{ reference: doseAt }]);
  assert.deepEqual(storedProvenance.target, [{ reference: doseAt }, { reference: findingAt }]);

  const again = await clinic.post('', doseFindingAndProvenance('d1'));
  assert.deepEqual(statuses(again), ['200', '200', '200']);
  assert.deepEqual(locations(again), locations(first));
  const { byType } = await clinic.counts();
  assert.deepEqual([byType.MedicationAdministration, byType.Observation, byType.Provenance], [1, 1, 1]);
  assert.deepEqual((await clinic.get(`/${provenanceAt}`)).body.target, storedProvenance.target);
});

test('A transaction response gives outcome, status, bare location and the resource, but no etag', async (t) => {
  const clinic = await startClinic(t);
  const answer = await clinic.post('', bundle('transaction', [createEntry(DOSE_URN, dose('shape'))]));
  assert.equal(answer.headers.get('etag'), null);
  assert.equal(answer.headers.get('location'), null);
  const [{ response, resource }] = answer.body.entry;
  assert.deepEqual(Object.keys(response), ['outcome', 'status', 'location']);
  assert.equal(response.outcome.id, 'created');
  assert.equal(response.location, `MedicationAdministration/${resource.id}`);
  assert.ok(resource.meta.versionId && resource.meta.lastUpdated);
});

test('A failed transaction leaves nothing', async (t) => {
  const clinic = await startClinic(t);
  await clinic.put(`/Provenance/${PROVENANCE_ID}`, provenance(PROVENANCE_ID, ['Patient/p1']));
  const before = await clinic.counts();
  const { meta } = (await clinic.get(`/Provenance/${PROVENANCE_ID}`)).body;

  const broken = doseFindingAndProvenance('undone');
  const unsound = { ...provenance('unsound', ['Patient/p1']), recorded: undefined };
  broken.entry.push(putEntry(unsound)); // the last to be processed, so that the others were written before
  const answer = await clinic.post('', broken);
  assert.equal(answer.status, 400);
  assert.deepEqual(answer.body.issue[0].expression, ['Provenance.recorded']);

  const after = await clinic.counts();
  assert.deepEqual([after.writes, after.byType], [before.writes, before.byType]);
  assert.equal((await clinic.get(`/Provenance/${PROVENANCE_ID}`)).body.meta.versionId, meta.versionId);
  const history = (await clinic.get(`/Provenance/${PROVENANCE_ID}/_history`)).body;
  assert.equal(history.entry.length, 1);
  const found = await clinic.get(`/MedicationAdministration?identifier=${SYSTEM}|undone`);
  assert.equal(found.body.total, 0);
});

test('An update with a stale If-Match is refused with 412, alone and inside a transaction', async (t) => {
  const clinic = await startClinic(t);
  const { body: patient } = await clinic.get('/Patient/p1');
  const current = `W/"${patient.meta.versionId}"`;
  const updated = await clinic.put('/Patient/p1', { ...patient, active: true }, { 'if-match': current });
  assert.equal(updated.status, 200);

  const single = await clinic.put('/Patient/p1', patient, { 'if-match': current });
  assert.deepEqual([single.status, words(single)], [412, 'Precondition Failed']);

  const entries = [createEntry(DOSE_URN, dose('stale')), putEntry(patient, { ifMatch: current })];
  const bundled = await clinic.post('', bundle('transaction', entries));
  assert.deepEqual([bundled.status, bundled.body.resourceType], [412, 'OperationOutcome']);
  assert.equal(words(bundled), 'Precondition Failed');
  assert.equal(await clinic.count('MedicationAdministration'), 0);
  assert.equal((await clinic.get('/Patient/p1')).body.active, true);

  const fresh = putEntry(patient, { ifMatch: updated.headers.get('etag') });
  const accepted = await clinic.post('', bundle('transaction', [fresh]));
  assert.deepEqual([accepted.status, ...statuses(accepted)], [200, '200']);
});

test('An If-Match without quotes is ignored', async (t) => {
  const clinic = await startClinic(t);
  const { body: patient } = await clinic.get('/Patient/p1');
  assert.equal((await clinic.put('/Patient/p1', patient, { 'if-match': 'stale' })).status, 200);
});

test('A transaction with a conditional create may have eight entries, a batch many more', async (t) => {
  const clinic = await startClinic(t);
  const eight = await clinic.post('', bundle('transaction', manyDoses(8, 'eight')));
  assert.equal(eight.status, 200);

  const nine = await clinic.post('', bundle('transaction', manyDoses(9, 'nine')));
  assert.equal(nine.status, 400);
  assert.deepEqual(nine.body, {
    resourceType: 'OperationOutcome',
    issue: [
      {
        severity: 'error',
        code: 'invalid',
        details: { text: 'Transaction requires strict isolation but has too many entries' },
      },
    ],
  });
  assert.equal(await clinic.count('MedicationAdministration'), 8);

  const batch = await clinic.post('', bundle('batch', manyDoses(50, 'batch')));
  assert.deepEqual(new Set(statuses(batch)), new Set(['201']));
});

test('A transaction may have fifty updates', async (t) => {
  const clinic = await startClinic(t);
  const updates = (count) => Array.from({ length: count }, (_, n) => putEntry(provenance(`p${n}`, ['Patient/p1'])));
  assert.equal((await clinic.post('', bundle('transaction', updates(50)))).status, 200);
  const refused = await clinic.post('', bundle('transaction', updates(51)));
  assert.deepEqual([refused.status, words(refused)], [400, 'Transaction contains more update operations than allowed']);
});

test('A bad entry of a batch fails alone', async (t) => {
  const clinic = await startClinic(t);
  const entries = [createEntry(DOSE_URN, dose('good')), createEntry(FINDING_URN, dose('bad', { status: undefined }))];
  const answer = await clinic.post('', bundle('batch', entries));
  assert.deepEqual([answer.status, answer.body.type, ...statuses(answer)], [200, 'batch-response', '201', '400']);
  const { outcome, location } = answer.body.entry[1].response;
  assert.deepEqual(outcome.issue[0].expression, ['MedicationAdministration.status']);
  assert.equal(location, undefined);
});

test('More than a page of resources can be read back', async (t) => {
  const clinic = await startClinic(t);
  await clinic.post('', bundle('batch', manyDoses(45, 'page')));
  const read = async (query) => (await clinic.get(`/MedicationAdministration${query}`)).body;
  assert.equal((await read('?_count=1000')).entry.length, 45);
  const page = await read('?_count=10&subject=Patient/p1');
  assert.deepEqual([page.entry.length, page.total], [10, 45]);
});

// The library rewrites every string of an entry that looks like a fullUrl of the bundle, not only references.
test('An identifier that equals the fullUrl is overwritten, so its condition never matches again', async (t) => {
  const clinic = await startClinic(t);
  const resource = dose(DOSE_URN);
  for (let attempt = 0; attempt < 2; attempt += 1) {
    const answer = await clinic.post('', bundle('transaction', [createEntry(DOSE_URN, resource)]));
    assert.deepEqual(statuses(answer), ['201']);
    assert.equal(answer.body.entry[0].resource.identifier[0].value, locations(answer)[0]);
  }
  assert.equal(await clinic.count('MedicationAdministration'), 2);
});

test('A placeholder in upper case is not rewritten', async (t) => {
  const clinic = await startClinic(t);
  const urn = `urn:uuid:${DOSE_URN.slice('urn:uuid:'.length).toUpperCase()}`;
  const entries = [createEntry(urn, dose('upper')), createEntry(FINDING_URN, finding('upper-bruise', urn))];
  const answer = await clinic.post('', bundle('transaction', entries));
  assert.deepEqual(answer.body.entry[1].resource.partOf, [{ reference: urn }]);
});
