// Our own validator, asked through its command: `nightferry fhir-check --outcome --ndjson` reads a resource from each
// line and writes an OperationOutcome for it.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { join, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';

const HERE = fileURLToPath(new URL('.', import.meta.url));
const BUILD = process.env.NIGHTFERRY_BUILD ? resolve(process.env.NIGHTFERRY_BUILD) : join(HERE, '../../../build');

/** {valid, issues: [{severity, rule, expression}]} */
function answerIn(line) {
  const issues = JSON.parse(line)
    .issue.filter(({ severity }) => severity === 'error' || severity === 'fatal')
    .map(({ severity, details, expression }) => ({ severity, rule: details.coding?.[0].code, expression: expression?.[0] }));
  return { valid: issues.length === 0, issues };
}

/** Yields [mutant, answer] for each of `mutants`, which are all of `release`. */
export async function* askOurs(mutants, release) {
  const child = spawn(join(BUILD, 'nightferry'), ['fhir-check', '--outcome', '--no-warnings', '--ndjson', '--release', release, '-'], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const ended = once(child, 'close');
  const waiting = [];
  const lines = function* () {
    for (const mutant of mutants) {
      waiting.push(mutant);
      yield `${mutant.text}\n`;
    }
  };
  const sent = pipeline(Readable.from(lines()), child.stdin);
  for await (const line of createInterface({ input: child.stdout })) yield [waiting.shift(), answerIn(line)];
  await sent;
  const [code] = await ended;
  if (waiting.length > 0) throw new Error(`fhir-check ended with ${code} and left ${waiting.length} unanswered`);
}
