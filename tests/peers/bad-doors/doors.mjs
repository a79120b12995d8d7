// The pieces of which the doors are made: something that listens on 127.0.0.1, and what it heard.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import net from 'node:net';
import tls from 'node:tls';

import { freePort } from '../gateway.mjs';

const RECORD_TYPES = { 20: 'change_cipher_spec', 21: 'alert', 22: 'handshake', 23: 'application_data' };

/** Everything that came to a door, as it came (`raw`) and, where it spoke TLS, as it was inside. */
export class Ears {
  connections = 0;
  raw = []; // Buffers, one for each connection.
  inside = []; // The same.
  requests = []; // "GET /fhir/metadata", in order.

  /** The types of the TLS records on one connection; undefined when what came is not TLS. */
  static records(bytes) {
    const types = [];
    for (let at = 0; at < bytes.length;) {
      const type = RECORD_TYPES[bytes[at]];
      if (!type || bytes[at + 1] !== 3) return undefined;
      types.push(type);
      at += 5 + (at + 5 <= bytes.length ? bytes.readUInt16BE(at + 3) : bytes.length);
    }
    return types;
  }

  all() {
    return Buffer.concat([...this.raw, ...this.inside]);
  }

  #hear(list) {
    const place = list.push(Buffer.alloc(0)) - 1;
    return (chunk) => (list[place] = Buffer.concat([list[place], chunk]));
  }
  hearRaw(socket) {
    this.connections += 1;
    socket.on('data', this.#hear(this.raw));
  }
  hearInside(stream) {
    stream.on('data', this.#hear(this.inside));
  }
}

function listen(test, server) {
  const sockets = new Set();
  server.on('connection', (socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
    socket.on('error', () => {});
  });
  test.after(() => {
    server.close();
    for (const socket of sockets) socket.destroy();
  });
  return new Promise((ready) => server.listen(0, '127.0.0.1', () => ready(server.address().port)));
}

/** Passes on what comes to this port, and hears it. */
export async function inFrontOf(test, port, ears) {
  const front = net.createServer((socket) => {
    ears.hearRaw(socket);
    const on = net.connect(port, '127.0.0.1');
    on.on('error', () => {});
    socket.pipe(on).pipe(socket);
    socket.once('close', () => on.destroy());
    on.once('close', () => socket.destroySoon());
  });
  return listen(test, front);
}

/** A door without TLS: `open(socket)` does what there is to be done on a connection. */
export async function plainDoor(test, open) {
  const ears = new Ears();
  const port = await listen(
    test,
    net.createServer((socket) => {
      ears.hearRaw(socket);
      open(socket, ears);
    }),
  );
  return { port, ears };
}

/** A door with TLS of these options; `open(stream)` does what there is to be done inside. */
export async function tlsDoor(test, options, open) {
  const ears = new Ears();
  const server = tls.createServer({ ALPNProtocols: ['http/1.1'], ...options }, (stream) => {
    stream.on('error', () => {});
    ears.hearInside(stream);
    open(stream, ears);
  });
  server.on('tlsClientError', () => {});
  const port = await inFrontOf(test, await listen(test, server), ears);
  return { port, ears };
}

/** The TLS server of the openssl command, which judges certificates of clients as most servers do. */
export async function opensslDoor(test, args) {
  const ears = new Ears();
  const inner = await freePort();
  const child = spawn('openssl', ['s_server', '-accept', `127.0.0.1:${inner}`, '-quiet', ...args], {
    stdio: ['pipe', 'pipe', 'ignore'],
  });
  const ended = once(child, 'exit');
  ears.hearInside(child.stdout);
  test.after(() => {
    child.kill('SIGKILL');
    return ended;
  });
  for (let is = false; !is;) {
    const socket = net.connect(inner, '127.0.0.1');
    is = await Promise.race([
      once(socket, 'connect').then(
        () => true,
        () => false,
      ),
      ended.then(() => Promise.reject(new Error('openssl s_server ended'))),
    ]);
    socket.destroy();
  }
  return { port: await inFrontOf(test, inner, ears), ears };
}

/** Reads the requests on a stream; for each, `answer(request, stream)` returns what is written, or writes it itself. */
export function readRequests(stream, ears, answer) {
  let rest = Buffer.alloc(0);
  stream.on('data', (chunk) => {
    rest = Buffer.concat([rest, chunk]);
    for (;;) {
      const end = rest.indexOf('\r\n\r\n');
      if (end < 0) return;
      const head = rest.subarray(0, end).toString('latin1');
      const length = Number(/^content-length: *(\d+)/im.exec(head)?.[1] ?? 0);
      if (rest.length < end + 4 + length) return;
      const body = rest.subarray(end + 4, end + 4 + length).toString();
      rest = rest.subarray(end + 4 + length);
      const [method, target] = head.split(' ');
      ears.requests.push(`${method} ${target}`);
      const text = answer({ method, target, path: target.split('?')[0], head, body }, stream);
      if (text !== undefined) stream.write(text);
    }
  });
}

/** The text of an HTTP/1.1 answer. */
export function answerText(status, body = '', headers = {}) {
  const bytes = Buffer.isBuffer(body) ? body : Buffer.from(typeof body === 'string' ? body : JSON.stringify(body));
  const all = { 'content-type': 'application/fhir+json', 'content-length': bytes.length, ...headers };
  const lines = Object.entries(all).map(([name, value]) => `${name}: ${value}\r\n`);
  return Buffer.concat([Buffer.from(`HTTP/1.1 ${status} As It Is\r\n${lines.join('')}\r\n`), bytes]);
}
