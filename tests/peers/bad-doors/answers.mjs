// Servers that are who they say, and whose answers are no good: what is broken is the answer to whatever is asked.

import { gzipSync } from 'node:zlib';

import { answerText } from './doors.mjs';
import { clinicDoor, statement } from './clinic.mjs';

const MEBIBYTE = 1024 * 1024;
const STEP_MS = 500;

const raw =
  (text) =>
  ({ test }) =>
    clinicDoor(test, { all: Buffer.from(text, 'latin1') });
const thenClosed =
  (text) =>
  ({ test }) =>
    clinicDoor(test, {
      all: (_, stream) => {
        stream.end(text, 'latin1');
      },
    });
const does =
  (act) =>
  ({ test }) =>
    clinicDoor(test, {
      all: (_, stream) => {
        act(stream);
      },
    });

/** Writes until the other side has had enough. */
function writeOn(stream, chunk, most) {
  let left = most;
  const more = () => {
    while (left > 0 && !stream.destroyed) {
      left -= chunk.length;
      if (!stream.write(chunk)) return stream.once('drain', more);
    }
    return undefined;
  };
  more();
}

/** Writes one piece now and then, for ever. */
function drip(stream, first, piece) {
  stream.write(first);
  const timer = setInterval(() => stream.write(piece), STEP_MS);
  stream.once('close', () => clearInterval(timer));
}

const packed = (body) => raw(answerText(200, body, { 'content-encoding': 'gzip' }).toString('latin1'));
const good = JSON.stringify(statement());

export const BROKEN_ANSWERS = [
  {
    name: 'a server that speaks something else inside TLS',
    make: raw('220 mail.example ESMTP\r\n\r\n'),
    fault: 'version',
    says: /is no HTTP.*port/,
  },
  { name: 'a status line that is none', make: raw('HTTP/1.1 good\r\n\r\n'), fault: 'no HTTP', says: /is no HTTP/ },
  {
    name: 'a body that is announced too large',
    fault: 'large',
    make: does((stream) =>
      writeOn(stream, Buffer.from(`HTTP/1.1 200 OK\r\nContent-Length: ${32 * MEBIBYTE}\r\n\r\n`), 1),
    ),
    says: /larger than we take \(16 MiB\)/,
  },
  {
    name: 'a body that goes on for ever in chunks',
    fault: 'large',
    make: does((stream) => {
      stream.write('HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n');
      writeOn(stream, Buffer.from(`10000\r\n${'a'.repeat(0x10000)}\r\n`), 64 * MEBIBYTE);
    }),
    says: /larger than we take \(16 MiB\)/,
  },
  {
    name: 'few bytes that unpack to very many',
    make: packed(gzipSync(Buffer.alloc(32 * MEBIBYTE, 0x20))),
    says: /unpacks to more than we take/,
  },
  {
    name: 'a packed body that is cut off',
    make: packed(gzipSync(good).subarray(0, 60)),
    fault: 'gzip',
    says: /cannot be unpacked/,
  },
  {
    name: 'a packed body that was changed on the way',
    fault: 'gzip',
    make: packed(gzipSync(good).fill(0x55, 40, 60)),
    says: /cannot be unpacked/,
  },
  {
    name: 'a coding that was not asked for',
    make: raw(answerText(200, good, { 'content-encoding': 'br' }).toString('latin1')),
    says: /packed in a way that was not asked for/,
  },
  {
    name: 'a flood of header lines',
    fault: 'head',
    make: does((stream) =>
      writeOn(stream, Buffer.from(`HTTP/1.1 200 OK\r\n${'X-Flood: 0123456789abcdef\r\n'.repeat(8000)}\r\n`), 1),
    ),
    says: /has a head that is larger than we take \(64 KiB\)/,
  },
  {
    name: 'header lines without end',
    fault: 'head',
    make: does((stream) => {
      stream.write('HTTP/1.1 200 OK\r\n');
      writeOn(stream, Buffer.from('X-Endless: 0123456789abcdef\r\n'), 64 * MEBIBYTE);
    }),
    says: /has a head that is larger than we take \(64 KiB\)/,
  },
  {
    name: 'a content length below nothing',
    fault: 'length',
    make: raw('HTTP/1.1 200 OK\r\nContent-Length: -5\r\n\r\n'),
    says: /is no HTTP.*Content-Length/,
  },
  {
    name: 'two content lengths that differ',
    fault: 'length',
    make: raw('HTTP/1.1 200 OK\r\nContent-Length: 2\r\nContent-Length: 5\r\n\r\n{}abc'),
    says: /is no HTTP.*Content-Length/,
  },
  {
    name: 'a length and chunks at once',
    make: raw('HTTP/1.1 200 OK\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n'),
    fault: 'length',
    says: /is no HTTP/,
  },
  {
    name: 'a chunk that has no size',
    make: raw('HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n'),
    says: /is no HTTP.*chunk/,
  },
  {
    name: 'an answer that is cut off',
    make: thenClosed(`HTTP/1.1 200 OK\r\nContent-Length: ${good.length}\r\n\r\n${good.slice(0, 40)}`),
    says: /broke in the middle of the answer/,
  },
  { name: 'a connection that is closed without an answer', make: thenClosed(''), says: /broke before an answer came/ },
  {
    name: 'a head that comes drop by drop',
    fault: 'late',
    slow: true,
    make: does((stream) => drip(stream, 'HTTP/1.1 200 OK\r\n', 'X-Slow: a\r\n')),
    says: /did not answer in time/,
  },
  {
    name: 'a body that comes drop by drop',
    fault: 'late',
    slow: true,
    make: does((stream) => drip(stream, 'HTTP/1.1 200 OK\r\nContent-Length: 100000\r\n\r\n', ' ')),
    says: /did not answer in time/,
  },
  {
    name: 'silence in place of an answer',
    fault: 'late',
    slow: true,
    make: does(() => {}),
    says: /did not answer in time/,
  },
];
