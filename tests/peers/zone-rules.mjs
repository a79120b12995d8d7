// The rules of time zones, from when on each has which offset, from two sources: zdump, which shows what is in this
// system's tzdata, and Node's Intl, which is ICU's code with its own copy of the rules.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

const TZDATA = '/usr/share/zoneinfo';
const NO_ZONE = 'Factory'; // What tzdata has for a machine whose zone has not been set; Intl may know it or not.

// Instants are in seconds since 1970; what a clock shows is, too, as if it were in UTC.
export const HOUR = 3600;
export const DAY = 24 * HOUR;
export const BEGIN = startOf(2000);
export const END = startOf(2028);
const STEP = 4 * DAY; // Intl is asked at such steps: a clock changed and changed back within one is a false alarm.
const RULES_BEGIN = BEGIN - STEP;

const offsetFormat = remembered(
  (zone) => new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' }),
);
const clockFormat = remembered((zone) => {
  const date = { year: 'numeric', month: 'numeric', day: 'numeric' };
  const time = { hour: 'numeric', minute: 'numeric', second: 'numeric', hourCycle: 'h23' };
  return new Intl.DateTimeFormat('en-US', { timeZone: zone, ...date, ...time });
});

// ---- This system ---------------------------------------------------------------------------------------------------

// Packagers may leave old names out or put them into a package of their own; tzdata.zi names them nevertheless.
export function readSystem() {
  const text = readFileSync(join(TZDATA, 'tzdata.zi'), 'utf8');
  const lines = text.split('\n').map((line) => line.split(' '));
  const named = [
    ...lines.filter(([kind]) => kind === 'Z').map(([, name]) => name),
    ...lines.filter(([kind]) => kind === 'L').map(([, , name]) => name),
  ].filter((name) => name !== NO_ZONE);
  const isThere = (name) => existsSync(join(TZDATA, name));
  return {
    version: /^# version (\S+)/.exec(text)[1],
    names: named.filter(isThere),
    missing: named.filter((name) => !isThere(name)),
  };
}

/** The rules of each zone as zdump reads them. Files that are alike are read once. */
export function rulesOfSystem(zones) {
  const contents = new Map(zones.map((zone) => [zone, readFileSync(join(TZDATA, zone), 'latin1')]));
  const oneOfEach = new Map(zones.map((zone) => [contents.get(zone), zone]));
  const output = run('zdump', ['-i', '-c', '1999,2029', ...oneOfEach.values()]);
  const sections = output.split(/^TZ="/m).slice(1).map((section) => section.split('"\n'));
  const found = new Map(sections.map(([zone, lines]) => [zone, rulesFrom(lines.trimEnd().split('\n'))]));
  return new Map(zones.map((zone) => [zone, found.get(oneOfEach.get(contents.get(zone)))]));
}

// Of lines like "2000-03-26 02:30 +11", with tabs: what the clock shows just after a change, and its offset then. The
// first line has no time.
function rulesFrom(lines) {
  const spans = [];
  for (const line of lines) {
    const [date, time, offsetText] = line.split('\t');
    const [, sign, ...parts] = /^([+-])(\d\d)(\d\d)?(\d\d)?$/.exec(offsetText);
    const offset = secondsOf(sign, ...parts);
    const from = date === '-' ? RULES_BEGIN : Math.max(RULES_BEGIN, clockOf(date, time) - offset);
    if (spans.at(-1)?.from === from) spans.pop();
    if (from <= END && spans.at(-1)?.offset !== offset) spans.push({ from, offset });
  }
  return spans;
}

function clockOf(date, time) {
  const [hours, minutes = '00', seconds = '00'] = time.split(':');
  return Date.parse(`${date}T${hours}:${minutes}:${seconds}Z`) / 1000;
}

// ---- Intl ----------------------------------------------------------------------------------------------------------

/** What Intl calls the zone, so that a zone with many names is explored once; undefined when it does not know it. */
export function nameInIntl(zone) {
  try {
    return offsetFormat(zone).resolvedOptions().timeZone;
  } catch (error) {
    assert.ok(error instanceof RangeError, error);
    return undefined;
  }
}

/** The rules by Intl's own name of a zone. */
export const rulesByIntl = remembered((zone) => {
  const spans = [{ from: RULES_BEGIN, offset: offsetAt(zone, RULES_BEGIN) }];
  for (let start = RULES_BEGIN; start < END; start += STEP) {
    const end = Math.min(start + STEP, END);
    while (spans.at(-1).offset !== offsetAt(zone, end)) {
      const from = findChange(zone, Math.max(start, spans.at(-1).from), end);
      spans.push({ from, offset: offsetAt(zone, from) });
    }
  }
  return spans;
});

/** The first instant after `before` with another offset, when `after` has another. */
function findChange(zone, before, after) {
  const offset = offsetAt(zone, before);
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2);
    if (offsetAt(zone, middle) === offset) before = middle;
    else after = middle;
  }
  return after;
}

function offsetAt(zone, instant) {
  const text = offsetFormat(zone).format(instant * 1000);
  const [, sign, ...parts] = /GMT(?:([+-])(\d\d):(\d\d)(?::(\d\d))?)?$/.exec(text);
  return sign === undefined ? 0 : secondsOf(sign, ...parts);
}

/** What the clock shows at an instant, said by Intl without a detour by offsets. */
export function shownAt(zone, instant) {
  const parts = clockFormat(zone).formatToParts(instant * 1000);
  const { year, month, day, hour, minute, second } = Object.fromEntries(parts.map(({ type, value }) => [type, +value]));
  return Date.UTC(year, month - 1, day, hour, minute, second) / 1000;
}

// ---- Both ----------------------------------------------------------------------------------------------------------

/** The instant from which on only one of two lists of rules is true. */
export function firstDifference(ours, theirs) {
  const length = Math.max(ours.length, theirs.length);
  for (let index = 0; index < length; index += 1) {
    const [one, other] = [ours[index], theirs[index]];
    if (one?.from === other?.from && one?.offset === other?.offset) continue;
    return Math.min(one?.from ?? Infinity, other?.from ?? Infinity);
  }
  return undefined;
}

function secondsOf(sign, hours, minutes = '0', seconds = '0') {
  const size = Number(hours) * HOUR + Number(minutes) * 60 + Number(seconds);
  return sign === '-' ? 0 - size : size;
}

export function startOf(year) {
  return Date.UTC(year) / 1000;
}

export function iso(seconds) {
  return new Date(seconds * 1000).toISOString().replace('.000', '');
}

export function remembered(compute) {
  const known = new Map();
  return (key) => {
    if (!known.has(key)) known.set(key, compute(key));
    return known.get(key);
  };
}

/** What a program writes to its standard output, given its standard input. */
export function run(program, args, input = '') {
  const done = spawnSync(program, args, { input, encoding: 'latin1', maxBuffer: 1 << 28 });
  assert.ifError(done.error);
  assert.equal(done.status, 0, done.stderr);
  return done.stdout;
}
