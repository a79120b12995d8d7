// Holds the validator of fhir/check against mutants whose one fault is known, and against the validators of others.
//
// Every disagreement with another validator has to stand in disagreements.tsv, with who is right and why; the file has
// no counts, so that it does not change with every new example. A row that no longer occurs, or one in which the other
// is right, fails. An oracle that refuses an original is not asked about the mutants of that original: whatever it said
// would be for the wrong reason.
//
//     NIGHTFERRY_BUILD=../../../build node --test differential.test.mjs
//     NIGHTFERRY_ORACLES_ONLY=1 node --test differential.test.mjs     the table alone, as if ours were never wrong
//
// The first test asks about all mutants of every release, the second about a sample of each operator.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';

import { RELEASES } from './definitions.mjs';
import { mutantsOf } from './mutants.mjs';
import { ORACLES } from './oracles.mjs';
import { askOurs } from './ours.mjs';

const SAMPLE = 10; // Mutants of each operator and release.
const ORACLES_ONLY = process.env.NIGHTFERRY_ORACLES_ONLY === '1';

const broken = { mutants: 0, operators: new Set() };

for (const release of RELEASES) {
  test(`${release}: the broken rule is named at its place, and no other`, { skip: ORACLES_ONLY }, async () => {
    const wrong = new Map(); // By operator: [how often, the first].
    for await (const [mutant, { valid, issues }] of askOurs(mutantsOf(release), release)) {
      if (mutant.rule !== null) {
        broken.mutants += 1;
        broken.operators.add(mutant.operator);
      }
      const problem = faultOf(mutant, valid, issues);
      if (problem === undefined) continue;
      const [count, first] = wrong.get(mutant.operator) ?? [0, `${mutant.source} ${problem}`];
      wrong.set(mutant.operator, [count + 1, first]);
    }
    const lines = [...wrong].map(([operator, [count, first]]) => `${count} of ${operator}: ${first}`);
    assert.equal(lines.length, 0, `\n${lines.join('\n')}`);
  });
}

test('enough was broken in enough ways', { skip: ORACLES_ONLY }, (context) => {
  context.diagnostic(`${broken.mutants} resources broken by ${broken.operators.size} operators`);
  assert.ok(broken.mutants >= 30_000);
  assert.ok(broken.operators.size >= 200);
});

test('every disagreement with another validator is explained', async () => {
  const seen = new Map();
  for (const release of RELEASES) {
    const refused = new Set();
    for await (const [mutant, { valid }] of judged(release)) {
      for (const oracle of ORACLES.filter((one) => one.releases.includes(release) && one.judges(mutant.rule))) {
        compare(oracle, mutant, valid, refused, seen);
      }
    }
  }
  const rows = readRows();
  const news = [...seen].filter(([key]) => !rows.has(key)).map(([key, example]) => `${key}\t(${example})`);
  const stale = [...rows.keys()].filter((key) => !seen.has(key));
  const mistakes = [...rows.keys()].filter((key) => key.endsWith('\ttheirs'));
  const all = { 'not in disagreements.tsv': news, 'no longer seen': stale, 'the other is right, mend ours': mistakes };
  const failed = Object.entries(all).filter(([, keys]) => keys.length > 0);
  assert.equal(failed.length, 0, failed.map(([what, keys]) => `${what}:\n${keys.sort().join('\n')}`).join('\n'));
});

test('every explanation names a page of the specification', () => {
  for (const [key, reason] of readRows()) assert.match(reason, /https:\/\/hl7\.org\/fhir\/\S+\.html/, key);
});

async function* judged(release) {
  const sample = mutantsOf(release, SAMPLE);
  if (!ORACLES_ONLY) return yield* askOurs(sample, release);
  for (const mutant of sample) yield [mutant, { valid: mutant.rule === null }];
}

function compare(oracle, { release, source, operator, rule, expression, text }, valid, refused, seen) {
  if (refused.has(`${oracle.name} ${source}`)) return;
  const theirs = oracle.validate(text, release);
  if (operator === 'original' && !theirs.valid) refused.add(`${oracle.name} ${source}`);
  if (theirs.valid === valid) return;
  const key = [oracle.name, operator, valid === (rule === null) ? 'ours' : 'theirs'].join('\t');
  if (!seen.has(key)) seen.set(key, `${release} ${source} ${expression}: ${theirs.messages[0] ?? 'valid'}`);
}

// What is wrong with our answer, if anything.
function faultOf({ rule, expression }, valid, errors) {
  if (valid !== (errors.length === 0)) return `valid is ${valid} beside ${errors.length} errors`;
  const said = errors.map((error) => `${error.rule} at ${error.expression}`).join(', ') || 'nothing';
  const wanted = rule === null ? 'nothing' : `${rule} at ${expression ?? errors[0]?.expression}`;
  return said === wanted ? undefined : `said ${said}, wanted ${wanted}`;
}

function readRows() {
  const [, ...lines] = readFileSync(new URL('disagreements.tsv', import.meta.url), 'utf8')
    .trimEnd()
    .split('\n');
  return new Map(
    lines.map((line) => {
      const [oracle, operator, who, reason] = line.split('\t');
      return [[oracle, operator, who].join('\t'), reason];
    }),
  );
}
