// What the hub promises when the ground gives way: the n-th system call of a short life fails, as on a full, broken or
// read-only disk or a torn connection, and still nothing that was accepted is lost or arrives twice, and the daemon
// goes on or ends with a status and a sentence that say why.
//
//   NIGHTFERRY_EVERY=1 node --test failing-calls.test.mjs                              every call, not only a sample
//   NIGHTFERRY_FAIL='first pwrite 17 EIO once' node --test failing-calls.test.mjs      this one again
//   NIGHTFERRY_FAIL='recovery pread' node --test failing-calls.test.mjs                of this day and kind only

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import https from 'node:https';
import { availableParallelism } from 'node:os';
import test from 'node:test';

import { startClinic } from './clinic-support.mjs';
import { DAYS, endWell, liveThrough } from './faulty-life.mjs';
import { FaultyHome } from './faulty-home.mjs';
import { ask, certificates, JSON_TYPE } from './hub.mjs';

const NAME = 'failing-calls.test.mjs';
const EVERY = Number(process.env.NIGHTFERRY_EVERY ?? 66);
const ONLY = process.env.NIGHTFERRY_FAIL ?? '';

// By kind of call, the errors that Linux documents for it and that a home can meet. "on": from then on.
const FAULTS = {
  open: ['EIO once', 'EIO on', 'ENOSPC once', 'ENOSPC on', 'EROFS on', 'EMFILE once', 'EACCES once', 'EINTR once'],
  list: ['EIO once', 'EIO on'],
  read: ['EIO once', 'EIO on', 'EINTR once'],
  pread: ['EIO once', 'EIO on', 'EINTR once'],
  write: ['EIO once', 'EIO on', 'ENOSPC once', 'ENOSPC on', 'EINTR once', 'SHORT once'],
  pwrite: ['EIO once', 'EIO on', 'ENOSPC once', 'ENOSPC on', 'EINTR once', 'SHORT once'],
  sync: ['EIO once', 'EIO on', 'ENOSPC once', 'ENOSPC on', 'EINTR once'],
  truncate: ['EIO once', 'EIO on', 'EINTR once'],
  rename: ['EIO once', 'EIO on', 'ENOSPC once', 'ENOSPC on', 'EROFS on'],
  unlink: ['EIO once', 'EIO on', 'EROFS on'],
  mkdir: ['EIO once', 'ENOSPC once', 'ENOSPC on', 'EROFS on'],
  mode: ['EIO once', 'EROFS on'],
  disk: ['EIO on', 'ENOSPC on', 'EROFS on'],
  accept: ['EMFILE once', 'ECONNABORTED once', 'EINTR once'],
  connect: ['ECONNREFUSED once', 'ETIMEDOUT on', 'EINTR once'],
  send: ['EPIPE once', 'ECONNRESET once', 'ECONNRESET on', 'EINTR once'],
  recv: ['ECONNRESET once', 'ECONNRESET on', 'ETIMEDOUT once', 'EINTR once'],
  notice: ['EIO once', 'EINTR once'],
};

// At a start on what is there already, only the logbook's calls are others than on the first day.
const KINDS_OF_DAY = {
  first: Object.keys(FAULTS),
  recovery: ['open', 'pread', 'pwrite', 'sync', 'truncate', 'unlink', 'disk'],
};

/** The third-party clinic over TLS; one for each line of runs, because they count what arrives. */
async function startTlsClinic(t) {
  const { cert, key, ca } = certificates();
  const clinic = await startClinic(t, '--cert', cert, '--key', key);
  const where = { host: '127.0.0.1', port: clinic.port, ca: readFileSync(ca) };
  clinic.ask = (method, path, body) => ask(https, where, method, path, body, JSON_TYPE);
  return clinic;
}

