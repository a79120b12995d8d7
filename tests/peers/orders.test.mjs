// What a clinic has ordered, read by the real hub from a FHIR server that nobody here wrote, beside the regimen of the
// demo household.

import assert from 'node:assert/strict';
import test from 'node:test';

import { startHome } from './hub.mjs';

const ATC = 'http://www.whocc.no/atc';
const UCUM = 'http://unitsofmeasure.org';

/** An order of enoxaparin (ATC B01AB05) for the patient: so many mg at these times of day. */
function order(patient, milligrams, times, changes = {}) {
  return {
    resourceType: 'MedicationRequest',
    status: 'active',
    intent: 'order',
    subject: { reference: `Patient/${patient.id}` },
    authoredOn: '2026-10-12',
    medicationCodeableConcept: { coding: [{ system: ATC, code: 'B01AB05', display: 'enoxaparin' }] },
    dosageInstruction: [
      {
        timing: { repeat: { frequency: times.length, period: 1, periodUnit: 'd', timeOfDay: times } },
        doseAndRate: [{ doseQuantity: { value: milligrams, unit: 'mg', system: UCUM, code: 'mg' } }],
      },
    ],
    ...changes,
  };
}

async function homeWithOrders(t) {
  return startHome(t, {
    regimen: true,
    // The regimen has to be in force today, whatever day that is.
    prepare: (home) =>
      home.changeSettings((text) =>
        text.replace('name = "nowhere"\n', 'name = "nowhere"\norders = "yes"\n').replace(/^end = "2026-11-02.*\n/m, ''),
      ),
  });
}

async function ordered(home) {
  const { code, stdout, stderr } = await home.command('orders', '--json');
  assert.equal(code, 0, stderr);
  const { clinics } = JSON.parse(stdout);
  assert.equal(clinics.length, 1);
  return clinics[0];
}

const elements = (clinic) =>
  Object.fromEntries(clinic.comparisons[0].elements.map(({ element, agreement }) => [element, agreement]));

/** The MedicationAdministration among what would leave now. */
async function previewedDose(home) {
  const { code, stdout, stderr } = await home.command('share', '--json');
  assert.equal(code, 0, stderr);
  const resources = JSON.parse(stdout).clinics[0].bundle.entry.map(({ resource }) => resource);
  return resources.find(({ resourceType }) => resourceType === 'MedicationAdministration');
}

test('orders are read in each pass, compared, flagged, and named by the doses given by them', async (t) => {
  const home = await homeWithOrders(t);
  const [patient] = await home.clinic.all('Patient');
  const told = await home.clinic.ask('POST', '/fhir/MedicationRequest', order(patient, 20, ['08:00:00', '20:00:00']));
  assert.equal(told.status, 201);
  const place = `MedicationRequest/${told.body.id}`;

  await home.pass();
  const agreeing = await ordered(home);
  assert.deepEqual(agreeing.orders.map(({ reference }) => reference), [place]);
  assert.deepEqual([elements(agreeing).amount, elements(agreeing).times], ['agrees', 'agrees'], JSON.stringify(agreeing));

  await home.clinic.ask('PUT', `/fhir/${place}`, { ...order(patient, 22, ['08:00:00', '20:00:00']), id: told.body.id });
  await home.pass();
  const differing = await ordered(home);
  assert.deepEqual([elements(differing).amount, elements(differing).times], ['differs', 'agrees']);
  const { stdout: flags } = await home.command('flags', '--json');
  assert.ok(JSON.parse(flags).flags.some(({ flag }) => flag === 'order_differs'), flags);
  const { stdout: proposal } = await home.command('orders', '--propose');
  assert.match(proposal, /\[\[regimen\]\]/);
  assert.match(proposal, /# DECIDE:/);

  const now = new Date().toISOString().replace(/\.\d+Z/, 'Z');
  const dose = { type: 'dose_given', time: now, recorded: now, person: 'juniper', by: 'marlow', medicine: 'enoxaparin-100', amount: '0.22 mL', region: 'thigh', side: 'left' };
  const [answer] = await home.handIn(JSON.stringify([dose]), 'application/json');
  assert.equal(answer.answer, 'accepted', JSON.stringify(answer));
  // What would leave names the order, whether or not a daemon runs that has read it.
  assert.equal((await previewedDose(home)).request?.reference, place);
  await home.endHub('SIGTERM');
  assert.equal((await previewedDose(home)).request?.reference, place);
  await home.startHub();
  await home.pass();
  const doses = await home.clinic.all('MedicationAdministration');
  assert.deepEqual(doses.map(({ request }) => request?.reference), [place]);

  await home.clinic.ask('PUT', `/fhir/${place}`, {
    ...order(patient, 22, ['08:00:00', '20:00:00'], { status: 'stopped' }),
    id: told.body.id,
  });
  await home.pass();
  const { stdout: after } = await home.command('flags', '--json');
  assert.ok(JSON.parse(after).flags.some(({ flag }) => flag === 'order_missing'), after);
});

test('a clinic that shows no orders gets everything all the same', async (t) => {
  const home = await homeWithOrders(t);
  await home.handInFortnight();
  await home.pass();
  const queue = await home.queue();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0], JSON.stringify(queue));
  assert.equal((await ordered(home)).orders.length, 0);
});
