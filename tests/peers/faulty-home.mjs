// A home for tests of failing system calls: a household in a folder of its own whose daemon runs with failing_calls
// preloaded. Everything waits for what the daemon logs rather than asking again and again, so that two runs make the
// same calls and the n-th call of one is the n-th call of the other.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  copyFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as sleep } from 'node:timers/promises';

import { ask, BUILD, certificates, JSON_TYPE, settingsText } from './hub.mjs';

const LIBRARY = join(BUILD, 'tests', 'failing_calls.so');
export const PATIENCE_MS = 10_000; // What takes longer than this hangs.
const GRACE_MS = 400; // For what a fault may well keep from happening.
export const POLL_MS = 5;
const HOW_A_PASS_WENT = / (pass_ended|pass_stopped|pass_out_of_time|pass_waits|disk_full what=outbox) /;

let homes = 0;
const left = new Set(); // Homes that were not removed yet.
process.on('exit', () => left.forEach((home) => home.abandon()));

export class FaultyHome {
  constructor(clinicPort) {
    left.add(this);
    this.name = `exampleton-${(homes += 1)}`; // A name of its own gives every home's entries ids of their own.
    this.folder = mkdtempSync(join(tmpdir(), 'ferry-'));
    this.inbox = join(this.folder, 'inbox');
    this.settings = join(this.folder, 'household.toml');
    copyFileSync(certificates().ca, join(this.folder, 'clinic-ca.pem'));
    writeFileSync(this.settings, settingsText(clinicPort).replaceAll('exampleton-home', this.name));
  }

  /** A daemon in which this call fails ("pwrite 17 EIO once"), or none when it is empty. */
  start(fault = '') {
    this.hub = new FaultyHub(this, fault);
    return this.hub;
  }

  async remove() {
    await this.hub?.kill();
    this.abandon();
  }

  /** The same without waiting, for when the whole run is told to end. */
  abandon() {
    left.delete(this);
    if (this.hub?.isRunning) this.hub.kill();
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Puts a file into the inbox, if there is one, that nobody has touched for an hour: it needs no quiet time. */
  drop(name, text) {
    if (!existsSync(this.inbox)) return;
    const [before, hour] = [join(this.folder, name), new Date(Date.now() - 3_600_000)];
    writeFileSync(before, text);
    utimesSync(before, hour, hour);
    renameSync(before, join(this.inbox, name));
  }

  /** Puts a refused file into the inbox again. */
  bringBack(name) {
    rmSync(join(this.inbox, 'refused', `${name}.reason.txt`));
    renameSync(join(this.inbox, 'refused', name), join(this.inbox, name));
  }

  /** Why this file was refused. */
  reason(name) {
    return readFileSync(join(this.inbox, 'refused', `${name}.reason.txt`), 'utf8');
  }

  /** Where files of the inbox lie: { inbox: [...], done: [...], refused: [...] }. */
  files() {
    const names = (folder) => {
      const items = existsSync(folder) ? readdirSync(folder, { withFileTypes: true }) : [];
      return items.flatMap((item) => (item.isFile() ? [item.name] : [])).sort();
    };
    const [done, refused] = ['done', 'refused'].map((folder) => names(join(this.inbox, folder)));
    return { inbox: names(this.inbox), done, refused };
  }
}

class FaultyHub {
  lines = []; // Everything the daemon said.
  #home;
  #child;
  #closed = false;

  constructor(home, fault) {
    this.#home = home;
    this.reportFile = join(home.folder, 'calls.txt');
    rmSync(this.reportFile, { force: true });
    const env = {
      ...process.env,
      LD_PRELOAD: LIBRARY,
      ASAN_OPTIONS: [process.env.ASAN_OPTIONS, 'verify_asan_link_order=0'].filter(Boolean).join(':'),
      NIGHTFERRY_FAIL: fault,
      NIGHTFERRY_FAIL_BELOW: home.folder,
      NIGHTFERRY_FAIL_REPORT: this.reportFile,
    };
    const args = ['--settings', home.settings];
    this.#child = spawn(join(BUILD, 'nightferryd'), args, { env, stdio: ['ignore', 'ignore', 'pipe'] });
    createInterface({ input: this.#child.stderr }).on('line', (line) => this.lines.push(line));
    this.#child.once('close', () => (this.#closed = true));
  }

  get isRunning() {
    return !this.#closed;
  }

  /** Its exit code, or the signal's name. */
  get ending() {
    return this.#child.exitCode ?? this.#child.signalCode;
  }

  /** Waits until `condition` holds or the daemon has ended; false when it has ended or did not do so in time. */
  async until(condition, patience = PATIENCE_MS) {
    const deadline = Date.now() + patience;
    while (!condition()) {
      if (this.#closed || Date.now() > deadline) return false;
      await sleep(POLL_MS);
    }
    return true;
  }

  /** Waits until it says this, not counting the first `after` lines. */
  says(pattern, after = 0, patience = PATIENCE_MS) {
    return this.until(() => this.lines.slice(after).some((line) => pattern.test(line)), patience);
  }

  /** Waits for the end; false when it hangs. */
  async ends() {
    await this.until(() => this.#closed);
    return this.#closed;
  }

  terminate() {
    this.#child.kill('SIGTERM');
  }

  async kill() {
    if (this.#closed) return;
    this.#child.kill('SIGKILL');
    await once(this.#child, 'close');
  }

  /** One request, and once more when no answer comes from a daemon that still runs. Undefined without an answer. */
  async call(method, path, body) {
    const text = body === undefined || typeof body === 'string' ? body : JSON.stringify(body);
    for (let attempt = 1; attempt <= 2 && this.isRunning; ++attempt) {
      try {
        const where = { socketPath: join(this.#home.folder, 'nightferry.sock') };
        return await ask(http, where, method, path, text, JSON_TYPE, PATIENCE_MS);
      } catch (error) {
        if (/no answer in time/.test(error.message)) throw error;
        await this.until(() => false, 20);
      }
    }
    return undefined;
  }

  /** A pass, to its end, to the wait for its next attempt, or until there is no room for what it writes down. */
  async pass() {
    const after = this.lines.length;
    const started = await this.call('POST', '/v1/passes');
    if (started?.status === 202 && !this.#waitsForRoom()) await this.saysHowPassWent(after);
    return started;
  }

  async saysHowPassWent(after = 0) {
    if (!(await this.says(HOW_A_PASS_WENT, after)) && this.isRunning) throw new Error('a pass hangs');
  }

  /** A pass that found no room goes on a minute later, whoever asks for it. */
  #waitsForRoom() {
    return this.lines.findLast((line) => HOW_A_PASS_WENT.test(line))?.includes(' disk_full ');
  }

  /** Waits until the inbox is empty, but not for long: a fault may well keep a file where it is. */
  takesInbox(patience = GRACE_MS) {
    return this.until(() => this.#home.files().inbox.length === 0, patience);
  }

  /** What the library wrote: { counts: { pwrite: 106, ... }, failed: 'pwrite 17 /path' or undefined }. */
  report() {
    const text = existsSync(this.reportFile) ? readFileSync(this.reportFile, 'utf8') : '';
    const counts = [...text.matchAll(/^count (\w+) (\d+)$/gm)].map(([, kind, count]) => [kind, Number(count)]);
    return { counts: Object.fromEntries(counts), failed: /^failed (.*)$/m.exec(text)?.[1] };
  }
}
