// From a family's files to a clinic's shelves: the real daemon, fed as a family would, against a FHIR server that
// nobody here wrote. What the clinic then holds is read back from it and held against the files themselves.

import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import test from 'node:test';

import {
  ADMINISTRATIONS,
  AMENDED,
  doseRows,
  ENTRIES,
  findings,
  instantOfEntry,
  instantOfRow,
  later,
  milligramsOf,
  OBSERVATIONS,
  RETRACTED,
} from './demo.mjs';
import { CSV_TYPE, demoFile, JSON_TYPE, NDJSON_TYPE, startHome } from './hub.mjs';

const SNOMED = 'http://snomed.info/sct';
const ACT_SITE = 'http://terminology.hl7.org/CodeSystem/v3-ActSite';
const UCUM = 'http://unitsofmeasure.org';
const IDENTIFIER_SYSTEM = 'urn:example:exampleton-home';

// HL7 v3-ActSite and the SNOMED CT Global Patient Set. On the abdomen the quadrant follows from y; at the height of
// the navel, or where no spot was written down, it is the abdominal wall as a whole.
const SITE_CODES = {
  'left thigh': ['LT', '61396006'], // Structure of left thigh
  'right thigh': ['RT', '11207009'], // Structure of right thigh
  'left abdomen above': ['LUAQ', '86367003'], // Structure of left upper quadrant of abdomen
  'left abdomen below': ['LLAQ', '68505006'], // Structure of left lower quadrant of abdomen
  'right abdomen above': ['RUAQ', '50519007'], // Structure of right upper quadrant of abdomen
  'right abdomen below': ['RLAQ', '48544008'], // Structure of right lower quadrant of abdomen
  'left abdomen': [undefined, '42972002'], // Subcutaneous tissue structure of anterior abdominal wall
  'right abdomen': [undefined, '42972002'],
};

const amended = later().find(({ action }) => action === 'amend');

/** The rows of doses.csv as they stand after the one amendment. */
function dosesAsTheyStand() {
  return doseRows().map((row) => (row.id === AMENDED ? { ...row, amount: String(amended.amount) } : row));
}

function siteCodes({ region, side, y_cm: y }) {
  const height = region === 'abdomen' && Number(y) !== 0 ? (Number(y) > 0 ? ' above' : ' below') : '';
  return SITE_CODES[`${side} ${region}${height}`];
}

function codeIn(concept, system) {
  const codes = (concept?.coding ?? []).filter((coding) => coding.system === system).map(({ code }) => code);
  assert.ok(codes.length <= 1, `two codes of ${system}: ${codes}`);
  return codes[0];
}

function countBy(list, key) {
  const counts = {};
  for (const item of list) counts[key(item)] = (counts[key(item)] ?? 0) + 1;
  return counts;
}

/** By the instant at which it happened; no two of these happened at the same one. */
function byInstant(resources) {
  const found = new Map(resources.map((resource) => [Date.parse(resource.effectiveDateTime), resource]));
  assert.equal(found.size, resources.length);
  return found;
}

function component(observation, word) {
  return (observation.component ?? []).find(({ code }) => code.coding.some((coding) => coding.code === word));
}

const nameOf = ({ resourceType, id }) => `${resourceType}/${id}`;

/** Everything the hub can have put there: "Type/id" -> resource. */
async function shelves(clinic) {
  const types = ['MedicationAdministration', 'Observation', 'Provenance'];
  const resources = (await Promise.all(types.map((type) => clinic.all(type)))).flat();
  return new Map(resources.map((resource) => [nameOf(resource), resource]));
}

/** What is new and what has another version, as lists of names. */
function difference(before, after) {
  const added = [...after.keys()].filter((name) => !before.has(name));
  const same = (name) => after.get(name)?.meta.versionId === before.get(name).meta.versionId;
  return { added, changed: [...before.keys()].filter((name) => !same(name)) };
}

/** A home whose fortnight the clinic has. */
async function startCrossedHome(t) {
  const home = await startHome(t);
  await home.handInFortnight();
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, ENTRIES]);
  return home;
}

