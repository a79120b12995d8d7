// A household for end-to-end tests: the real daemon and command of this build in a folder of their own, and the test
// clinic behind TLS with a certificate authority made for this run. Everything is stopped and removed with its test.

import assert from 'node:assert/strict';
import { execFile, execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  appendFileSync,
  closeSync,
  copyFileSync,
  existsSync,
  mkdtempSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

import { startClinic } from './clinic-support.mjs';
import { startFaultProxy } from './fault-proxy.mjs';

const HERE = fileURLToPath(new URL('.', import.meta.url));
/** Where the programs under test were built. */
export const BUILD = resolve(process.env.NIGHTFERRY_BUILD ?? join(HERE, '..', '..', 'build'));
const DEMO = join(HERE, '..', '..', 'config', 'demo');
const POLL_MS = 20;
const PATIENCE_MS = 30_000; // For what takes well under a second on an idle machine.

export const JSON_TYPE = 'application/json';
export const NDJSON_TYPE = 'application/x-ndjson';
export const CSV_TYPE = 'text/csv';

/** The text of a file of the demo household. */
export function demoFile(name) {
  return readFileSync(join(DEMO, name), 'utf8');
}

/**
 * The demo household's settings with the clinic at this port of 127.0.0.1, or at `url`, and, unless `regimen`, without
 * what was ordered.
 */
export function settingsText(port, { regimen = false, lines = '', url = `https://127.0.0.1:${port}/fhir` } = {}) {
  // A night's crossing in the middle of a test would be one pass too many.
  const opens = (new Date().getUTCHours() + 12) % 24;
  const window = [opens, (opens + 1) % 24].map((hour) => `${String(hour).padStart(2, '0')}:00`).join('-');
  let text = demoFile('household.toml');
  for (const [from, to] of [
    ['"https://127.0.0.1:8443/fhir"', `"${url}"\n${lines}`],
    ['"01:00-05:00"', `"${window}"`],
  ]) {
    assert.ok(text.includes(from), `the demo settings no longer hold ${from}`);
    text = text.replace(from, to);
  }
  const plain = text.replace(/\[\[regimen\]\][^]*?\n(?=# The clinic is)/, '');
  assert.notEqual(plain, text, 'the demo settings no longer hold a regimen');
  return regimen ? text : plain;
}

/**
 * Starts a clinic and a hub that reports to it, and waits until the hub's first pass is over.
 *
 * `clinicOptions` are the clinic's command line. With `clinicIsDown` the first pass is still trying; with
 * `trustsClinic: false` the settings name an authority that the clinic's certificate does not come from. Only with
 * `regimen` do they say what was ordered; the hub then makes summaries, which cross too. With `faults`, the options of
 * the fault proxy, the hub reaches the clinic through one only, and the test asks the clinic itself past it. The same
 * with `door({ clinic, folder })`, which starts something else before the clinic, and tells its `port` or `url`, the
 * `lines` for the clinic's settings, and the file `ca` of the authority to trust.
 * `prepare(home)` runs before the hub is started, and `hubEnvironment` is added to what the hub finds around it.
 */
export async function startHome(
  test,
  {
    clinicOptions = [],
    clinicIsDown = false,
    trustsClinic = true,
    regimen = false,
    faults,
    door,
    prepare,
    hubEnvironment = {},
  } = {},
) {
  const { cert, key, ca, otherCa } = certificates();
  const isBehind = Boolean(faults ?? door);
  const clinic = await startClinic(test, ...(isBehind ? [] : ['--cert', cert, '--key', key]), ...clinicOptions);
  if (!isBehind) askOverTls(clinic);
  clinic.all = async (type) => {
    const found = [];
    for (;;) {
      const { status, body } = await clinic.get(`/${type}?_count=1000&_offset=${found.length}`);
      assert.equal(status, 200);
      found.push(...(body.entry ?? []).map(({ resource }) => resource));
      if (found.length >= body.total) return found;
    }
  };
  const folder = mkdtempSync(join(tmpdir(), 'ferry-'));
  const between =
    (faults && (await startFaultProxy(test, BUILD, { cert, key }, clinic.port, faults))) ??
    (door && (await door({ clinic, folder })));
  const home = new Home(folder, clinic, between, hubEnvironment);
  stopAtEnd(test, () => home.remove());
  home.writeSettings(between?.ca ?? (trustsClinic ? ca : otherCa), regimen);
  await prepare?.(home);
  await clinic.setOptions({ down: clinicIsDown });
  await home.startHub();
  if (!clinicIsDown) await home.rest();
  return home;
}

/**
 * The household alone, with its settings written and nothing started: `door({ folder })` is all of a clinic that there
 * is, and tells its `port` or `url`, the `lines` for its settings, and the file `ca` of the authority to trust.
 */
export async function makeHome(test, door) {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-'));
  const home = new Home(folder, undefined, undefined, {});
  stopAtEnd(test, () => home.remove());
  home.proxy = await door({ folder });
  home.writeSettings(home.proxy.ca ?? certificates().ca, false);
  return home;
}

/** Another machine for the hub of this household: a folder with nothing in it yet, and the same clinic. */
export function otherMachine(test, home) {
  const other = new Home(mkdtempSync(join(tmpdir(), 'ferry-')), home.clinic, home.proxy, {});
  stopAtEnd(test, () => other.remove());
  return other;
}

class Home {
  hub; // The daemon's process while it runs.
  #processes = new Set(); // Every daemon that was started and has not ended.

  constructor(folder, clinic, between, environment) {
    Object.assign(this, { folder, clinic, proxy: between, environment, settings: join(folder, 'household.toml') });
  }

  writeSettings(ca, regimen) {
    copyFileSync(ca, join(this.folder, 'clinic-ca.pem'));
    const { port, lines = '', url } = this.proxy ?? this.clinic;
    writeFileSync(this.settings, settingsText(port, { regimen, lines, url }));
  }

  changeSettings(change) {
    const before = readFileSync(this.settings, 'utf8');
    const after = change(before);
    assert.notEqual(after, before, 'the settings no longer hold what a test changes');
    writeFileSync(this.settings, after);
  }

  /** Starts the daemon and waits until it answers. It may begin a pass of its own: the last night's. */
  async startHub() {
    this.hub = this.spawnHub();
    await this.waitFor('the hub answers', async () => {
      assert.ok(this.#processes.has(this.hub), `the hub ended before it was ready\n${this.log()}`);
      return (await this.call('GET', '/v1/queue').catch(() => undefined))?.status === 200;
    });
  }

  /** One more daemon with this household's settings, whatever comes of it. */
  spawnHub() {
    const log = openSync(join(this.folder, 'hub.log'), 'a');
    const program = join(BUILD, 'nightferryd');
    const env = { ...process.env, ...this.environment };
    const child = spawn(program, ['--settings', this.settings], { stdio: ['ignore', log, log], env });
    closeSync(log);
    this.#processes.add(child);
    child.once('exit', () => this.#processes.delete(child));
    child.once('error', (error) => {
      appendFileSync(join(this.folder, 'hub.log'), `${program} cannot be run: ${error.message}\n`);
      this.#processes.delete(child);
    });
    return child;
  }

  /** Waits until this daemon has ended and tells how: its exit code, or the signal's name. */
  async ended(child) {
    await this.waitFor('the hub ends', () => !this.#processes.has(child));
    return child.exitCode ?? child.signalCode;
  }

  /** Sends the hub this signal and tells how it ended. */
  async endHub(signal) {
    const { hub } = this;
    hub.kill(signal);
    const how = await this.ended(hub);
    this.hub = undefined;
    return how;
  }

  async remove() {
    const ends = [...this.#processes].map((child) => once(child, 'exit'));
    for (const child of this.#processes) child.kill('SIGKILL');
    await Promise.all(ends);
    await this.clinic?.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Has the hub read its settings again, and waits until its log tells what came of it: 'reloaded', 'reload_refused'. */
  async reload(outcome = 'reloaded') {
    const times = () => this.wholeLog().split(` ${outcome}`).length - 1;
    const before = times();
    this.hub.kill('SIGHUP');
    await this.waitFor(outcome, () => times() > before);
  }

  wholeLog() {
    return readFileSync(join(this.folder, 'hub.log'), 'utf8');
  }

  log() {
    return this.wholeLog().split('\n').slice(-30).join('\n');
  }

  /** Asks until the answer is truthy, and returns it. */
  async waitFor(what, condition, patience = PATIENCE_MS) {
    const deadline = Date.now() + patience;
    for (;;) {
      const answer = await condition();
      if (answer) return answer;
      assert.ok(Date.now() < deadline, `did not happen in time: ${what}\n${this.log()}`);
      await sleep(POLL_MS);
    }
  }

  /** One request to the hub's local API. */
  call(method, path, text, type) {
    return ask(http, { socketPath: join(this.folder, 'nightferry.sock') }, method, path, text, type);
  }

  async get(path) {
    const { status, body } = await this.call('GET', path);
    assert.equal(status, 200, JSON.stringify(body));
    return body;
  }

  /** Hands in entries over the API and returns the answers; all of them have to be good ones. */
  async handIn(text, type) {
    const { status, body } = await this.call('POST', '/v1/entries', text, type);
    assert.equal(status, 200, JSON.stringify(body));
    return body.answers;
  }

  /** Moves a file into the inbox, as a program that writes elsewhere first does, and waits until it was taken. */
  async drop(name, text) {
    const [before, inbox] = [join(this.folder, name), join(this.folder, 'inbox')];
    writeFileSync(before, text);
    renameSync(before, join(inbox, name));
    await this.waitFor(`${name} leaves the inbox`, () => !existsSync(join(inbox, name)));
    assert.ok(existsSync(join(inbox, 'done', name)), `${name} was not taken well\n${this.log()}`);
  }

  /** The demo fortnight both ways: the doses by the inbox, the rest over the API. Returns the API's answers. */
  async handInFortnight() {
    await this.drop('doses.csv', demoFile('doses.csv'));
    const findings = await this.handIn(demoFile('findings.json'), JSON_TYPE);
    const later = await this.handIn(demoFile('later.ndjson'), NDJSON_TYPE);
    return [...findings, ...later];
  }

  /** How the one clinic's queue stands. */
  async queue() {
    const { clinics } = await this.get('/v1/queue');
    assert.equal(clinics.length, 1);
    return clinics[0];
  }

  /** Waits until no pass is under way, not even one that waits for its next attempt. */
  async rest() {
    return this.waitFor('the pass ends', async () => {
      const queue = await this.queue();
      return queue.pass.running ? undefined : queue;
    });
  }

  async requestPass() {
    const { status, body } = await this.call('POST', '/v1/passes');
    assert.deepEqual([status, body], [202, { started: ['nowhere'] }]);
  }

  /** A pass from its beginning to its end; returns the queue after it. */
  async pass() {
    await this.rest();
    await this.requestPass();
    return this.rest();
  }

  /** Runs the nightferry command with this household's settings. */
  command(...args) {
    return new Promise((done) => {
      const options = { timeout: 3 * PATIENCE_MS };
      execFile(join(BUILD, 'nightferry'), ['--settings', this.settings, ...args], options, (error, stdout, stderr) =>
        done({ code: error ? (error.code ?? error.signal) : 0, stdout, stderr }),
      );
    });
  }
}

/** Has a clinic's own methods speak TLS; it was started with the certificate of this run. */
export function askOverTls(clinic) {
  const where = { host: '127.0.0.1', port: clinic.port, ca: readFileSync(certificates().ca) };
  clinic.ask = (method, path, body) => ask(https, where, method, path, body, JSON_TYPE);
}

/** One request on a connection of its own; rejects if it closes without an answer. */
export function ask(library, where, method, path, body, type, patience = PATIENCE_MS) {
  const text = body === undefined || typeof body === 'string' ? body : JSON.stringify(body);
  const headers = text === undefined ? {} : { 'content-type': type, 'content-length': Buffer.byteLength(text) };
  return new Promise((done, fail) => {
    const request = library.request({ ...where, agent: false, method, path, headers }, (response) => {
      const chunks = [];
      response.on('data', (chunk) => chunks.push(chunk));
      response.on('error', fail);
      response.on('end', () => {
        const answer = Buffer.concat(chunks).toString('utf8');
        done({ status: response.statusCode, body: answer === '' ? undefined : JSON.parse(answer) });
      });
    });
    request.setTimeout(patience, () => request.destroy(new Error(`no answer in time: ${method} ${path}`)));
    request.on('error', fail);
    request.end(text);
  });
}

let madeCertificates;

/** Files of a clinic's certificate for 127.0.0.1, its authority, and an authority that has nothing to do with it. */
export function certificates() {
  madeCertificates ??= makeCertificates();
  return madeCertificates;
}

function makeCertificates() {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-ca-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const file = (name) => join(folder, name);
  const openssl = (...args) => execFileSync('openssl', args, { stdio: 'pipe' });
  const newKey = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes'];
  for (const name of ['ca', 'other-ca']) {
    const uses = ['-addext', 'basicConstraints=critical,CA:TRUE', '-addext', 'keyUsage=critical,keyCertSign'];
    const subject = ['-days', '1', '-subj', `/CN=Nightferry tests ${name}`, ...uses];
    openssl('req', '-x509', ...newKey, ...subject, '-keyout', file(`${name}-key.pem`), '-out', file(`${name}.pem`));
  }
  openssl('req', ...newKey, '-subj', '/CN=127.0.0.1', '-keyout', file('key.pem'), '-out', file('request.pem'));
  writeFileSync(file('names'), 'subjectAltName=IP:127.0.0.1\nextendedKeyUsage=serverAuth\n');
  const authority = ['-CA', file('ca.pem'), '-CAkey', file('ca-key.pem'), '-CAcreateserial', '-days', '1'];
  const signed = ['-extfile', file('names'), '-out', file('cert.pem')];
  openssl('x509', '-req', '-in', file('request.pem'), ...authority, ...signed);
  return { cert: file('cert.pem'), key: file('key.pem'), ca: file('ca.pem'), otherCa: file('other-ca.pem') };
}

const stops = new Set();

/** Runs `stop` once: at the end of the test, or when the whole run is told to end. */
function stopAtEnd(test, stop) {
  stops.add(stop);
  test.after(() => {
    stops.delete(stop);
    return stop();
  });
}

for (const signal of ['SIGTERM', 'SIGINT']) {
  process.once(signal, async () => {
    await Promise.allSettled([...stops].map((stop) => stop()));
    process.exit(1);
  });
}
