// Ways to the clinic that end before it: names, ports, proxies.

import { freePort } from '../gateway.mjs';
import { plainDoor } from './doors.mjs';
import { signingIn } from './tokens.mjs';

const proxy =
  (answer) =>
  async ({ test, folder }) => {
    const { port, ears } = await plainDoor(test, (socket) => socket.once('data', () => socket.end(answer)));
    return {
      ears,
      url: 'https://clinic.example/fhir',
      lines: `proxy = "http://127.0.0.1:${port}"\n${signingIn(folder)}`,
    };
  };

// RFC 6761 section 6.4: names below "invalid" do not exist.
export const NO_WAY = [
  {
    name: 'a name that does not exist',
    make: async ({ folder }) => ({ url: 'https://clinic.invalid/fhir', lines: signingIn(folder) }),
    says: /the name clinic\.invalid cannot be resolved/,
  },
  {
    name: 'a port that is closed',
    make: async () => ({ port: await freePort() }),
    says: /no connection to 127\.0\.0\.1: Connection refused/,
  },
  {
    name: 'a proxy that is not there',
    make: async ({ folder }) => ({
      url: 'https://clinic.example/fhir',
      lines: `proxy = "http://127.0.0.1:${await freePort()}"\n${signingIn(folder)}`,
    }),
    says: /the proxy cannot be reached/,
  },
  {
    name: 'a proxy that refuses',
    hears: 'connect',
    make: proxy('HTTP/1.1 403 Forbidden\r\n\r\n'),
    says: /the proxy .* opens no way to clinic\.example:443: HTTP 403.*proxy/,
  },
  {
    name: 'a proxy that wants a password',
    hears: 'connect',
    make: proxy('HTTP/1.1 407 Proxy Authentication Required\r\n\r\n'),
    says: /wants a user name and a password \(HTTP 407\).*proxy_credentials/,
  },
  {
    name: 'a proxy that speaks something else',
    hears: 'connect',
    make: proxy('SSH-2.0-OpenSSH_9.2\r\n\r\n'),
    says: /the proxy .* did not open a way/,
  },
  {
    name: 'a proxy that cannot reach the clinic',
    hears: 'connect',
    make: proxy('HTTP/1.1 502 Bad Gateway\r\n\r\n'),
    says: /HTTP 502/,
  },
  {
    name: 'a proxy that answers as the clinic',
    hears: 'connect',
    make: proxy('HTTP/1.1 200 OK\r\n\r\nHTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n'),
    says: /sent more than its answer/,
  },
];
