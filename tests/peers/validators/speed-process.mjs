// One validator by others as a whole process: checks every line of a file. Called by speed.mjs.
import { createReadStream } from 'node:fs';
import { createInterface } from 'node:readline';

import { ORACLES } from './oracles.mjs';

const [name, file] = process.argv.slice(2);
const oracle = ORACLES.find((one) => one.name === name);
let refused = 0;
for await (const line of createInterface({ input: createReadStream(file) })) {
  if (!oracle.validate(line, 'R4').valid) refused += 1;
}
console.log(`${refused} refused`);
