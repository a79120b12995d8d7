// A household whose hub lives for moments only: started, given entries over the API and the inbox at the same time,
// asked for passes, and killed, again and again.

import assert from 'node:assert/strict';
import { once } from 'node:events';
import { closeSync, existsSync, fstatSync, openSync, readSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

import { Diary } from './diary.mjs';
import { NDJSON_TYPE } from './hub.mjs';

const POLL_MS = 3;
const REQUEST_EVERY_MS = 40; // A requested pass does not wait for the announced attempt.
const LONGEST_START_MS = 60;
const LONGEST_LIFE_MS = 300;
const CATCH_UP_EVERY = 10; // So many lives later one is long enough to send what has piled up.
const LONGEST_CATCH_UP_MS = 2500;

export class ShortLives {
  /** How many kills there were, and how many of them came at which moment. */
  tally = { kills: 0, whileStarting: 0, inPass: 0, inIntake: 0, unanswered: 0 };
  diary;
  #home;
  #random;
  #unanswered = []; // What was posted without an answer and will be handed in once more.
  #dropped = new Map(); // Files of which it is not known yet that they were taken, by name.
  #files = 0;

  constructor(home, random) {
    this.#home = home;
    this.#random = random;
    this.diary = new Diary(random);
  }

  /** One life, from start to kill. */
  async live() {
    const child = this.#home.spawnHub();
    const life = { child, died: once(child, 'exit'), log: this.#logEnd() };
    if (this.#random() < 0.1) {
      await sleep(this.#random() * LONGEST_START_MS);
      this.tally.whileStarting += 1;
      return this.#kill(life);
    }
    await this.#ready(child);
    this.#requestPass();
    const asking = setInterval(() => this.#requestPass(), REQUEST_EVERY_MS);
    if (this.tally.kills % CATCH_UP_EVERY === CATCH_UP_EVERY - 1) await this.#catchUp();
    const ends = this.#random() < 0.4 ? this.#liveUntilIntake(life) : this.#liveUntilAnyMoment(life);
    return ends.finally(() => clearInterval(asking));
  }

  async #catchUp() {
    const deadline = Date.now() + LONGEST_CATCH_UP_MS;
    while (Date.now() < deadline && (await this.#home.queue()).waiting > 0) await sleep(50);
  }

  /** Waits until every file was taken and everything that is to be repeated was repeated. */
  async settle() {
    await this.#repeat();
    await this.#home.waitFor('every file is taken', () => {
      this.#lookForDropped();
      return this.#dropped.size === 0;
    });
  }

  async #liveUntilIntake(life) {
    await this.#repeat();
    await sleep(this.#random() * 80);
    const posted = this.#post(this.diary.write(1, 2));
    this.#drop(this.diary.write(1, 1));
    await sleep(this.#random() * 6);
    await this.#kill(life);
    const answered = await posted;
    this.#lookForDropped();
    if (!answered || this.#dropped.size > 0) this.tally.inIntake += 1;
  }

  async #liveUntilAnyMoment(life) {
    await this.#repeat();
    this.#drop(this.diary.write(1, 1));
    await this.#post(this.diary.write(1, 2));
    await sleep(this.#random() * LONGEST_LIFE_MS);
    this.#lookForDropped();
    await this.#kill(life);
  }

  async #kill({ child, died, log }) {
    assert.ok(child.exitCode === null && child.signalCode === null, `the hub ended by itself\n${this.#home.log()}`);
    child.kill('SIGKILL');
    const [, signal] = await died;
    assert.equal(signal, 'SIGKILL');
    this.tally.kills += 1;
    const said = this.#logSince(log);
    const times = (word) => said.split(` ${word} `).length - 1;
    if (times('pass_started') > times('pass_ended') + times('pass_stopped') + times('pass_out_of_time')) this.tally.inPass += 1;
  }

  async #ready(child) {
    await this.#home.waitFor('the hub answers', async () => {
      for (let i = 0; i < 200; ++i) {
        assert.equal(child.exitCode, null, `the hub ended before it was ready\n${this.#home.log()}`);
        if (await this.#home.call('GET', '/v1/queue').catch(() => undefined)) return true;
        await sleep(POLL_MS);
      }
      return false;
    });
  }

  #requestPass() {
    this.#home.call('POST', '/v1/passes').catch(() => {}); // The hub may be gone by now.
  }

  /** Hands these in over the API; false when no answer came. */
  async #post(lines) {
    const repeats = this.#random() < 0.5;
    const answer = await this.#home.call('POST', '/v1/entries', Diary.text(lines), NDJSON_TYPE).catch(() => undefined);
    if (answer) {
      assert.equal(answer.status, 200, JSON.stringify(answer.body));
      this.diary.confirm(lines);
      return true;
    }
    this.tally.unanswered += 1;
    // Half of them are never asked about again, and may be in the logbook or not.
    if (repeats) this.#unanswered.push(lines);
    return false;
  }

  async #repeat() {
    const lines = this.#unanswered.pop();
    if (lines) await this.#post(lines);
  }

  #drop(lines) {
    const name = `${String(++this.#files).padStart(6, '0')}.ndjson`;
    const before = join(this.#home.folder, name);
    writeFileSync(before, Diary.text(lines));
    renameSync(before, join(this.#home.folder, 'inbox', name));
    this.#dropped.set(name, lines);
  }

  #lookForDropped() {
    for (const [name, lines] of this.#dropped) {
      assert.ok(!existsSync(join(this.#home.folder, 'inbox', 'refused', name)), `${name} was refused`);
      if (!existsSync(join(this.#home.folder, 'inbox', 'done', name))) continue;
      this.diary.confirm(lines);
      this.#dropped.delete(name);
    }
  }

  #logEnd() {
    return this.#withLog((log) => fstatSync(log).size);
  }

  #logSince(start) {
    return this.#withLog((log) => {
      const bytes = Buffer.alloc(fstatSync(log).size - start);
      readSync(log, bytes, 0, bytes.length, start);
      return bytes.toString('utf8');
    });
  }

  #withLog(read) {
    const log = openSync(join(this.#home.folder, 'hub.log'));
    try {
      return read(log);
    } finally {
      closeSync(log);
    }
  }
}
