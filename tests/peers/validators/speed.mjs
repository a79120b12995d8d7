// How many resources a second our validator takes beside those by others, parsing counted, on the same resources in
// one run; then whole processes on a file with a resource in each line.
//
//     cmake -S . -B build -G Ninja -DNIGHTFERRY_TESTS=ON -DNIGHTFERRY_BENCH=ON && ninja -C build
//     NIGHTFERRY_BUILD=../../../build node speed.mjs
//
// The others check less, each in its own way (disagreements.tsv): the ratio is what it costs to know more.

import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

import { ORACLES } from './oracles.mjs';

const HERE = fileURLToPath(new URL('.', import.meta.url));
const BUILD = process.env.NIGHTFERRY_BUILD ?? join(HERE, '../../../build');
const EXAMPLES = join(HERE, '../node_modules/hl7.fhir.r4.examples');
const TYPES = ['MedicationAdministration', 'Observation', 'MedicationRequest', 'Provenance', 'Device'];
const MEASURED_MS = 700;
const LINES = 20_000;

const ours = oursPerSecond();
const inputs = new Map([['dose', [doseOfBench()]], ...TYPES.map((type) => [type, examplesOf(type)])]);

console.log(`resources a second, one thread, parsing counted (times ours is faster)`);
console.log(row(['', 'ours', ...ORACLES.map(({ name }) => name)]));
for (const [name, texts] of inputs) {
  const own = ours.get(name);
  const others = ORACLES.map((oracle) => perSecond(oracle, texts));
  console.log(row([name, Math.round(own), ...others.map((rate) => `${Math.round(rate)} (${(own / rate).toFixed(0)})`)]));
}
wholeProcesses(inputs.get('dose')[0]);

function row(cells) {
  return cells.map((cell) => String(cell).padEnd(26)).join('').trimEnd();
}

function examplesOf(type) {
  const names = readdirSync(EXAMPLES).filter((name) => name.startsWith(`${type}-`) && name.endsWith('.json'));
  return names.map((name) => readFileSync(join(EXAMPLES, name), 'utf8'));
}

// The very text that check_bench measures.
function doseOfBench() {
  const source = readFileSync(join(HERE, '../../bench/bench.hpp'), 'utf8');
  const literal = source.slice(source.indexOf('constexpr char dose[]'), source.indexOf('static_assert(sizeof dose'));
  return [...literal.matchAll(/R"\((.*)\)"/g)].map(([, part]) => part).join('');
}

function oursPerSecond() {
  const bench = join(BUILD, 'tests/bench/check_bench');
  const args = ['--benchmark_format=json', '--benchmark_filter=read and check'];
  const done = spawnSync(bench, args, { encoding: 'utf8', maxBuffer: 1 << 26 });
  if (done.status !== 0) throw new Error(`${bench}: ${done.error?.message ?? done.stderr}`);
  const rows = JSON.parse(done.stdout).benchmarks;
  return new Map(rows.map(({ name, each }) => [name.split('/')[0], 1 / each]));
}

function perSecond(oracle, texts) {
  for (const text of texts) oracle.validate(text, 'R4'); // Loads definitions and warms up.
  let resources = 0;
  const start = performance.now();
  while (performance.now() - start < MEASURED_MS) {
    for (const text of texts) oracle.validate(text, 'R4');
    resources += texts.length;
  }
  return (resources * 1000) / (performance.now() - start);
}

function wholeProcesses(text) {
  const folder = mkdtempSync(join(tmpdir(), 'validators-'));
  const file = join(folder, 'doses.ndjson');
  writeFileSync(file, `${text}\n`.repeat(LINES));
  console.log(`\nseconds for a whole process on ${LINES} lines`);
  const time = (command, args) => {
    const start = performance.now();
    const { status } = spawnSync(command, args, { stdio: 'ignore' });
    if (status !== 0) throw new Error(`${command} ended with ${status}`);
    return (performance.now() - start) / 1000;
  };
  const own = time(join(BUILD, 'nightferry'), ['fhir-check', '--no-warnings', file]);
  console.log(row(['ours', own.toFixed(3)]));
  for (const { name } of ORACLES) {
    const other = time(process.execPath, [join(HERE, 'speed-process.mjs'), name, file]);
    console.log(row([name, `${other.toFixed(3)} (${(other / own).toFixed(0)})`]));
  }
  rmSync(folder, { recursive: true });
}
