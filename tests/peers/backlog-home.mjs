// A hub on a logbook in which very much waits, and the fast clinic that it waits for: started, ended and measured.

import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

import { FastClinic } from './fast-clinic.mjs';
import { demoFile } from './hub.mjs';

const HERE = fileURLToPath(new URL('.', import.meta.url));
const BUILD = process.env.NIGHTFERRY_BUILD ? resolve(process.env.NIGHTFERRY_BUILD) : join(HERE, '..', '..', 'build');
const PATIENCE_MS = 60 * 60_000; // A million entries take their time on a small machine.

export class BacklogHome {
  clinic = new FastClinic();
  bundles = []; // For each that the clinic was sent: when, and what the hub's process had used by then.
  #hub;

  /** With this many entries waiting. */
  static async make(test, count) {
    const home = new BacklogHome();
    home.folder = mkdtempSync(join(tmpdir(), 'ferry-'));
    test.after(() => home.#remove());
    await home.clinic.start();
    home.clinic.onBundle = () => {
      const used = home.used();
      if (used) home.bundles.push({ at: performance.now(), ...used });
    };
    home.settings = join(home.folder, 'household.toml');
    writeFileSync(home.settings, settingsFor(home.clinic.url));
    mkdirSync(join(home.folder, 'data'));
    execFileSync(join(BUILD, 'tests', 'make_backlog'), [join(home.folder, 'data'), `${count}`]);
    return home;
  }

  /**
   * Starts the hub and returns how many milliseconds it took until it said that it is ready: by the clock, and of that
   * without the time in which other work on the machine kept it from running.
   */
  start() {
    const begun = Date.now();
    const options = { stdio: ['ignore', 'ignore', 'pipe'] };
    this.#hub = spawn(join(BUILD, 'nightferryd'), ['--settings', this.settings], options);
    return new Promise((done, fail) => {
      let log = '';
      this.#hub.once('exit', () => fail(new Error(`the hub ended\n${log}`)));
      let isReady = false;
      this.#hub.stderr.on('data', (text) => {
        if (log.length < 10_000) log += text;
        const [, ready] = log.match(/^(\S+) info ready /m) ?? [];
        // Later lines may be read when the process is no more.
        if (!ready || isReady) return;
        isReady = true;
        const byTheClock = Date.parse(ready) - begun;
        done({ byTheClock, ownMs: Math.round(byTheClock - this.used().heldUpMs) });
      });
    });
  }

  /** Ends the hub and tells how: its exit code, or the signal's name. */
  async end(signal) {
    const ended = once(this.#hub, 'exit');
    this.#hub.kill(signal);
    await ended;
    return this.#hub.exitCode ?? this.#hub.signalCode;
  }

  /** Starts the hub and kills it when some bundles have gone out. */
  async killInMidPass() {
    const before = this.bundles.length;
    await this.start();
    await this.waitFor(() => this.bundles.length >= before + 5);
    await this.end('SIGKILL');
  }

  /** What the hub's process has used so far. */
  used() {
    return used(this.#hub.pid);
  }

  async #remove() {
    if (this.#hub && this.#hub.exitCode === null && this.#hub.signalCode === null) await this.end('SIGKILL');
    this.clinic.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  get(path) {
    const where = { socketPath: join(this.folder, 'nightferry.sock'), path, agent: false };
    return new Promise((done, fail) => {
      const request = http.get(where, async (response) => done(JSON.parse(Buffer.concat(await response.toArray()))));
      request.on('error', fail);
    });
  }

  async queue() {
    return (await this.get('/v1/queue')).clinics[0];
  }

  async waitFor(condition) {
    const deadline = Date.now() + PATIENCE_MS;
    while (!(await condition())) {
      assert.ok(Date.now() < deadline && this.#hub.exitCode === null, 'did not happen in time');
      await sleep(20);
    }
  }

  /** Waits until the clinic holds so many and the hub knows it. If some still wait then, nothing more is answered. */
  async sendUntil(count) {
    await this.waitFor(() => this.clinic.held >= count);
    this.clinic.isSilent = true;
    await this.waitFor(async () => (await this.queue()).confirmed === this.clinic.held);
  }

  megabytes() {
    return Math.round(statSync(join(this.folder, 'data', 'logbook.sqlite')).size / 2 ** 20);
  }
}

/** The demo household without a regimen, at this clinic, and with no night's crossing in the middle of a test. */
function settingsFor(url) {
  const opens = (new Date().getUTCHours() + 12) % 24;
  const window = [opens, (opens + 1) % 24].map((hour) => `${String(hour).padStart(2, '0')}:00`).join('-');
  let text = demoFile('household.toml');
  for (const [from, to] of [
    [/\[\[regimen\]\][^]*?\n(?=# The clinic is)/, ''],
    ['"https://127.0.0.1:8443/fhir"', `"${url}"`],
    [/\ntrust = .*/, ''],
    ['"01:00-05:00"', `"${window}"`],
    ['"urn:example:nowhere-clinic|TEST-000417"', '"Patient/patient"'],
  ]) {
    const changed = text.replace(from, to);
    assert.notEqual(changed, text, `the demo settings no longer hold ${from}`);
    text = changed;
  }
  return text;
}

/**
 * What a process has used: processor time, time for which it had to wait for a processor, memory at most, bytes. Nothing of
 * one that was killed: what it sent just before is read when it is no more.
 */
function used(pid) {
  const read = (name) => readFileSync(`/proc/${pid}/${name}`, 'utf8');
  const [ran, heldUp] = read('schedstat').split(' ');
  const [, mostKb] = read('status').match(/VmHWM:\s+(\d+) kB/) ?? [];
  if (mostKb === undefined) return undefined;
  return {
    cpuMs: Number(ran) / 1e6,
    heldUpMs: Number(heldUp) / 1e6,
    mostKb: Number(mostKb),
    writtenKb: Number(read('io').match(/wchar: (\d+)/)[1]) / 1024,
  };
}
