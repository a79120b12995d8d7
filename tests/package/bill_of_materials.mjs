// Holds the bill of materials that the package brings against the format (https://spdx.github.io/spdx-spec/v2.3/) and
// against what the programs load and are made of.
//
//   node bill_of_materials.mjs BILL PACKAGE...     the packages whose libraries the programs load, found elsewhere

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';

// What the sources include, by the names of Debian's packages; Boost's bears its version.
const MADE_OF = [/^rapidjson-dev$/, /^libboost[\d.]*-dev$/, /^libtomlplusplus-dev$/, /^libcli11-dev$/, /^libhowardhinnant-date-dev$/];

const [file, ...loaded] = process.argv.slice(2);
const bill = JSON.parse(readFileSync(file, 'utf8'));
assert.ok(loaded.length > 5, 'the programs load more than the C library');

// Sections 6 and 7: what has to be there.
assert.deepEqual([bill.spdxVersion, bill.dataLicense, bill.SPDXID], ['SPDX-2.3', 'CC0-1.0', 'SPDXRef-DOCUMENT']);
assert.match(bill.documentNamespace, /^[a-z]+:[^#\s]+$/);
assert.match(bill.creationInfo.created, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/);
assert.match(bill.creationInfo.creators[0], /^(Tool|Person|Organization): ./);
const names = new Map([[bill.SPDXID, bill.name]]);
for (const { SPDXID, name, versionInfo, downloadLocation } of bill.packages) {
  assert.match(SPDXID, /^SPDXRef-[a-zA-Z0-9.-]+$/, 'section 7.2');
  assert.ok(!names.has(SPDXID), `${SPDXID} is there twice`);
  assert.ok(name && versionInfo && downloadLocation, SPDXID);
  names.set(SPDXID, name);
}

/** The names of what stands in this relation to the programs. */
const related = (type) =>
  bill.relationships
    .filter(({ spdxElementId, relationshipType }) => spdxElementId === 'SPDXRef-nightferry' && relationshipType === type)
    .map(({ relatedSpdxElement }) => names.get(relatedSpdxElement));

for (const { spdxElementId, relatedSpdxElement } of bill.relationships)
  assert.ok(names.has(spdxElementId) && names.has(relatedSpdxElement), `${spdxElementId} and ${relatedSpdxElement}`);
assert.ok(bill.relationships.some(({ relationshipType: type, relatedSpdxElement: what }) => type === 'DESCRIBES' && what === 'SPDXRef-nightferry'));
assert.deepEqual(related('DYNAMIC_LINK').sort(), [...loaded].sort());
for (const one of MADE_OF) assert.ok(related('GENERATED_FROM').some((name) => one.test(name)), `${one} is not named`);
assert.deepEqual(related('STATIC_LINK'), [], 'no library is linked in');
