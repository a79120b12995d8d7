// A family that writes without end: records, amendments and retractions drawn from a seed, and what of them must, may
// and must not be in the logbook, told from the answers that the family got.

import assert from 'node:assert/strict';

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;

/** What the clinic refuses to hold. */
export const UNWANTED = 'at the swimming pool';

/** Numbers from 0 up to 1 that depend on the seed alone (a linear congruential generator). */
export function seededRandom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

export class Diary {
  /** id -> {id, fields, revisions, busy}; a revision is {mark, retracts, sure}, marked by its note. */
  entries = new Map();
  #random;
  #serial = 0;
  #start = Date.now();

  constructor(random) {
    this.#random = random;
  }

  /** Some records, mostly some amendments, now and then a retraction; each about another entry. */
  write(records, changes) {
    const lines = [];
    for (let i = 0; i < records; ++i) lines.push(this.#record());
    const settled = [...this.entries.values()].filter((entry) => isSettled(entry));
    for (let i = 0; i < changes && settled.length > 0; ++i) {
      const [entry] = settled.splice(this.#below(settled.length), 1);
      lines.push(this.#random() < 0.15 ? this.#retraction(entry) : this.#amendment(entry));
    }
    for (const { id } of lines) this.entries.get(id).busy = true;
    return lines;
  }

  /** These were accepted. */
  confirm(lines) {
    for (const { id, mark } of lines) {
      const entry = this.entries.get(id);
      entry.busy = false;
      entry.revisions.find((revision) => revision.mark === mark).sure = true;
    }
  }

  /** What the family hands in, without what only this diary knows. */
  static text(lines) {
    return lines.map(({ mark, ...line }) => JSON.stringify(line)).join('\n');
  }

  #record() {
    const serial = ++this.#serial;
    const kind = this.#random();
    const id = this.#uuid();
    const common = { person: 'juniper', time: this.#when(-200 * DAY + serial * 30 * MINUTE), by: 'marlow' };
    const doses = [...this.entries.values()].filter(({ fields }) => fields.type === 'dose_given');
    let fields;
    if (kind < 0.5 || doses.length === 0) {
      const what = { medicine: 'enoxaparin-100', amount: '0.18 mL' };
      fields = { ...common, type: 'dose_given', ...what, region: 'thigh', side: 'left' };
    } else if (kind < 0.75) {
      fields = { ...common, type: 'weight', kg: 18.5 };
    } else {
      const { id: dose } = doses[this.#below(doses.length)];
      fields = { ...common, type: 'finding', finding: 'bruise', region: 'thigh', side: 'left', length_cm: 1.5, dose };
    }
    const entry = { id, fields, revisions: [], busy: false };
    this.entries.set(id, entry);
    return { id, ...fields, ...this.#mark(entry, this.#random() < 0.06) };
  }

  #amendment(entry) {
    const { id, fields } = entry;
    const how = { action: 'amend', recorded_by: 'tove', reason: 'Read again' };
    return { ...how, id, ...fields, ...this.#mark(entry, this.#random() < 0.04) };
  }

  #retraction(entry) {
    const { mark, recorded } = this.#mark(entry, false, true);
    return { action: 'retract', id: entry.id, recorded, recorded_by: 'tove', mark };
  }

  /** Notes a revision of this entry and gives the fields by which it is known. */
  #mark(entry, unwanted, retracts = false) {
    const serial = ++this.#serial;
    const mark = unwanted ? `Note ${serial}, ${UNWANTED}` : `Note ${serial}`;
    entry.revisions.push({ mark, retracts, sure: false });
    // One second after the other, so that the newest is the one that was written last.
    return { mark, note: mark, recorded: this.#when(-2 * DAY + serial * 1000) };
  }

  #when(offset) {
    return new Date(this.#start + offset).toISOString();
  }

  #below(limit) {
    return Math.floor(this.#random() * limit);
  }

  #uuid() {
    const digits = Array.from({ length: 32 }, () => this.#below(16).toString(16));
    digits[12] = '4';
    digits[16] = '8';
    return digits.join('').replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
  }
}

/** Nobody waits for an answer about it, and it can be amended. */
function isSettled({ busy, revisions }) {
  return !busy && revisions.length > 0 && !revisions.some(({ retracts }) => retracts);
}

/**
 * Holds a logbook's entry (or undefined) against what was handed in: the newest revision that was surely accepted has
 * to be in effect, or one handed in after it whose answer got lost. Returns the revision in effect.
 */
export function revisionInEffect(entry, held) {
  const surest = entry.revisions.findLastIndex(({ sure }) => sure);
  if (!held) {
    assert.equal(surest, -1, `${entry.id} was accepted and is not in the logbook`);
    return undefined;
  }
  const at = held.retracted
    ? entry.revisions.findIndex(({ retracts }) => retracts)
    : entry.revisions.findIndex(({ mark, retracts }) => !retracts && mark === held.note);
  assert.ok(at >= 0, `${entry.id} says what nobody wrote: ${held.note}`);
  assert.ok(at >= surest, `${entry.id} is not in its newest revision`);
  return entry.revisions[at];
}
