// The slots of every time zone, held against zone rules from elsewhere. The hub reads this system's tzdata with a C++
// library. Here zdump shows the rules in it, Intl has to agree on them, what slots follow from them is computed anew by
// RFC 5545 section 3.3.5, and Intl says what the clock shows at each.
//
// Intl's copy of the rules may be of another version, and the younger of two knows more. The zones on which they
// disagree are printed, and their slots held against zdump alone. How many may disagree on the time before the older
// version's year is limited: corrections of the past are rare. Copies of one version have to agree on everything.
//
//     NIGHTFERRY_BUILD=../../build node --test zones.test.mjs

import assert from 'node:assert/strict';
import { resolve } from 'node:path';
import test from 'node:test';

import { BEGIN, DAY, END, firstDifference, HOUR, iso, nameInIntl, readSystem, remembered } from './zone-rules.mjs';
import { rulesByIntl, rulesOfSystem, run, shownAt, startOf } from './zone-rules.mjs';

const PROGRAM = resolve(process.env.NIGHTFERRY_BUILD ?? '../../build', 'tests', 'slots_by_zone');

const AT_EIGHT = twiceDaily(8);
// Most clocks are changed at these hours. What Greenland skips since 2024 lies before midnight, and is meant after it.
const AROUND_CHANGES = [0, 0.5, 1, 1.5, 2, 2.5, 3, 11, 11.5].map(twiceDaily);

const UNKNOWN_MAX = 8; // Zones that Intl does not know; with its rules of 2022e beside 2025b here there are two.
const CORRECTED_MAX = 10; // Zones whose past differs between versions; with those two there are four.
const CONFIRMED_MIN = 300; // tzdata has some 340 zones, and 250 more names for them.
const KIND_MIN = 1000; // So many slots of each kind have to be met, or the test has tested nothing.

const textAtEight = remembered((rules) => textOf(slotsFrom(JSON.parse(rules), AT_EIGHT, BEGIN, END)));

const system = readSystem();
const rules = rulesOfSystem(system.names);
const confirmed = new Set(); // The zones on whose rules Intl agrees.

test('Intl and this system have the same rules, apart from those between two versions', (t) => {
  const versions = [system.version, process.versions.tz];
  const isSame = versions[0] === versions[1];
  const judgedUntil = isSame ? Infinity : Math.min(...versions.map((version) => startOf(parseInt(version))));
  const [unknown, corrected, later] = [[], [], []];
  for (const zone of system.names) {
    const name = nameInIntl(zone);
    const at = name === undefined ? undefined : firstDifference(rules.get(zone), rulesByIntl(name));
    if (name === undefined) unknown.push(zone);
    else if (at === undefined) confirmed.add(zone);
    else (at < judgedUntil ? corrected : later).push(`${zone} from ${iso(at)}`);
  }
  t.diagnostic(`zone rules ${versions[0]} of this system, ${versions[1]} of Node ${process.version}`);
  t.diagnostic(`${confirmed.size} zones have the same rules`);
  t.diagnostic(`unknown to Intl: ${listed(unknown)}`);
  t.diagnostic(`other rules before the older version's year: ${listed(corrected)}`);
  t.diagnostic(`other rules since then: ${listed(later)}`);
  t.diagnostic(`named in tzdata.zi without a file: ${system.missing.length}`);
  assert.ok(confirmed.size >= CONFIRMED_MIN);
  assert.ok(unknown.length <= UNKNOWN_MAX, listed(unknown));
  assert.ok(corrected.length <= (isSame ? 0 : CORRECTED_MAX), listed(corrected));
});

test('A zone that does not exist is told from a zone without slots', () => {
  const questions = ['Exampleland/Nowhere 08:00 0 86400', 'UTC 08:00 0 28800', 'UTC 08:00 28799 28800 28801'];
  assert.deepEqual(ask(questions), ['unknown\n', '', '28800 0\n']);
});

// They are asked for in pieces from one clock change to the next, so that a slot at a border is lost or doubled if
// borders are wrong.
test('The slots at eight of 28 years are those that follow from the rules', (t) => {
  const histories = new Set();
  for (const batch of batches(system.names, 30)) {
    const answers = ask(batch.map((zone) => question(zone, AT_EIGHT, [BEGIN, ...changesOf(zone), END])));
    for (const [index, zone] of batch.entries()) {
      const answer = answers[index];
      if (answer !== textAtEight(JSON.stringify(rules.get(zone)))) assertSame(zone, AT_EIGHT, BEGIN, END, answer);
      if (!histories.has(answer)) assertSteady(zone, answer);
      histories.add(answer);
    }
  }
  t.diagnostic(`${histories.size} histories of slots in ${system.names.length} zones`);
});

test('Clock times that are skipped or come twice are meant as RFC 5545 says', (t) => {
  const met = { once: 0, twice: 0, skipped: 0, border: 0 };
  const oneOfEach = new Map(system.names.map((zone) => [JSON.stringify(rules.get(zone)), zone]));
  const cases = [...oneOfEach.values()].flatMap(casesOf);
  for (const batch of batches(cases, 5000)) {
    const answers = ask(batch.map(({ zone, order, from, change, to }) => question(zone, order, [from, change, to])));
    for (const [index, { zone, order, from, change, to }] of batch.entries()) {
      for (const slot of assertSame(zone, order, from, to, answers[index])) {
        if (confirmed.has(zone)) assertMeant(zone, slot);
        met[slot.kind] += 1;
        if (slot.at === change) met.border += 1;
      }
    }
  }
  t.diagnostic(`${cases.length} orders around clock changes; slots ${JSON.stringify(met)}`);
  for (const [kind, count] of Object.entries(met)) assert.ok(count >= KIND_MIN, kind);
});

