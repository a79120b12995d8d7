// What a clinic has of a home, and what the home itself has, entry by entry.

import assert from 'node:assert/strict';

/** Every identifier of this home at the clinic, and how often it is there. */
export async function identifiers(home) {
  const found = new Map();
  for (const type of ['Observation', 'MedicationAdministration']) {
    for (const { identifier } of await home.clinic.all(type)) {
      found.set(identifier[0].value, (found.get(identifier[0].value) ?? 0) + 1);
    }
  }
  return found;
}

export async function assertOnceEach(home, count) {
  const found = await identifiers(home);
  assert.deepEqual([...found.values()].filter((times) => times !== 1), []);
  assert.equal(found.size, count);
}

/** Every entry of the logbook with what each of its revisions says. */
export async function entriesOf(home) {
  const { entries } = await home.get('/v1/entries?limit=10000');
  const all = [];
  for (const { id } of entries) {
    const { revisions } = await home.get(`/v1/entries/${id}`);
    all.push([id, revisions.map(({ revision, entry }) => [revision, entry])]);
  }
  return all.sort();
}
