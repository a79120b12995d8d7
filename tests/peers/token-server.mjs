// An OAuth 2.0 token server for tests, behind a gateway that does the TLS: oidc-provider (npm), which is certified for
// OpenID Connect and knows private_key_jwt, certificates (RFC 8705) and introspection. Nothing of it is ours but the
// list of clients and a door for the gateway to ask whether a token is good.
//
// One command a line on standard input: {"client": {...}} registers or replaces one, {"seconds": N} is how long new
// tokens live, {"revoke": true} ends all that are out. Each is answered by a line. Prints "ready PORT" first.

import { createHash, X509Certificate } from 'node:crypto';
import http from 'node:http';
import { createInterface } from 'node:readline';
import { parseArgs } from 'node:util';

import { Provider } from 'oidc-provider';

const { values } = parseArgs({ options: { issuer: { type: 'string' } } });

const TYPES = ['MedicationAdministration', 'Observation', 'Provenance', 'Patient'];
const SCOPES = TYPES.flatMap((type) => ['crus', 'cu', 'rs', 'read', 'write', 'r', 'c'].map((what) => `system/${type}.${what}`));

let seconds = 300;
const stored = new Map();

/** Everything in memory; clients are looked up anew each time, so that they can be replaced. */
class Memory {
  constructor(kind) {
    this.kind = kind;
  }
  async upsert(id, payload) {
    stored.set(`${this.kind} ${id}`, payload);
  }
  async find(id) {
    return stored.get(`${this.kind} ${id}`);
  }
  async findByUid() {}
  async findByUserCode() {}
  async consume() {}
  async destroy(id) {
    stored.delete(`${this.kind} ${id}`);
  }
  async revokeByGrantId() {}
}

const provider = new Provider(values.issuer, {
  adapter: Memory,
  scopes: SCOPES,
  clientAuthMethods: ['private_key_jwt', 'tls_client_auth', 'self_signed_tls_client_auth'],
  enabledJWA: { clientAuthSigningAlgValues: ['RS384', 'ES384'] },
  features: {
    devInteractions: { enabled: false },
    clientCredentials: { enabled: true },
    mTLS: {
      enabled: true,
      certificateBoundAccessTokens: true,
      tlsClientAuth: true,
      selfSignedTlsClientAuth: true,
      getCertificate: (ctx) => (ctx.get('x-client-certificate') ? decodeURIComponent(ctx.get('x-client-certificate')) : undefined),
      // The gateway has checked it against its authority.
      certificateAuthorized: (ctx) => ctx.get('x-client-verified') === 'SUCCESS',
      certificateSubjectMatches: (ctx, property, expected) =>
        property === 'tls_client_auth_subject_dn' && ctx.get('x-client-subject') === expected,
    },
  },
  ttl: { ClientCredentials: () => seconds },
});
provider.proxy = true;

function thumbprint(pem) {
  return createHash('sha256').update(new X509Certificate(pem).raw).digest('base64url');
}

// What a request needs, by HTTP's verbs; bundles are the server's own affair here.
function permits(scopes, method, path) {
  const type = /^\/fhir\/([A-Za-z]+)/.exec(path)?.[1];
  if (type === undefined || type === 'metadata') return true;
  const letter = { GET: path.includes('?') ? 's' : 'r', POST: 'c', PUT: 'u' }[method];
  return scopes.some((scope) => new RegExp(`^system/${type}\\.[cruds]*${letter}`).test(scope));
}

async function check(request) {
  const [, token] = /^Bearer (.+)$/.exec(request.headers.authorization ?? '') ?? [];
  const found = token && (await provider.ClientCredentials.find(token));
  if (!found || found.isExpired) return 401;
  // RFC 8705 section 3: it is good for the certificate only for which it was given.
  const bound = found['x5t#S256'];
  const shown = request.headers['x-client-certificate'];
  if (bound && (!shown || thumbprint(decodeURIComponent(shown)) !== bound)) return 401;
  return permits((found.scope ?? '').split(' '), request.headers['x-method'], request.headers['x-path']) ? 204 : 403;
}

const callback = provider.callback();
const server = http.createServer(async (request, response) => {
  if (request.url !== '/check') return callback(request, response);
  response.writeHead(await check(request)).end();
});

createInterface({ input: process.stdin }).on('line', async (line) => {
  const command = JSON.parse(line);
  if (command.client) stored.set(`Client ${command.client.client_id}`, command.client);
  if (command.seconds) seconds = command.seconds;
  if (command.revoke) for (const key of stored.keys()) if (key.startsWith('ClientCredentials ')) stored.delete(key);
  console.log('done');
});

server.listen(0, '127.0.0.1', () => console.log(`ready ${server.address().port}`));
process.on('SIGTERM', () => process.exit(0));