/** A day with this fault ("first pwrite 17 EIO once") and the one after it; what went wrong, or undefined. */
async function run(clinic, fault, tally) {
  const [day, ...call] = fault.split(' ');
  const home = new FaultyHome(clinic.port);
  const before = await clinic.counts();
  const life = { lines: [] };
  try {
    await liveThrough(home, day, call.join(' '), life);
    tally(life);
    await endWell(home, life, clinic, before);
    return undefined;
  } catch (error) {
    const isSameDay = home.hub.lines === life.lines;
    const said = isSameDay ? life.lines : [...life.lines, '-- the day after:', ...home.hub.lines];
    const failed = life.failed ?? (isSameDay && home.hub.report().failed);
    const head = `${fault} (${failed || 'no call failed'}): ${error.message}`;
    return [head, `  NIGHTFERRY_FAIL='${fault}' node --test ${NAME}`, ...said.map((line) => `    ${line}`)].join('\n');
  } finally {
    await home.remove();
  }
}

/** Of all calls of a kind every EVERY-th, beginning elsewhere for each error; but at least one for each. */
function sample(day, kind, count) {
  if (ONLY.split(' ').length === 5) return ONLY.startsWith(`${day} ${kind} `) ? [ONLY] : [];
  const faults = FAULTS[kind].flatMap((error, index) => {
    const offset = Math.floor(((index * 0.618 + kind.length * 0.377) % 1) * Math.min(EVERY, count));
    const numbers = Array.from({ length: count }, (_, n) => n).filter((n) => n % EVERY === offset);
    return numbers.map((n) => `${day} ${kind} ${n + 1} ${error}`);
  });
  return faults.filter((fault) => fault.startsWith(ONLY));
}

/** Runs them all, in as many lines as there are clinics. */
async function runAll(clinics, faults, tally) {
  const waiting = [...faults];
  const failures = [];
  const line = async (clinic) => {
    for (let fault = waiting.shift(); fault; fault = waiting.shift()) {
      const failure = await run(clinic, fault, tally);
      if (failure) failures.push(failure);
    }
  };
  await Promise.all(clinics.map(line));
  return failures;
}

for (const day of Object.keys(DAYS)) {
  test(`Whichever system call fails, nothing accepted is lost or arrives twice: ${day} day`, async (t) => {
    if (ONLY && ONLY.split(' ')[0] !== day) return;
    const lines = Math.min(4, availableParallelism());
    const clinics = await Promise.all(Array.from({ length: lines }, () => startTlsClinic(t)));
    let counts;
    let runs = 0;
    const failure = await run(clinics[0], day, (life) => {
      assert.equal(life.ending, 0);
      counts = life.counts;
    });
    assert.equal(failure, undefined, failure);
    t.diagnostic(`calls: ${Object.entries(counts).map((one) => one.join(' ')).join(', ')}`);

    for (const kind of KINDS_OF_DAY[day]) {
      const faults = sample(day, kind, counts[kind]);
      if (ONLY && faults.length === 0) continue;
      runs += faults.length;
      await t.test(`${day} day: ${kind}`, async (t2) => {
        assert.ok(counts[kind] > 0, 'there is no such call any more');
        const started = Date.now();
        const endings = {};
        let untouched = 0;
        const failures = await runAll(clinics, faults, ({ ending, failed, lastWords }) => {
          if (!failed) untouched += 1;
          const how = ending === 0 ? '0' : `${ending}: ${lastWords.replace(/\/\S*\/ferry-\w+\//, '')}`;
          endings[how] = (endings[how] ?? 0) + 1;
        });
        const seconds = ((Date.now() - started) / 1000).toFixed(1);
        t2.diagnostic(`${faults.length} runs in ${seconds} s, ${untouched} of them without that call`);
        for (const [how, times] of Object.entries(endings)) t2.diagnostic(`${times} ended with ${how}`);
        assert.equal(failures.length, 0, `\n${failures.join('\n')}`);
      });
    }
    t.diagnostic(`${runs} runs`);
  });
}