test('The demo fortnight arrives at the clinic as it was lived', async (t) => {
  const home = await startHome(t);
  const answers = await home.handInFortnight();
  const queue = await home.pass();
  const { clinic } = home;
  const administrations = await clinic.all('MedicationAdministration');
  const observations = await clinic.all('Observation');
  const provenances = await clinic.all('Provenance');
  const doseAt = byInstant(administrations);
  const observedAt = byInstant(observations);
  const { entries } = await home.get('/v1/entries?limit=100');

  await t.test('The queue says that the clinic has everything', () => {
    assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, ENTRIES]);
    assert.equal(queue.pass.failures, undefined);
  });

  await t.test('Every entry has become one resource with one Provenance', async () => {
    assert.deepEqual(countBy(administrations, ({ status }) => status), ADMINISTRATIONS);
    assert.deepEqual(countBy(observations, ({ status }) => status), { final: OBSERVATIONS });
    assert.equal(provenances.length, ENTRIES);
    const targets = provenances.map(({ target }) => target.map(({ reference }) => reference)).flat();
    assert.deepEqual(targets.sort(), [...administrations, ...observations].map(nameOf).sort());
    const { writes } = await clinic.counts();
    assert.equal(writes, 2 * ENTRIES); // and nothing was written twice on the way
  });

  await t.test('Each resource bears the id that the hub gave its entry', () => {
    const identifiers = [...administrations, ...observations].map(({ identifier }) => identifier);
    for (const list of identifiers) {
      assert.deepEqual([list.length, list[0].system], [1, IDENTIFIER_SYSTEM]);
      assert.match(list[0].value, /^urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/);
    }
    const atClinic = identifiers.map(([{ value }]) => value.slice('urn:uuid:'.length)).sort();
    assert.equal(new Set(atClinic).size, ENTRIES);
    assert.deepEqual(atClinic, entries.map(({ id }) => id).sort());
    for (const { id } of answers) assert.ok(atClinic.includes(id), `${id} was accepted and is not at the clinic`);
  });

  await t.test('The hub keeps the place of each resource as its receipt', () => {
    const held = new Map([...administrations, ...observations].map((one) => [one.identifier[0].value, one]));
    for (const { id, deliveries } of entries) {
      const resource = held.get(`urn:uuid:${id}`);
      const [{ state, receipts }] = deliveries;
      const { resource: place, version } = receipts.at(-1);
      assert.deepEqual([state, place, version], ['confirmed', nameOf(resource), resource.meta.versionId]);
    }
  });

  await t.test('A dose was given at the moment its row says, by the clock of where it was given', () => {
    for (const row of doseRows()) {
      const dose = doseAt.get(instantOfRow(row));
      assert.ok(dose, `no dose at the clinic for ${row.date} ${row.clock} ${row.zone}`);
      assert.equal(dose.effectiveDateTime.slice(0, 16), `${row.date}T${row.clock}`);
      assert.equal(dose.status, row.id === RETRACTED ? 'entered-in-error' : 'completed');
    }
  });

  await t.test('The milligrams of a dose are exactly a hundred times its millilitres', () => {
    for (const row of dosesAsTheyStand()) {
      const { dose, text } = doseAt.get(instantOfRow(row)).dosage;
      const { value, ...unit } = dose;
      assert.equal(String(value), milligramsOf(row.amount));
      assert.deepEqual(unit, { unit: 'mg', system: UCUM, code: 'mg' });
      assert.ok(text.startsWith(`${row.amount} mL `), text);
    }
  });

  await t.test('The amended dose arrives as 18 mg, with the reason of the amendment', () => {
    const dose = doseAt.get(instantOfRow(doseRows().find(({ id }) => id === AMENDED)));
    assert.equal(dose.dosage.dose.value, 18);
    const provenance = provenances.find(({ target }) => target[0].reference === nameOf(dose));
    assert.equal(provenance.reason[0].text, amended.reason);
  });

  await t.test('The places of doses and findings are coded in both systems', () => {
    const doses = doseRows().map((row) => [row, doseAt.get(instantOfRow(row)).dosage.site]);
    const seen = findings().filter(({ region }) => region);
    for (const [place, site] of [...doses, ...seen.map((one) => [one, observedAt.get(instantOfEntry(one)).bodySite])]) {
      assert.deepEqual([codeIn(site, ACT_SITE), codeIn(site, SNOMED)], siteCodes(place), JSON.stringify(place));
      assert.ok(site.text.startsWith(`${place.side} ${place.region}`), site.text);
    }
  });

  await t.test('Every dose given went under the skin', () => {
    const given = administrations.filter(({ status }) => status !== 'not-done');
    assert.equal(given.length, 39);
    for (const { dosage } of given) assert.equal(codeIn(dosage.route, SNOMED), '34206005'); // Subcutaneous route
  });

  await t.test('Everything is about the patient whom the clinic found by the number it had issued', () => {
    for (const { subject } of [...administrations, ...observations]) assert.equal(subject.reference, 'Patient/p1');
  });

  await t.test('Each entry names the carer who gave it or saw it', () => {
    for (const row of doseRows()) {
      const { performer } = doseAt.get(instantOfRow(row));
      assert.deepEqual(performer.map(({ actor }) => actor.reference), [`RelatedPerson/${row.by}`]);
    }
    for (const one of findings()) {
      const { performer } = observedAt.get(instantOfEntry(one));
      assert.deepEqual(performer.map(({ reference }) => reference), [`RelatedPerson/${one.by}`]);
    }
  });

  await t.test('Everything is marked as reported by somebody close to the patient', () => {
    for (const { meta } of [...administrations, ...observations, ...provenances]) {
      assert.deepEqual(meta.security.map(({ code }) => code), ['PACQRPT']);
    }
  });

  await t.test('A dose not given says why and when it was due, and has no dosage', () => {
    const due = later().filter(({ type }) => type === 'dose_not_given');
    assert.equal(due.length, 4);
    for (const one of due) {
      const { status, statusReason, dosage, note } = doseAt.get(Date.parse(one.time));
      assert.deepEqual([status, dosage, note[0].text], ['not-done', undefined, one.note]);
      assert.ok(statusReason[0].coding.some(({ code }) => code === one.why));
    }
  });

  await t.test('What the family wrote beside a dose arrives word for word', () => {
    for (const row of doseRows()) {
      const notes = doseAt.get(instantOfRow(row)).note?.map(({ text }) => text) ?? [];
      assert.deepEqual(notes, row.note === '' ? [] : [row.note]);
    }
  });

  await t.test('A finding points to the very dose it belongs to', () => {
    const linked = findings().filter(({ dose }) => dose);
    assert.equal(linked.length, 1);
    assert.equal(observations.filter(({ partOf }) => partOf).length, 1);
    const dose = doseAt.get(instantOfRow(doseRows().find(({ id }) => id === linked[0].dose)));
    const { partOf } = observedAt.get(instantOfEntry(linked[0]));
    assert.deepEqual(partOf.map(({ reference }) => reference), [nameOf(dose)]);
  });

  await t.test('The measures of a finding are those that were taken, and what has gone is said to have gone', () => {
    const measured = findings().filter(({ length_cm: length }) => length !== undefined);
    assert.equal(measured.length, 13);
    for (const { length_cm: length, width_cm: width, ...one } of measured) {
      const observation = observedAt.get(instantOfEntry(one));
      assert.equal(observation.valueBoolean, length > 0);
      for (const [word, cm] of [['length', length], ['width', width]]) {
        const quantity = component(observation, word)?.valueQuantity;
        assert.deepEqual([quantity?.value, quantity?.code], [cm, cm === undefined ? undefined : 'cm']);
      }
    }
  });

  await t.test('The second 01:30 of the night the clocks went back is kept apart from the first', () => {
    const nosebleed = observedAt.get(Date.UTC(2026, 9, 25, 1, 30));
    assert.equal(component(nosebleed, 'duration').valueQuantity.value, 6);
  });

  await t.test('Weights are body weights in kilograms', () => {
    const weights = findings().filter(({ type }) => type === 'weight');
    assert.deepEqual(weights.map(({ kg }) => kg), [18.4, 18.9]);
    for (const one of weights) {
      const { code, valueQuantity } = observedAt.get(instantOfEntry(one));
      assert.ok(code.coding.some((coding) => coding.system === 'http://loinc.org' && coding.code === '29463-7'));
      assert.deepEqual(valueQuantity, { value: one.kg, unit: 'kg', system: UCUM, code: 'kg' });
    }
  });

  await t.test('An opened vial arrives with its lot and its expiry date', () => {
    const vials = findings().filter(({ type }) => type === 'vial_opened');
    assert.equal(vials.length, 3);
    for (const one of vials) {
      const observation = observedAt.get(instantOfEntry(one));
      assert.equal(component(observation, 'vial-label').valueString, one.vial);
      assert.equal(component(observation, 'lot-number').valueString, one.lot);
      assert.equal(component(observation, 'expiry-date').valueDateTime, one.expires);
    }
  });
});

