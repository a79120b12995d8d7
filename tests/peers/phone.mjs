// A carer's phone as far as the hub can tell: Node's own client over TLS, with the cookies that it was given. And homes
// that serve the page to it.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import { join } from 'node:path';

import { freePort } from './gateway.mjs';
import { BUILD, startHome } from './hub.mjs';

export const NAME = 'hub.home.arpa';

/** Makes a certificate for the page in the home's folder with the command, and tells what that printed. */
export function newCertificate(home, name, ...options) {
  const [file, key] = [join(home.folder, `${name}.pem`), join(home.folder, `${name}-key.pem`)];
  const args = ['new-certificate', file, key, '--name', NAME, '--name', '127.0.0.1', ...options];
  return execFileSync(join(BUILD, 'nightferry'), args, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
}

/** A home whose settings have a page; `certificate` are more options of new-certificate, `change` changes the settings. */
export async function startHomeWithPage(test, { certificate = [], address = '127.0.0.1', change = (text) => text, ...options } = {}) {
  const port = await freePort();
  let printed;
  const home = await startHome(test, {
    ...options,
    prepare: (prepared) => {
      printed = newCertificate(prepared, 'page', ...certificate);
      prepared.changeSettings(
        (text) => `${change(text)}\n[page]\naddress = "${address}:${port}"\ncertificate = "page.pem"\nkey = "page-key.pem"\n`,
      );
    },
  });
  return Object.assign(home, { pagePort: port, printed });
}

/** The metrics, as text. */
export function metricsOf(home) {
  return new Promise((done, fail) => {
    const where = { socketPath: join(home.folder, 'nightferry.sock'), path: '/metrics', agent: false };
    http
      .get(where, (answer) => {
        let body = '';
        answer.setEncoding('utf8').on('data', (chunk) => (body += chunk));
        answer.on('end', () => done(body));
      })
      .on('error', fail);
  });
}

export class Phone {
  cookie;

  constructor(home, { port = home.pagePort, certificate = 'page.pem' } = {}) {
    Object.assign(this, { home, port, ca: readFileSync(join(home.folder, certificate)) });
  }

  /** One request; headers that are undefined are left out. */
  ask(method, path, { headers = {}, body, tls = {} } = {}) {
    const all = { host: `${NAME}:${this.port}`, cookie: this.cookie, ...headers };
    if (body !== undefined) all['content-length'] = Buffer.byteLength(body);
    for (const name of Object.keys(all)) if (all[name] === undefined) delete all[name];
    const where = { host: '127.0.0.1', port: this.port, servername: NAME, ca: this.ca, agent: false, ...tls };
    return new Promise((done, fail) => {
      const request = https.request({ ...where, method, path, headers: all }, (response) => {
        let text = '';
        response.setEncoding('utf8').on('data', (chunk) => (text += chunk));
        response.on('error', fail);
        response.on('end', () => done({ status: response.statusCode, headers: response.headers, body: text }));
      });
      request.setTimeout(30_000, () => request.destroy(new Error('no answer in time')));
      request.on('error', fail).end(body);
    });
  }

  get(path = '/', options) {
    return this.ask('GET', path, options);
  }

  /** As a browser sends a form of the page. */
  post(path, fields, headers = {}) {
    const own = {
      origin: `https://${NAME}:${this.port}`,
      'sec-fetch-site': 'same-origin',
      'content-type': 'application/x-www-form-urlencoded',
    };
    return this.ask('POST', path, { headers: { ...own, ...headers }, body: new URLSearchParams(fields).toString() });
  }

  /** Is let in by a code that was asked for at the hub, which it returns. */
  async pair(carer = 'tove', name = "Tove's phone") {
    const code = await codeFor(this.home, carer, name);
    const { status, headers } = await this.post('/pair', { code });
    assert.equal(status, 303);
    this.cookie = headers['set-cookie'][0].split(';')[0];
    return code;
  }
}

/** A code for a phone, asked for as people do. */
export async function codeFor(home, carer, name) {
  const { code, stdout, stderr } = await home.command('pair', '--carer', carer, '--name', name);
  assert.equal(code, 0, stderr);
  return /^ {4}(\S{4}-\S{4})$/m.exec(stdout)[1];
}