// ---- The slots that follow from the rules --------------------------------------------------------------------------

function twiceDaily(hour) {
  return [hour * HOUR, (hour + 12) * HOUR];
}

/** All slots of an order with from <= at < to. */
function slotsFrom(spans, order, from, to) {
  const slots = [];
  let index = 0; // Of the first span that ends with a later clock time.
  const advanceTo = (clock) => {
    while (index + 1 < spans.length && spans[index + 1].from + spans[index].offset <= clock) index += 1;
  };
  for (let day = Math.floor(from / DAY - 2) * DAY; day < to + 2 * DAY; day += DAY) {
    advanceTo(day);
    const dayIsLeftOut = index > 0 && spans[index].from + spans[index].offset >= day + DAY;
    for (const clock of dayIsLeftOut ? [] : order.map((time) => day + time)) {
      advanceTo(clock);
      const slot = slotAt(clock, spans[index - 1], spans[index], spans[index + 1]);
      if (from <= slot.at && slot.at < to) slots.push(slot);
    }
  }
  return slots;
}

/** The slot of a clock time that is not over when `after` begins, and was when `here` began. */
function slotAt(clock, before, here, after) {
  if (before !== undefined && clock < here.from + here.offset) {
    return { kind: 'skipped', clock, at: clock - before.offset, offset: here.offset, change: here.from };
  }
  const again = after === undefined ? undefined : clock - after.offset;
  const kind = again >= after?.from ? 'twice' : 'once';
  return { kind, clock, at: clock - here.offset, offset: here.offset, again };
}

function changesOf(zone) {
  return rules.get(zone).map(({ from }) => from).filter((from) => BEGIN < from && from < END);
}

/** An order at each of the usual hours, on the days around each clock change. */
function casesOf(zone) {
  return changesOf(zone).flatMap((change) => (
    AROUND_CHANGES.map((order) => ({ zone, order, from: change - DAY, change, to: change + DAY }))
  ));
}

/** Holds an answer against the slots that follow from the rules, and returns those. */
function assertSame(zone, order, from, to, answer) {
  const slots = slotsFrom(rules.get(zone), order, from, to);
  const wanted = textOf(slots);
  if (answer === wanted) return slots;
  const [ours, theirs] = [answer, wanted].map((text) => text.split('\n'));
  const line = ours.findIndex((one, index) => one !== theirs[index]);
  const [is, wants] = [ours, theirs].map((lines) => (lines[line] ? slotText(lines[line]) : 'none'));
  return assert.fail(`${question(zone, order, [from, to])}: slot ${line} is ${is}, expected ${wants}`);
}

/** Intl has to show the clock time at the slot, or what becomes of it when the clock passes over it. */
function assertMeant(zone, { kind, clock, at, change, again }) {
  let right = shownAt(zone, at) === clock;
  if (kind === 'twice') right &&= at < again && shownAt(zone, again) === clock;
  if (kind === 'skipped') {
    const before = change - 1; // From there on as much time passes as if the clock were left alone.
    const shownBefore = shownAt(zone, before);
    right = shownBefore < clock && clock < shownAt(zone, change) && at - before === clock - shownBefore;
  }
  if (!right) assert.fail(`${zone}: ${iso(clock)} on the clock is not meant at ${iso(at)}`);
}

/** By their own offsets the slots at eight are twelve hours apart on the clock, and every day has both. */
function assertSteady(zone, answer) {
  const slots = answer.trimEnd().split('\n').map((line) => line.split(' ').map(Number));
  for (const [index, [at, minutes]] of slots.entries()) {
    const [lastAt, lastMinutes] = slots[index - 1] ?? [at - 12 * HOUR, minutes];
    const put = (minutes - lastMinutes) * 60; // How far the clock was put forward.
    const dayIsLeftOut = put === DAY;
    const apart = (dayIsLeftOut ? 36 : 12) * HOUR - put;
    const isAtEight = AT_EIGHT.includes((at + minutes * 60) % DAY);
    if (!isAtEight || at <= lastAt || at - lastAt !== apart) assert.fail(`${zone}: the slot at ${iso(at)}`);
  }
  const [[first], [last]] = [slots[0], slots.at(-1)];
  assert.ok(BEGIN <= first && first < BEGIN + 12 * HOUR, zone);
  assert.ok(END - 12 * HOUR <= last && last < END, zone);
}

// ---- Questions and answers -----------------------------------------------------------------------------------------

function question(zone, order, borders) {
  const clocks = order.map((clock) => iso(clock).slice(11, 16));
  return `${zone} ${clocks.join(',')} ${borders.join(' ')}`;
}

function ask(questions) {
  const answers = run(PROGRAM, [], questions.map((line) => `${line}\n`).join('')).split('end\n');
  assert.equal(answers.pop(), '');
  assert.equal(answers.length, questions.length);
  return answers;
}

function textOf(slots) {
  return slots.map(({ at, offset }) => `${at} ${offset / 60}\n`).join('');
}

function slotText(line) {
  const [at, minutes] = line.split(' ').map(Number);
  return `${iso(at)} (${minutes} minutes)`;
}

function listed(zones) {
  return zones.join(', ') || 'none';
}

function batches(items, size) {
  const count = Math.ceil(items.length / size);
  return Array.from({ length: count }, (_, index) => items.slice(index * size, (index + 1) * size));
}
