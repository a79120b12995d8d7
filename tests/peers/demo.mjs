// What the demo fortnight says, read without any of the daemon's code: its tables, its times, its doses.

import assert from 'node:assert/strict';

import { demoFile } from './hub.mjs';

/** Of the 39 doses in doses.csv, the one that later.ndjson retracts and the one it amends, by their labels. */
export const RETRACTED = 'dose-2026-10-17-evening-tove';
export const AMENDED = 'dose-2026-10-19-morning';

// Counted by hand: doses.csv has 39 doses given, of which later.ndjson retracts one; later.ndjson has 4 not given;
// findings.json has 14 findings, 2 weights and 3 opened vials.
export const ADMINISTRATIONS = { completed: 38, 'entered-in-error': 1, 'not-done': 4 };
export const OBSERVATIONS = 19;
export const ENTRIES = 62;

/** The rows of doses.csv by column name, in order. */
export function doseRows() {
  const [header, ...rows] = readCsv(demoFile('doses.csv'));
  return rows.map((cells) => Object.fromEntries(header.map((name, i) => [name, cells[i]])));
}

export function findings() {
  return JSON.parse(demoFile('findings.json'));
}

export function later() {
  return demoFile('later.ndjson').trim().split('\n').map((line) => JSON.parse(line));
}

function readCsv(text) {
  const rows = [];
  for (const line of text.trimEnd().split('\n')) {
    const cells = [...`${line},`.matchAll(/(?:"((?:[^"]|"")*)"|([^",]*)),/g)];
    rows.push(cells.map(([, quoted, plain]) => quoted?.replaceAll('""', '"') ?? plain));
  }
  assert.ok(rows.every((cells) => cells.length === rows[0].length), 'a row with too many or too few cells');
  return rows;
}

// In both zones summer time ends on the last Sunday of October at 01:00 UTC (EU directive 2000/84/EC), in 2026 on the
// 25th. The fortnight reaches no other change.
const SUMMER_ENDS = Date.UTC(2026, 9, 25, 1);
const HUB_ZONE = 'Europe/Dublin';
const HOURS_AHEAD = { 'Europe/Dublin': { summer: 1, winter: 0 }, 'Europe/Athens': { summer: 3, winter: 2 } };
const HOUR = 3_600_000;

/** The instant, in milliseconds, at which the clocks of this zone showed this reading, like "2026-10-12T08:00". */
function instantOf(reading, zone) {
  const asUtc = Date.parse(`${reading}:00Z`);
  const { summer, winter } = HOURS_AHEAD[zone];
  const inSummer = asUtc - summer * HOUR;
  const instant = inSummer < SUMMER_ENDS ? inSummer : asUtc - winter * HOUR;
  assert.ok(asUtc - winter * HOUR < SUMMER_ENDS || inSummer >= SUMMER_ENDS, `${reading} was twice in ${zone}`);
  return instant;
}

/** The instant of a dose's row. */
export function instantOfRow({ date, clock, zone, recorded }) {
  const instant = instantOf(`${date}T${clock}`, zone || HUB_ZONE);
  // The family wrote `recorded` with its offset, mostly right after the dose.
  const sameDay = recorded.startsWith(date);
  const minutesLater = (Date.parse(recorded) - instant) / 60_000;
  assert.ok(!sameDay || (minutesLater >= 0 && minutesLater <= 5), `${date} ${clock} was computed wrongly`);
  return instant;
}

/** The instant of a JSON entry's time: with an offset, or in the entry's zone. */
export function instantOfEntry({ time, zone }) {
  return zone ? instantOf(time, zone) : Date.parse(time);
}

/** "0.20" mL at 100 mg/mL, exactly, as the shortest decimal: "20". No binary fraction is involved. */
export function milligramsOf(millilitres) {
  const [whole, fraction = ''] = millilitres.split('.');
  const digits = fraction.padEnd(2, '0');
  const exact = `${whole}${digits.slice(0, 2)}.${digits.slice(2)}`;
  return exact.replace(/^0+(?=\d)/, '').replace(/\.?0*$/, '');
}
