// FHIR that a program at home hands in, through the real daemon to a FHIR server that nobody here wrote; and what that
// server then holds, handed in to the hub of another home, arrives at its clinic the same.

import assert from 'node:assert/strict';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { startHome } from './hub.mjs';

const FHIR_TYPE = 'application/fhir+json; fhirVersion=4.0';
const UCUM = 'http://unitsofmeasure.org';
const DEVICE = 'https://device.example/records';
const DOSE = '0f3a5c52-6a5b-4a7b-9f0e-3a4b5c6d7e8f';

const about = {
  subject: { identifier: { system: 'urn:example:nowhere-clinic', value: 'TEST-000417' } },
  effectiveDateTime: '2026-10-12T08:00:00+01:00',
};
const marlow = { reference: 'RelatedPerson/marlow' };
const coded = (system, code) => ({ coding: [{ system, code }] });

function dose(value = 18) {
  return {
    resourceType: 'MedicationAdministration',
    identifier: [{ system: DEVICE, value: 'dose-1' }],
    status: 'completed',
    medicationCodeableConcept: coded('http://www.whocc.no/atc', 'B01AB05'),
    ...about,
    performer: [{ actor: marlow }],
    dosage: {
      site: coded('http://terminology.hl7.org/CodeSystem/v3-ActSite', 'LUAQ'),
      route: coded('http://snomed.info/sct', '34206005'),
      dose: { value, unit: 'mg', system: UCUM, code: 'mg' },
    },
  };
}

const bruise = {
  resourceType: 'Observation',
  identifier: [{ system: DEVICE, value: 'bruise-1' }],
  partOf: [{ reference: `urn:uuid:${DOSE}` }],
  status: 'final',
  code: coded('http://snomed.info/sct', '95401009'),
  ...about,
  performer: [marlow],
  valueBoolean: true,
  bodySite: { text: 'left upper abdomen' },
};

function weight(value, unit = 'kg') {
  return {
    resourceType: 'Observation',
    identifier: [{ system: DEVICE, value: 'weight-1' }],
    status: 'final',
    code: coded('http://loinc.org', '29463-7'),
    ...about,
    performer: [marlow],
    valueQuantity: { value, unit, system: UCUM, code: unit },
  };
}

function bundle(type, ...resources) {
  const entry = resources.map(([resource, fullUrl]) => ({
    ...(fullUrl && { fullUrl }),
    resource,
    ...(type !== 'collection' && { request: { method: 'POST', url: resource.resourceType } }),
  }));
  return JSON.stringify({ resourceType: 'Bundle', type, entry });
}

const valueAt = ({ identifier }, system) => identifier.find((one) => one.system === system)?.value;

async function heldBy(clinic) {
  const types = ['MedicationAdministration', 'Observation'];
  const all = (await Promise.all(types.map((type) => clinic.all(type)))).flat();
  return new Map(all.map((resource) => [valueAt(resource, DEVICE), resource]));
}

/** Without what the server itself gives a resource, and with its references to others by what they mean. */
function said({ id, meta, text, ...rest }, dose) {
  return JSON.parse(JSON.stringify(rest).replaceAll(`MedicationAdministration/${dose.id}`, 'the dose'));
}

async function startToldHome(t) {
  const home = await startHome(t);
  const text = bundle('batch', [dose(), `urn:uuid:${DOSE}`], [bruise], [weight(41, '[lb_av]')]);
  const { status, body } = await home.call('POST', '/v1/entries', text, FHIR_TYPE);
  assert.equal(status, 200);
  assert.equal(body.type, 'batch-response');
  const statuses = body.entry.map(({ response }) => response.status);
  assert.deepEqual(statuses, ['201 Created', '201 Created', '422 Unprocessable Entity']);
  const [issue] = body.entry[2].response.outcome.issue;
  assert.deepEqual(issue.expression, ['Bundle.entry[2].resource.value.code']);
  await home.drop('scale.fhir.json', JSON.stringify(weight(18.6)));
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, 3]);
  return home;
}

test('FHIR of a device reaches the clinic with its own identifiers', async (t) => {
  const home = await startToldHome(t);
  const held = await heldBy(home.clinic);
  assert.deepEqual([...held.keys()].sort(), ['bruise-1', 'dose-1', 'weight-1']);
  const { dosage } = held.get('dose-1');
  assert.deepEqual([dosage.dose.value, dosage.site.coding[0].code], [18, 'LUAQ']);
  assert.equal(held.get('bruise-1').partOf[0].reference, `MedicationAdministration/${held.get('dose-1').id}`);
  assert.equal(held.get('weight-1').valueQuantity.value, 18.6);

  const again = await home.call('POST', '/v1/entries', JSON.stringify(dose()), FHIR_TYPE);
  assert.equal(again.status, 200);
  const other = await home.call('POST', '/v1/entries', JSON.stringify(dose(20)), FHIR_TYPE);
  assert.deepEqual([other.status, other.body.issue[0].code], [409, 'conflict']);
});

test('a refused file of FHIR has its reasons beside it', async (t) => {
  const home = await startHome(t);
  writeFileSync(join(home.folder, 'inbox', 'scale.json'), JSON.stringify(weight(41, '[lb_av]')));
  const reason = join(home.folder, 'inbox', 'refused', 'scale.json.reason.txt');
  await home.waitFor('the file is refused', () => existsSync(reason));
  assert.match(readFileSync(reason, 'utf8'), /Observation\.value\.code: an entry counts this in UCUM kg/);
});

test('what one clinic holds comes to another clinic the same by way of FHIR', async (t) => {
  const home = await startToldHome(t);
  const held = await heldBy(home.clinic);
  const all = [...held.values(), ...(await home.clinic.all('Provenance')), ...(await home.clinic.all('Patient'))];
  const second = await startHome(t);
  const text = bundle('collection', ...all.map((resource) => [resource]));
  const { status, body } = await second.call('POST', '/v1/entries', text, FHIR_TYPE);
  assert.equal(status, 200, JSON.stringify(body));
  const queue = await second.pass();
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, 3]);
  const there = await heldBy(second.clinic);
  for (const [value, resource] of held) {
    assert.deepEqual(said(there.get(value), there.get('dose-1')), said(resource, held.get('dose-1')));
  }
});