test('A second pass sends nothing', async (t) => {
  const home = await startCrossedHome(t);
  const { writes } = await home.clinic.counts();
  const { pass } = await home.pass();
  assert.equal(pass.confirmed, 0);
  assert.equal((await home.clinic.counts()).writes, writes);
});

test('The same files handed in again are recognised, and nothing is sent', async (t) => {
  const home = await startCrossedHome(t);
  const { writes } = await home.clinic.counts();
  const again = [
    ...(await home.handIn(demoFile('doses.csv'), CSV_TYPE)),
    ...(await home.handIn(demoFile('findings.json'), JSON_TYPE)),
    ...(await home.handIn(demoFile('later.ndjson'), NDJSON_TYPE)),
  ];
  assert.deepEqual(countBy(again, ({ answer }) => answer), { already_there: 39 + 19 + 7 });
  await home.drop('doses.csv', demoFile('doses.csv'));
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.confirmed, queue.pass.confirmed], [0, ENTRIES, 0]);
  assert.equal((await home.clinic.counts()).writes, writes);
});

test('An amendment replaces the one resource it is about and adds its Provenance', async (t) => {
  const home = await startCrossedHome(t);
  const before = await shelves(home.clinic);
  const dose = { type: 'dose_given', person: 'juniper', time: '2026-10-13T22:15:00+01:00', by: 'marlow' };
  const what = { medicine: 'enoxaparin-100', amount: '0.17 mL', region: 'abdomen', side: 'right' };
  const how = { action: 'amend', recorded: '2026-11-02T09:00:00Z', recorded_by: 'tove', reason: 'Misread' };
  const amendment = { ...how, id: 'dose-2026-10-13-evening', ...dose, ...what };
  const [answer] = await home.handIn(JSON.stringify(amendment), JSON_TYPE);
  assert.deepEqual([answer.answer, answer.revision], ['accepted', 2]);
  await home.pass();

  const after = await shelves(home.clinic);
  const { added, changed } = difference(before, after);
  assert.equal(changed.length, 1);
  const [was, is] = [before.get(changed[0]), after.get(changed[0])];
  assert.deepEqual([was.dosage.dose.value, is.dosage.dose.value, is.status], [18, 17, 'completed']);
  assert.deepEqual(is.identifier, was.identifier);
  assert.equal(is.identifier[0].value, `urn:uuid:${answer.id}`);
  assert.equal(added.length, 1);
  const provenance = after.get(added[0]);
  assert.equal(provenance.resourceType, 'Provenance');
  assert.deepEqual([provenance.target[0].reference, provenance.reason[0].text], [changed[0], 'Misread']);
});

