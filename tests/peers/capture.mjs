// What really goes over the wire: tshark (Debian) captures one port of the loopback interface.
//
// Not every machine permits that: it takes root, or CAP_NET_RAW for dumpcap. Where it is not permitted startCapture()
// says so, and fails only when NIGHTFERRY_NEED_CAPTURE is set.

import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import net from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

const PATIENCE_MS = 30_000;

/** Knocks, so that there is something to capture. */
async function knock(port) {
  const socket = net.connect(port, '127.0.0.1');
  await Promise.race([once(socket, 'connect'), once(socket, 'error')]).catch(() => {});
  socket.destroy();
}

/**
 * Captures what goes to and from this port until stop(), which tells the Capture. Undefined when that is not permitted
 * here; the test was then skipped. To know that it has begun it knocks, which leaves connections without a byte.
 */
export async function startCapture(test, port) {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-capture-'));
  const file = join(folder, 'loopback.pcap');
  const child = spawn('tshark', ['-i', 'lo', '-f', `tcp port ${port}`, '-w', file, '-F', 'pcap', '-q'], {
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let words = '';
  child.stderr.on('data', (chunk) => (words += chunk));
  let hasEnded = false;
  const ended = once(child, 'exit')
    .catch((error) => (words += error.message))
    .then(() => (hasEnded = true));
  test.after(async () => {
    child.kill('SIGKILL');
    await ended;
    rmSync(folder, { recursive: true, force: true });
  });
  const size = () => (existsSync(file) ? statSync(file).size : 0);
  const empty = 24; // The header of a pcap file.
  for (const deadline = Date.now() + PATIENCE_MS; size() <= empty && !hasEnded;) {
    assert.ok(Date.now() < deadline, `nothing was captured: ${words}`);
    await knock(port);
    await sleep(100);
  }
  if (hasEnded) {
    const why = `this machine does not permit capturing: ${words.trim()}`;
    assert.ok(!process.env.NIGHTFERRY_NEED_CAPTURE, why);
    test.skip(why);
    return undefined;
  }
  return {
    async stop() {
      // What was sent last is written a moment later.
      for (let before = -1; before !== size();) {
        before = size();
        await sleep(500);
      }
      child.kill('SIGINT');
      await ended;
      return new Capture(file, port);
    },
  };
}

class Capture {
  constructor(file, port) {
    Object.assign(this, { file, port, bytes: readFileSync(file) });
  }

  /** These fields of the packets that a display filter lets through, as tshark tells them. */
  fields(filter, ...names) {
    const args = [
      '-r',
      this.file,
      '-d',
      `tcp.port==${this.port},tls`,
      '-Y',
      filter,
      '-T',
      'fields',
      ...names.flatMap((name) => ['-e', name]),
    ];
    const text = execFileSync('tshark', args, {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
      maxBuffer: 1 << 30,
    });
    return text
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => line.split('\t'));
  }

  /** What each connection carried, the two directions apart; connections without a byte are left out. */
  streams() {
    const all = new Map();
    for (const [stream, to, payload] of this.fields(
      'tcp.len > 0 && !tcp.analysis.retransmission',
      'tcp.stream',
      'tcp.dstport',
      'tcp.payload',
    )) {
      const key = `${stream} ${Number(to) === this.port ? 'from the hub' : 'from the clinic'}`;
      all.set(key, [...(all.get(key) ?? []), Buffer.from(payload.replaceAll(':', ''), 'hex')]);
    }
    return [...all].map(([key, parts]) => ({ isFromHub: key.endsWith('hub'), bytes: Buffer.concat(parts) }));
  }
}
