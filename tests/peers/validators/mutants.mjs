// Makes resources that break exactly one known rule, and resources that look odd and break none, to hold validators
// against. It reads the published StructureDefinitions itself and shares nothing with the validator of fhir/check.
//
//     node mutants.mjs > mutants.ndjson            all releases
//     node mutants.mjs R4 --most 5 > r4.ndjson     one release, at most 5 mutants of each operator
//     node mutants.mjs --counts                    how many by release, operator and rule; no mutants
//
// NIGHTFERRY_PACKAGES names another node_modules folder with the hl7.fhir.*.examples packages. A line is
//
//     {"release", "source", "operator", "rule", "expression", "text"}
//
// where `text` is the mutant. `rule` is the one broken rule: a key of fhir/check/rules.hpp or of a published
// constraint; null when the resource is valid ("operator":"original" is the untouched example). `expression` is where:
// element names with [i] for items of lists, a choice by its plain name, a missing element behind the one that lacks
// it, without index when the list as a whole is wrong; null when no place can be named. The same input makes the same
// output: places are chosen by a hash of source and operator.

import { fileURLToPath } from 'node:url';

import { operators as structure } from './break-structure.mjs';
import { operators as values } from './break-values.mjs';
import { operators as codes } from './break-codes.mjs';
import { operators as narratives } from './break-narrative.mjs';
import { operators as rules } from './break-rules.mjs';
import { operators as resources } from './break-resources.mjs';
import { operators as bundles } from './break-bundle.mjs';
import { operators as shadows } from './break-shadows.mjs';
import { operators as valid } from './keep-valid.mjs';
import { operators as traps } from './keep-traps.mjs';
import { Definitions, RELEASES } from './definitions.mjs';
import { copy, parse, write } from './lossless-json.mjs';
import { originalsOf } from './originals.mjs';
import { placesOf } from './places.mjs';

export const OPERATORS = [
  ...structure,
  ...shadows,
  ...values,
  ...codes,
  ...narratives,
  ...rules,
  ...resources,
  ...bundles,
  ...valid,
  ...traps,
];

const PLACES_MAX = 3; // Of one operator in one example.
const EXAMPLE_BYTES_MAX = 110_000; // Of all mutants of one example, after one of each operator that is rare.
const RARE = 60; // An operator with fewer places in a release keeps all of them.

/** Yields {release, source, operator, rule, expression, text}; `most` limits the mutants of one operator. */
export function* mutantsOf(release, most = Infinity) {
  const definitions = new Definitions(release);
  const examples = mixed(originalsOf(definitions).map(({ source, text }) => ({ source, tree: parse(text) })));
  const counts = new Map(OPERATORS.map(({ name }) => [name, 0]));
  const due = ({ name, most: own }) => counts.get(name) < Math.min(most, own ?? Infinity);
  // With a limit there is a place for every operator's first mutants anyhow.
  const rarities = most === Infinity ? rarity(examples, definitions) : new Map();
  const places = most === Infinity ? PLACES_MAX : 1;
  for (const example of examples) {
    const { source } = example;
    const original = write(example.tree);
    yield { release, source, operator: 'original', rule: null, expression: null, text: original };
    let bytes = 0;
    for (const { operator, spot } of inTurn(example, strikes(example, definitions, due), rarities, places)) {
      const rare = (rarities.get(operator.name) ?? 0) < RARE;
      if (!due(operator) || (!rare && bytes + original.length > EXAMPLE_BYTES_MAX)) continue;
      counts.set(operator.name, counts.get(operator.name) + 1);
      const text = mutate(example, spot);
      bytes += text.length;
      yield { release, source, operator: operator.name, rule: operator.rule, expression: spot.expression, text };
    }
  }
}

// The operators that can strike here, each with the places that it takes.
function strikes({ source, tree }, definitions, due) {
  const { release } = definitions;
  const context = { release, definitions, resource: tree, ...placesOf(tree, definitions) };
  return OPERATORS.filter((operator) => (operator.releases?.includes(release) ?? true) && due(operator))
    .map((operator) => ({ operator, spots: chosen(operator.find(context), `${source} ${operator.name}`) }))
    .filter(({ spots }) => spots.length > 0);
}

function chosen(spots, seed) {
  return spots
    .map((spot, index) => ({ spot, key: hash(`${seed} ${index}`) }))
    .sort((one, other) => one.key - other.key)
    .slice(0, PLACES_MAX)
    .map(({ spot }) => spot);
}

function rarity(examples, definitions) {
  const counts = new Map();
  for (const example of examples) {
    for (const { operator, spots } of strikes(example, definitions, () => true)) {
      counts.set(operator.name, (counts.get(operator.name) ?? 0) + spots.length);
    }
  }
  return counts;
}

// Rare operators first, the others mixed, each operator's second place after the first of all.
function inTurn({ source }, found, rarities, places) {
  const order = ({ operator }) =>
    Math.min(rarities.get(operator.name) ?? 0, RARE) * 2 ** 32 + hash(`${source} ${operator.name}`);
  const sorted = [...found].sort((one, other) => order(one) - order(other));
  return [...Array(places).keys()].flatMap((turn) =>
    sorted.filter(({ spots }) => turn < spots.length).map(({ operator, spots }) => ({ operator, spot: spots[turn] })),
  );
}

// The smallest of every type first, then the next of every type: a limit is used up on many kinds of few bytes.
function mixed(examples) {
  const sizes = new Map(examples.map((example) => [example, write(example.tree).length]));
  const ranks = new Map();
  const bySize = [...examples].sort((one, other) => sizes.get(one) - sizes.get(other));
  const ranked = bySize.map((example) => {
    const { resourceType, type: kind } = example.tree;
    const type = resourceType === 'Bundle' ? kind : resourceType;
    ranks.set(type, (ranks.get(type) ?? 0) + 1);
    return { example, rank: ranks.get(type) };
  });
  return ranked.sort((one, other) => one.rank - other.rank).map(({ example }) => example);
}

function mutate({ tree }, spot) {
  const root = copy(tree);
  spot.edit(root);
  return write(root);
}

// FNV-1a, 32 bits.
function hash(text) {
  let value = 0x811c9dc5;
  for (let index = 0; index < text.length; index += 1) {
    value = Math.imul(value ^ text.charCodeAt(index), 0x01000193) >>> 0;
  }
  return value;
}

function main(words) {
  const most = words.includes('--most') ? Number(words[words.indexOf('--most') + 1]) : Infinity;
  const named = RELEASES.filter((release) => words.includes(release));
  const tallies = new Map();
  for (const release of named.length > 0 ? named : RELEASES) {
    for (const mutant of mutantsOf(release, most)) {
      if (words.includes('--counts')) tally(tallies, mutant);
      else process.stdout.write(`${JSON.stringify(mutant)}\n`);
    }
  }
  for (const [line, count] of [...tallies].sort()) console.log(`${line}\t${count}`);
}

function tally(tallies, { release, operator, rule }) {
  const line = `${release}\t${rule ?? '-'}\t${operator}`; // There is a rule named null.
  tallies.set(line, (tallies.get(line) ?? 0) + 1);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) main(process.argv.slice(2));