test('A retraction marks the one resource it is about as entered in error', async (t) => {
  const home = await startCrossedHome(t);
  const before = await shelves(home.clinic);
  const { entries } = await home.get('/v1/entries?limit=1');
  const retraction = { action: 'retract', id: entries[0].id, recorded: '2026-11-02T09:00:00Z', recorded_by: 'tove' };
  await home.handIn(JSON.stringify(retraction), JSON_TYPE);
  await home.pass();

  const after = await shelves(home.clinic);
  const { added, changed } = difference(before, after);
  assert.deepEqual(changed, [entries[0].deliveries[0].receipts[0].resource]);
  assert.deepEqual([before, after].map((held) => held.get(changed[0]).status), ['completed', 'entered-in-error']);
  assert.equal(after.get(changed[0]).identifier[0].value, `urn:uuid:${entries[0].id}`);
  assert.equal(added.length, 1);
  const provenance = after.get(added[0]);
  const [{ reference }] = provenance.target;
  assert.deepEqual([reference, provenance.agent[0].who.reference], [changed[0], 'RelatedPerson/tove']);
});

const UNWANTED = 'at the swimming pool';
const CLINICS_WORDS = 'This clinic refuses the content of this resource';

/** Five doses, of which the clinic refuses the third for its note. */
async function startHomeWithOneRefused(t) {
  const home = await startHome(t, { clinicOptions: ['--refuse-note', UNWANTED] });
  const rows = ['id,type,person,time,by,medicine,amount,region,side,note'];
  for (let day = 1; day <= 5; ++day) {
    const note = day === 3 ? `Given ${UNWANTED}` : '';
    rows.push(`d${day},dose_given,juniper,2026-11-0${day}T08:00Z,tove,enoxaparin-100,0.2 mL,thigh,left,${note}`);
  }
  const answers = await home.handIn(rows.join('\n'), CSV_TYPE);
  const queue = await home.pass();
  return { home, queue, refused: answers[2].id };
}

