// What the hub computes from a family's entries, through the real programs: the figures it reports, the flags a person
// settles, and the summaries that the clinic holds in the end. The numbers were worked out by hand from the demo's table
// of injections.

import assert from 'node:assert/strict';
import test from 'node:test';

import { CSV_TYPE, demoFile, JSON_TYPE, NDJSON_TYPE, startHome } from './hub.mjs';

const FORTNIGHT = ['--from', '2026-10-12', '--to', '2026-11-01'];

async function report(home, options = FORTNIGHT) {
  const { code, stdout } = await home.command('report', '--json', ...options);
  assert.equal(code, 0, stdout);
  return JSON.parse(stdout);
}

const share = ({ n, of, percent }) => `${n}/${of} ${percent}`;

function codeOf({ code }) {
  return code.coding[0].code;
}

function component(observation, code) {
  const found = observation.component.filter((one) => codeOf(one) === code);
  assert.equal(found.length, 1, code);
  return found[0];
}

async function summaries(clinic, code) {
  const found = (await clinic.all('Observation')).filter((one) => codeOf(one) === code);
  return found.sort((a, b) => (a.effectivePeriod.start < b.effectivePeriod.start ? -1 : 1));
}

test('The fortnight is reported as it was worked out by hand', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const { figures, unresolved, vials, lesions, sites, slots, flags } = await report(home);

  await t.test('The figures', () => {
    const told = Object.fromEntries(
      ['taken', 'slots_filled', 'days_as_ordered', 'days_covered', 'near_time', 'wide_time', 'intervals', 'ordered_amount']
        .map((name) => [name, share(figures[name])]),
    );
    assert.deepEqual(told, {
      taken: '38/39 97.4',
      slots_filled: '37/39 94.9',
      days_as_ordered: '18/21 85.7',
      days_covered: '19/21 90.5',
      near_time: '34/39 87.2',
      wide_time: '36/39 92.3',
      intervals: '30/35 85.7',
      ordered_amount: '36/37 97.3',
    });
    assert.deepEqual(figures.contents, [
      { medicine: 'enoxaparin-100', given: 726, ordered: 746, unit: 'mg', percent: 97.3 },
    ]);
    assert.deepEqual([figures.longest_gap_min, figures.beyond_gap_max_min], [23 * 60 + 25, 17 * 60]);
    assert.deepEqual([slots.length, unresolved], [42, 1]);
  });

  await t.test('Vials, lesions and sites', () => {
    assert.deepEqual(vials.map(({ vial, draws, left_ml: left }) => [vial, draws, left]), [
      ['V1', 15, 0.15],
      ['V2', 14, 0.1],
      ['V3', 9, 1.11],
    ]);
    const bruise = lesions.find(({ lesion }) => lesion === 'B1');
    assert.deepEqual([bruise.lasted_min, bruise.seen_after_dose_min], [8 * 1440 + 23 * 60 + 50, 9 * 60 + 35]);
    assert.deepEqual(bruise.looks.map(({ area_cm2: area }) => area), [1.178, 3.927, 9.425, 13.744, 4.712, 0.785, 0]);
    assert.equal(sites.notes.length, 7);
  });

  await t.test('What somebody should look at', () => {
    const contact = flags.filter(({ level }) => level === 'contact').map(({ flag, state }) => `${flag} ${state}`);
    assert.deepEqual(contact.sort(), ['extra_dose open', 'missed_dose open', 'no_record open']);
  });

  await t.test('As it was known before and after a dose was written down two days late', async () => {
    const known = async (at) => {
      const { figures: then } = await report(home, ['--from', '2026-10-12', '--to', '2026-10-31', '--known-at', at]);
      return [share(then.taken), share(then.slots_filled), share(then.intervals)];
    };
    assert.deepEqual(await known('2026-11-01T08:59Z'), ['35/37 94.6', '34/37 91.9', '26/32 81.3']);
    assert.deepEqual(await known('2026-11-01T09:03Z'), ['36/37 97.3', '35/37 94.6', '28/33 84.8']);
  });

  await t.test('On one page', async () => {
    const { code, stdout } = await home.command('report', ...FORTNIGHT);
    assert.equal(code, 0);
    for (const words of ['37 of 39, 94.9 %', 'no record', '1.11 mL left', 'bruise B1', 'your clinic']) {
      assert.ok(stdout.includes(words), `${words} is missing from\n${stdout}`);
    }
  });

  await t.test('How long before a blood sample the last dose was', async () => {
    const { stdout } = await home.command('since-dose', '--at', '2026-10-23T12:00');
    assert.match(stdout, /3 h 40 min since the last recorded dose/);
    assert.match(stdout, /Too early for the clinic's window of 240 to 360 min after a dose, by 20 min/);
    const inside = (await home.command('since-dose', '--at', '2026-10-20T12:10')).stdout;
    assert.match(inside, /Inside the clinic's window/);
  });
});

test('A flag is settled once, by somebody the hub knows, and stays in the history', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const { flags } = await home.get('/v1/flags');
  const { key } = flags.find(({ flag }) => flag === 'missed_dose');
  const settle = (by) => home.command('settle-flag', key, '--by', by, '--reason', 'Rang the clinic on the 19th');
  assert.equal((await settle('marl')).code, 65);
  assert.equal((await settle('marlow')).code, 0);
  assert.notEqual((await settle('marlow')).code, 0);
  assert.ok(!(await home.get('/v1/flags')).flags.some((one) => one.key === key));
  const settled = (await home.get('/v1/flags?all=yes')).flags.find((one) => one.key === key);
  assert.deepEqual(settled.history.map(({ event }) => event), ['raised', 'settled']);
  assert.deepEqual([settled.state, settled.history[1].by], ['settled', 'marlow']);
  assert.equal(settled.history[1].words, 'Rang the clinic on the 19th');
  // The same while the hub is stopped.
  assert.equal(await home.endHub('SIGTERM'), 0);
  const { code, stdout } = await home.command('flags', '--all');
  assert.deepEqual([code, stdout.includes('[settled]')], [0, true]);
});

