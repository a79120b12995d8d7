// The fault proxy of this build as a process of its own, between a hub and its clinic.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { createInterface } from 'node:readline';

/**
 * Starts the proxy before the server on this port and waits until it listens; the test stops it at its end.
 * `options` are its command line without the dashes, like { seed: 7, percent: 25 }.
 */
export async function startFaultProxy(test, build, { cert, key }, server, options = {}) {
  const given = Object.entries({ cert, key, server, ...options }).flatMap(([name, value]) => [`--${name}`, `${value}`]);
  const child = spawn(join(build, 'tests', 'fault_proxy'), given, { stdio: ['pipe', 'pipe', 'inherit'] });
  const exited = once(child, 'exit');
  test.after(async () => {
    child.stdin.end();
    await exited;
  });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const { value: ready } = await lines.next();
  assert.match(ready ?? '', /^ready \d+$/, 'the fault proxy did not start');
  return new FaultProxy(child, lines, Number(ready.split(' ')[1]));
}

class FaultProxy {
  #child;
  #lines;
  #last = Promise.resolve();

  constructor(child, lines, port) {
    this.#child = child;
    this.#lines = lines;
    this.port = port;
  }

  /** One order, one line of answer; they are given one after the other. */
  #order(text) {
    this.#last = this.#last.then(async () => {
      this.#child.stdin.write(`${text}\n`);
      const { value, done } = await this.#lines.next();
      assert.ok(!done, `the fault proxy ended with ${this.#child.exitCode ?? this.#child.signalCode}`);
      return value;
    });
    return this.#last;
  }

  async #change(text) {
    assert.equal(await this.#order(text), 'ok', text);
  }

  /** So many of a hundred requests meet a fault. */
  setPercent(percent) {
    return this.#change(`percent ${percent}`);
  }

  /** Draws nothing but these faults; without any it draws all of them. */
  restrictTo(...faults) {
    return this.#change(['only', ...faults].join(' '));
  }

  /** The next requests (or connections) meet this fault; with 'none' requests pass. In the order of these calls. */
  force(fault, times = 1) {
    return this.#change(`force ${fault} ${times}`);
  }

  /** No fault from now on. */
  calm() {
    return this.#change('calm');
  }

  /** {connections, requests, forwarded, abandoned, outstanding, faults: {name: count}} */
  async counts() {
    return JSON.parse(await this.#order('counts'));
  }
}