test('One refused entry is set aside with the clinic\'s words, and the other four arrive', async (t) => {
  const { home, queue, refused } = await startHomeWithOneRefused(t);
  assert.deepEqual([queue.waiting, queue.confirmed, queue.set_aside], [0, 4, 1]);
  const days = (await home.clinic.all('MedicationAdministration')).map((dose) => dose.effectiveDateTime.slice(8, 10));
  assert.deepEqual(days.sort(), ['01', '02', '04', '05']);
  const { entries } = await home.get('/v1/deliveries?state=set_aside');
  assert.deepEqual(entries.map(({ id }) => id), [refused]);
  assert.ok(entries[0].deliveries[0].words.includes(CLINICS_WORDS), entries[0].deliveries[0].words);
});

test('The command shows what was set aside, why, and by which id to release it', async (t) => {
  const { home, refused } = await startHomeWithOneRefused(t);
  const { code, stdout } = await home.command('set-aside');
  assert.equal(code, 0);
  for (const words of ['2026-11-03 08:00', 'dose 0.2 mL', refused, CLINICS_WORDS, 'nightferry release']) {
    assert.ok(stdout.includes(words), `${words} is missing from\n${stdout}`);
  }
});

test('What was set aside arrives once the clinic takes it and it was released', async (t) => {
  const { home, refused } = await startHomeWithOneRefused(t);
  await home.clinic.setOptions({ 'refuse-note': '' });
  assert.equal((await home.pass()).set_aside, 1); // not by itself
  const { code, stdout } = await home.command('release', refused);
  assert.equal(code, 0);
  assert.match(stdout, /^released 1\b/);
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.confirmed, queue.set_aside], [0, 5, 0]);
  assert.equal(await home.clinic.count('MedicationAdministration'), 5);
});

test('What was set aside is closed with who, when and why once a person has settled it, and is not sent', async (t) => {
  const { home, refused } = await startHomeWithOneRefused(t);
  const settle = (by, reason) =>
    home.command('settle', refused, '--clinic', 'nowhere', '--by', by, ...(reason ? ['--reason', reason] : []));
  assert.equal((await settle('marlow')).code, 64); // without a reason
  const stranger = await settle('marl', 'They wrote it down themselves');
  assert.equal(stranger.code, 65);
  assert.match(stranger.stderr, /'marl' is not a carer this hub knows; its settings name marlow and tove/);
  assert.equal((await home.queue()).set_aside, 1);

  const why = 'They wrote it down themselves';
  const { code, stdout } = await settle('marlow', why);
  assert.deepEqual([code, stdout.includes(`closed ${refused}`)], [0, true]);
  const { rows } = await home.get(`/v1/audit?limit=5000&entry=${refused}`);
  const digest = createHash('sha256').update(why).digest('hex');
  assert.equal(rows.find(({ event }) => event === 'closed').detail, `by marlow reason sha256:${digest}`);
  await home.clinic.setOptions({ 'refuse-note': '' });
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.confirmed, queue.set_aside, queue.closed], [0, 4, 0, 1]);
  assert.equal(await home.clinic.count('MedicationAdministration'), 4);
  assert.equal((await home.command('set-aside')).stdout, 'Nothing is set aside.\n');
  assert.match((await home.command('queue')).stdout, /4 entries; 0 waiting, 0 set aside, 1 settled by a person/);
  const shown = (await home.command('show', refused)).stdout;
  for (const words of ['settled by a person', CLINICS_WORDS, 'by marlow, 20', 'They wrote it down themselves']) {
    assert.ok(shown.includes(words), `${words} is missing from\n${shown}`);
  }
  assert.equal((await settle('marlow', 'once more')).code, 69);
});

const WEIGHTS = ['2026-11-02', '2026-11-03', '2026-11-04'].map((day, i) => ({
  type: 'weight',
  person: 'juniper',
  time: `${day}T07:30:00Z`,
  by: 'marlow',
  kg: 18.5 + i,
}));

/** Requests a pass and waits for its first failure; returns the queue then. */
async function failOnce(home) {
  await home.requestPass();
  return home.waitFor('a failure is counted', async () => {
    const queue = await home.queue();
    return queue.pass.failures > 0 ? queue : undefined;
  });
}