test('The clinic gets one summary of each closed day and week', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside, queue.confirmed], [0, 0, 62 + 21 + 3]);
  const days = await summaries(home.clinic, 'summary-of-day');
  const weeks = await summaries(home.clinic, 'summary-of-week');
  assert.equal(days.length, 21);
  const filled = weeks.map((one) => component(one, 'share-slots-filled').valueRatio);
  assert.deepEqual(
    filled.map(({ numerator, denominator }) => [numerator.value, denominator.value]),
    [[11, 12], [14, 14], [12, 13]],
  );
  const counted = (code) => days.map((day) => component(day, code).valueInteger).reduce((a, b) => a + b);
  const codes = ['ordered', 'given', 'on-time', 'early', 'late', 'very-late', 'missed', 'without-record', 'held', 'extra'];
  assert.deepEqual(codes.map((code) => counted(`doses-${code}`)), [39, 38, 34, 1, 1, 1, 1, 1, 3, 1]);
  for (const one of [...days, ...weeks]) {
    assert.deepEqual([one.device.reference, one.performer, one.status], ['Device/hub', undefined, 'final']);
    assert.deepEqual(one.meta.security.map(({ code }) => code), ['DEVRPT']);
  }
  // On the 25th the clocks went back.
  const long = days.find(({ effectivePeriod: { start } }) => start === '2026-10-25T00:00:00+01:00');
  assert.equal(long.effectivePeriod.end, '2026-10-26T00:00:00+00:00');
});

test('A dose written down later makes a new version of the same summary, and of nothing else', async (t) => {
  const home = await startHome(t, { regimen: true });
  const late = '2026-10-30,22:10';
  const lines = demoFile('doses.csv').trimEnd().split('\n');
  const [header] = lines;
  const row = lines.find((line) => line.includes(late));
  assert.ok(row, 'the dose that was written down late is no longer in the demo');
  await home.handIn(lines.filter((line) => line !== row).join('\n'), CSV_TYPE);
  await home.handIn(demoFile('findings.json'), JSON_TYPE);
  await home.handIn(demoFile('later.ndjson'), NDJSON_TYPE);
  await home.pass();
  const before = await home.clinic.all('Observation');
  await home.handIn([header, row].join('\n'), CSV_TYPE);
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0]);
  const after = await home.clinic.all('Observation');
  assert.equal(after.length, before.length);
  const changed = after.filter(({ id, meta }) => before.find((one) => one.id === id).meta.versionId !== meta.versionId);
  assert.deepEqual(changed.map((one) => [codeOf(one), one.effectivePeriod.start]).sort(), [
    ['summary-of-day', '2026-10-30T00:00:00+00:00'],
    ['summary-of-week', '2026-10-26T00:00:00+00:00'],
  ]);
  for (const one of changed) {
    const was = before.find(({ id }) => id === one.id);
    const given = (resource) => component(resource, 'doses-given').valueInteger;
    assert.deepEqual([given(one) - given(was), one.status], [1, 'amended']);
    assert.equal(component(one, 'doses-without-record').valueInteger, component(was, 'doses-without-record').valueInteger - 1);
  }
});

test('A day of which nothing can be calculated says so', async (t) => {
  const home = await startHome(t, { regimen: true });
  const hold = { type: 'dose_not_given', person: 'juniper', by: 'marlow', medicine: 'enoxaparin-100', why: 'clinic_hold' };
  const times = ['2026-10-13T08:00:00+01:00', '2026-10-13T20:00:00+01:00'];
  await home.handIn(JSON.stringify(times.map((time) => ({ ...hold, time, recorded: time }))), JSON_TYPE);
  await home.pass();
  const days = await summaries(home.clinic, 'summary-of-day');
  const held = days.find(({ effectivePeriod: { start } }) => start.startsWith('2026-10-13'));
  const filled = component(held, 'share-slots-filled');
  assert.equal(filled.valueRatio, undefined);
  assert.equal(filled.dataAbsentReason.coding[0].code, 'not-applicable');
  assert.match(held.note[0].text, /cannot be calculated/);
  assert.equal(component(held, 'doses-held').valueInteger, 2);
});
