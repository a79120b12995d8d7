// What a hospital has in front of its servers: nginx (Debian), which ends TLS, asks for client certificates, lets the
// token server judge each request, and passes the rest on.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import net from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const TOKEN_SERVER = fileURLToPath(new URL('token-server.mjs', import.meta.url));

/** A port that nobody listens at now. */
export async function freePort() {
  const server = net.createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address();
  server.close();
  await once(server, 'close');
  return port;
}

/** Waits until somebody listens there. */
export async function listening(port) {
  for (let tries = 0; tries < 500; ++tries) {
    const socket = net.connect(port, '127.0.0.1');
    const is = await new Promise((done) => {
      socket.once('connect', () => done(true));
      socket.once('error', () => done(false));
    });
    socket.destroy();
    if (is) return;
    await sleep(20);
  }
  throw new Error(`nobody listens at ${port}`);
}

/** Starts the token server for this issuer; the test stops it. */
export async function startTokenServer(test, issuer) {
  const child = spawn(process.execPath, [TOKEN_SERVER, '--issuer', issuer], { stdio: ['pipe', 'pipe', 'ignore'] });
  const exited = once(child, 'exit');
  test.after(() => {
    child.kill('SIGKILL');
    return exited;
  });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const next = async () => (await Promise.race([lines.next(), exited.then(() => Promise.reject(new Error('the token server ended')))])).value;
  const port = Number(/^ready (\d+)$/.exec(await next())[1]);
  return {
    port,
    async tell(command) {
      child.stdin.write(`${JSON.stringify(command)}\n`);
      return next();
    },
  };
}

/**
 * Starts nginx at this port, called `host`, with these files of a certificate, before a clinic and a token server. With
 * `clientCa` it asks for a certificate of that authority; with `needsCertificate` nobody is let in without.
 */
export async function startGateway(test, { port, host = '127.0.0.1', cert, key, clientCa, needsCertificate = false, clinic, tokens }) {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-gateway-'));
  for (const name of ['body', 'proxy', 'fastcgi', 'uwsgi', 'scgi']) mkdirSync(join(folder, name));
  const verify = clientCa ? `ssl_client_certificate ${clientCa}; ssl_verify_client ${needsCertificate ? 'on' : 'optional'};` : '';
  const smart = JSON.stringify({
    token_endpoint: `https://${host}:${port}/token`,
    token_endpoint_auth_methods_supported: ['private_key_jwt'],
    token_endpoint_auth_signing_alg_values_supported: ['RS384', 'ES384'],
    grant_types_supported: ['client_credentials'],
    capabilities: ['client-confidential-asymmetric', 'permission-v2'],
  });
  writeFileSync(
    join(folder, 'nginx.conf'),
    `daemon off; master_process off; worker_processes 1; pid ${folder}/pid; error_log ${folder}/error.log;
events {}
http {
  access_log ${folder}/access.log;
  client_body_temp_path ${folder}/body; proxy_temp_path ${folder}/proxy; fastcgi_temp_path ${folder}/fastcgi;
  uwsgi_temp_path ${folder}/uwsgi; scgi_temp_path ${folder}/scgi;
  client_max_body_size 20m; gzip on; gzip_types application/fhir+json application/json; gzip_min_length 1;
  server {
    listen 127.0.0.1:${port} ssl;
    ssl_certificate ${cert}; ssl_certificate_key ${key}; ssl_protocols TLSv1.2 TLSv1.3; ${verify}
    location /fhir { auth_request /check; proxy_pass http://127.0.0.1:${clinic.port}; proxy_pass_header Date; }
    location = /fhir/.well-known/smart-configuration { default_type application/json; return 200 '${smart}'; }
    location = /check {
      internal; proxy_pass http://127.0.0.1:${tokens.port}/check; proxy_pass_request_body off;
      proxy_set_header Content-Length ""; proxy_set_header X-Method $request_method; proxy_set_header X-Path $request_uri;
      proxy_set_header X-Client-Certificate $ssl_client_escaped_cert;
    }
    location / {
      proxy_pass http://127.0.0.1:${tokens.port};
      proxy_set_header Host $http_host; proxy_set_header X-Forwarded-Proto https; proxy_set_header X-Forwarded-Host $http_host;
      proxy_set_header X-Client-Certificate $ssl_client_escaped_cert; proxy_set_header X-Client-Verified $ssl_client_verify;
      proxy_set_header X-Client-Subject $ssl_client_s_dn;
    }
  }
}
`,
  );
  const child = spawn('nginx', ['-p', folder, '-c', join(folder, 'nginx.conf')], { stdio: ['ignore', 'ignore', 'pipe'] });
  let words = '';
  child.stderr.on('data', (chunk) => (words += chunk));
  const exited = once(child, 'exit');
  test.after(async () => {
    child.kill('SIGKILL');
    await exited;
    rmSync(folder, { recursive: true, force: true });
  });
  await Promise.race([listening(port), exited.then(() => Promise.reject(new Error(`nginx ended: ${words}`)))]);
  return { port, folder };
}