/** Requests passes until the next attempt lies further away than any wait of these tests. */
async function failUntilTheNextAttemptIsFar(home) {
  return home.waitFor('a next attempt that is far away', async () => {
    await home.requestPass();
    const queue = await home.queue();
    const next = Date.parse(queue.pass.next_attempt);
    return next > Date.now() + 120_000 && queue.pass.failures > 0 ? queue : undefined;
  });
}

test('While the clinic is away entries wait, failures are counted and the next attempt is announced', async (t) => {
  const home = await startHome(t);
  await home.clinic.setOptions({ down: true });
  await home.handIn(JSON.stringify(WEIGHTS), JSON_TYPE);
  const queue = await failOnce(home);
  assert.deepEqual([queue.waiting, queue.confirmed, queue.set_aside, queue.pass.running], [3, 0, 0, true]);
  assert.ok(Date.parse(queue.pass.next_attempt) >= Date.parse(queue.pass.started));
  const { entries } = await home.get('/v1/deliveries?state=waiting');
  assert.deepEqual(entries.map(({ kg }) => kg), [18.5, 19.5, 20.5]);
  const { stdout } = await home.command('queue');
  assert.match(stdout, /3 waiting/);
  assert.equal(await home.clinic.count('Observation'), 0);
});

test('After an outage a requested pass does not wait for the announced attempt', async (t) => {
  const home = await startHome(t);
  await home.clinic.setOptions({ down: true });
  await home.handIn(JSON.stringify(WEIGHTS), JSON_TYPE);
  await failUntilTheNextAttemptIsFar(home);
  assert.equal((await home.queue()).waiting, 3);
  await home.clinic.setOptions({ down: false });
  const { code, stdout, stderr } = await home.command('pass', '--wait', '60');
  assert.equal(code, 0, stdout + stderr);
  assert.match(stdout, /it has everything that was recorded \(3 entries\)/);
  assert.equal(await home.clinic.count('Observation'), 3);
});

test('A hub that never reached its clinic before sends everything once it gets through', async (t) => {
  const home = await startHome(t, { clinicIsDown: true });
  await home.handIn(JSON.stringify(WEIGHTS), JSON_TYPE);
  await failUntilTheNextAttemptIsFar(home);
  const queue = await home.queue();
  assert.deepEqual([queue.waiting, queue.set_aside], [3, 0]);
  await home.clinic.setOptions({ down: false });
  const { code, stdout, stderr } = await home.command('pass', '--wait', '60');
  assert.equal(code, 0, stdout + stderr);
  assert.match(stdout, /it has everything that was recorded \(3 entries\)/);
  assert.equal(await home.clinic.count('Observation'), 3);
});

test('An outage while nothing waits is forgotten with the next pass that gets through', async (t) => {
  const home = await startHome(t);
  await home.clinic.setOptions({ down: true });
  await failOnce(home);
  await home.clinic.setOptions({ down: false });
  await home.requestPass();
  const { pass } = await home.rest();
  assert.deepEqual([pass.failures, pass.next_attempt], [undefined, undefined]);
});

test('A pass that ended announces no next attempt, whatever went wrong before it ended', async (t) => {
  const home = await startHome(t);
  await home.handIn(JSON.stringify(WEIGHTS), JSON_TYPE);
  await home.clinic.setOptions({ down: true });
  await failOnce(home);
  await home.clinic.setOptions({ down: false, token: 'nobody knows it' });
  await home.requestPass();
  const { waiting, pass } = await home.rest();
  assert.equal(waiting, 3);
  assert.match(pass.words, /^stopped: HTTP 401/); // the next one is the coming night's
  assert.equal(pass.next_attempt, undefined);
});

test('A clinic whose certificate comes from another authority gets nothing, and the queue says why', async (t) => {
  const home = await startHome(t, { trustsClinic: false });
  await home.handIn(JSON.stringify(WEIGHTS), JSON_TYPE);
  const { waiting, pass } = await home.pass();
  assert.equal(waiting, 3);
  assert.match(pass.words, /the certificate of 127\.0\.0\.1 is not trusted/);
  const { stdout } = await home.command('queue');
  assert.ok(stdout.includes('is not trusted'), stdout);
  assert.equal((await home.clinic.counts()).requests, 0);
});
