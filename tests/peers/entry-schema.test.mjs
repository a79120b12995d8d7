// The published JSON Schema of entries, held against a general-purpose validator (ajv, draft 2020-12): it takes
// the demo household's files and refuses slips.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import Ajv from 'ajv/dist/2020.js';

const read = (name) => readFileSync(new URL(`../../config/${name}`, import.meta.url), 'utf8');
const validate = new Ajv({ strict: false }).compile(JSON.parse(read('entry.schema.json')));

const dose = {
  type: 'dose_given', person: 'juniper', time: '2026-10-12T08:00:00+01:00', by: 'marlow',
  medicine: 'enoxaparin-100', amount: 0.18, unit: 'mL', region: 'abdomen', side: 'left', x_cm: 6, y_cm: 0,
};
const bruise = {
  type: 'finding', person: 'juniper', time: '2026-10-14T07:50', by: 'marlow', finding: 'bruise', region: 'thigh',
  side: 'left', length_cm: '1.5', width_cm: '1.0',
};

const missed = {
  type: 'dose_not_given', person: 'juniper', time: '2026-10-12T20:00', by: 'marlow', medicine: 'enoxaparin-100',
  why: 'other',
};

test('the demo files are valid', () => {
  assert.ok(validate(JSON.parse(read('demo/findings.json'))), JSON.stringify(validate.errors));
  for (const line of read('demo/later.ndjson').split('\n').filter(Boolean)) {
    assert.ok(validate(JSON.parse(line)), `${line}: ${JSON.stringify(validate.errors)}`);
  }
});

const good = {
  'a dose': dose,
  'an amount with its unit': { ...dose, amount: '0.18 mL', unit: undefined },
  'a finding with its size': bruise,
  'a finding that is not at a site': { ...bruise, finding: 'nosebleed', region: undefined, side: undefined, length_cm: undefined, width_cm: undefined, minutes: 6 },
  'another reason that its note explains': { ...missed, note: 'the vial fell down' },
  'another finding that its note describes': { ...bruise, finding: 'other', note: 'tingling' },
  'a vial with a month of expiry': { type: 'vial_opened', person: 'juniper', time: '2026-10-21T07:50', by: 'marlow', medicine: 'enoxaparin-100', vial: 'V2', expires: '2027-06' },
};
for (const [name, entry] of Object.entries(good)) {
  test(`takes ${name}`, () => assert.ok(validate(JSON.parse(JSON.stringify(entry))), JSON.stringify(validate.errors)));
}

const bad = {
  'an empty list': [],
  'an unknown type': { ...dose, type: 'dose' },
  'an unknown field': { ...dose, colour: 'red' },
  'a dose without an amount': { ...dose, amount: undefined },
  'a dose without a unit': { ...dose, unit: undefined },
  'more than a syringe holds': { ...dose, amount: 18 * 10 },
  'half a place': { ...dose, y_cm: undefined },
  'a place on the other side': { ...dose, x_cm: -6 },
  'a day before its month': { ...dose, time: '12/10/2026 08:00' },
  'a bruise that is nowhere': { ...bruise, region: undefined, side: undefined },
  'a nosebleed on the thigh': { ...bruise, finding: 'nosebleed' },
  'a bruise that is gone and measured': { ...bruise, present: 'no' },
  'another reason without a note': missed,
  'another reason with a blank note': { ...missed, note: ' \n ' },
  'another finding without a note': { ...bruise, finding: 'other' },
  'an amendment without its time': { ...dose, action: 'amend', id: 'x', recorded_by: 'marlow' },
  'a retraction with content': { ...dose, action: 'retract', id: 'x', recorded: '2026-10-12T09:00', recorded_by: 'marlow' },
};
for (const [name, entry] of Object.entries(bad)) {
  test(`refuses ${name}`, () => assert.ok(!validate(JSON.parse(JSON.stringify(entry)))));
}
