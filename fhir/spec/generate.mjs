// Generates the element tables of R4, R4B and R5 from the official packages.
//
//   node fhir/spec/generate.mjs PACKAGES            writes r4_tables.cpp, r4b_tables.cpp and r5_tables.cpp here
//   node fhir/spec/generate.mjs PACKAGES --check    fails if they are not what would be written
//
// PACKAGES is the folder that holds the packages (tests/peers/node_modules after npm ci there). The layout of
// the tables is described in tables.hpp.
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

import { Model } from './model.mjs';
import { loadDefinitions, releases } from './packages.mjs';
import { writeTables } from './write_tables.mjs';

const here = path.dirname(fileURLToPath(import.meta.url));
const [packages, mode] = process.argv.slice(2);
if (!packages || (mode && mode !== '--check')) {
    console.error('usage: node generate.mjs PACKAGES [--check]');
    process.exit(64);
}

let stale = 0;
for (const release of releases) {
    const file = path.join(here, `${release.name}_tables.cpp`);
    const text = writeTables(new Model(loadDefinitions(packages, release)), release);
    if (mode !== '--check') {
        fs.writeFileSync(file, text);
        continue;
    }
    const same = fs.existsSync(file) && fs.readFileSync(file, 'utf8') === text;
    console.log(`${path.basename(file)}: ${same ? 'is what the package says' : 'differs from what the package says'}`);
    if (!same) stale += 1;
}
process.exit(stale === 0 ? 0 : 1);
