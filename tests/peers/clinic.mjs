// A clinic's FHIR R4 endpoint for tests: https://127.0.0.1:PORT/fhir, or http without a certificate.
//
//   node clinic.mjs [--cert FILE --key FILE] [--port N] [--delay-ms N] [--refuse-note TEXT] [--token TEXT]
//                   [--max-entries N] [--clock-ahead-s N]
//
// Prints one line, "ready PORT", once it answers; SIGTERM ends it at once. Nothing outlives the process.
//
// The FHIR behaviour (routes, bundles, conditions, versions, searches, validation, error outcomes) is Medplum's, so
// that no mistake of ours can hide in client and server alike. This file adds HTTP and the ways to misbehave on
// purpose, which POST /test/options changes at run time: {"delay-ms": 500, "lose-answers": 1, "down": false, ...}.
// GET /test/counts tells what has arrived and what is stored.

import { readFileSync } from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import { setTimeout as sleep } from 'node:timers/promises';
import { parseArgs } from 'node:util';

import { badRequest, getStatus, isOk, normalizeOperationOutcome, notFound, unauthorized } from '@medplum/core';
import { FhirRouter } from '@medplum/fhir-router';

import { capabilityStatement, loadDefinitions } from './clinic-metadata.mjs';
import { ClinicStore } from './clinic-store.mjs';

const BASE_PATH = '/fhir';
const ACCEPTED_CONTENT = new Set(['application/fhir+json', 'application/json', 'application/json-patch+json']);

// What can be changed while the server runs, and how a value (text from the command line, JSON from the test route)
// is read. All but the last two can be given on the command line.
const OPTIONS = {
  'delay-ms': wholeNumber, // every answer to a write waits this long, after the write took effect
  'refuse-note': text, // a resource that contains this is refused with 422
  token: text, // without this bearer token every request is refused with 401
  'max-entries': wholeNumber, // a bundle with more entries is refused with 413; 0 for no limit
  'clock-ahead-s': wholeNumber, // by so much its clock is wrong
  'lose-answers': wholeNumber, // so many writes take effect and get no answer: the connection is closed
  down: flag, // every connection is closed without an answer, and nothing takes effect
};
const options = { 'delay-ms': 0, 'refuse-note': '', token: '', 'max-entries': 0, 'clock-ahead-s': 0, 'lose-answers': 0, down: false };

const router = new FhirRouter();
const store = new ClinicStore();
let requests = 0;

function wholeNumber(value) {
  const number = Number(value);
  if (!Number.isSafeInteger(number) || number < 0) throw new Error(`not a whole number: ${value}`);
  return number;
}

function text(value) {
  return String(value ?? '');
}

function flag(value) {
  if (typeof value !== 'boolean') throw new Error(`not true or false: ${value}`);
  return value;
}

function setOptions(changes) {
  const unknown = Object.keys(changes).find((name) => !Object.hasOwn(OPTIONS, name));
  if (unknown) throw new Error(`unknown option: ${unknown}`);
  const read = Object.entries(changes).map(([name, value]) => [name, OPTIONS[name](value)]);
  Object.assign(options, Object.fromEntries(read)); // only once every value was understood
  store.refuseNote = options['refuse-note'];
}

// One request at a time reaches the store, so none sees a transaction half done, nor do two find the same condition
// unmet, whenever and however often the library yields.
let lastTurn = Promise.resolve();
function inTurn(work) {
  const turn = lastTurn.then(work);
  lastTurn = turn.catch(() => {});
  return turn;
}

async function serve(request, response) {
  const path = request.url.split('?')[0];
  if (path.startsWith('/test/')) return serveTest(request, response, path);
  if (path !== BASE_PATH && !path.startsWith(`${BASE_PATH}/`)) return send(response, 404, notFound);

  requests += 1;
  if (options['clock-ahead-s'] > 0) response.setHeader('Date', new Date(Date.now() + options['clock-ahead-s'] * 1000).toUTCString());
  if (options.down) return request.socket.destroy();
  if (options.token && request.headers.authorization !== `Bearer ${options.token}`) {
    response.setHeader('WWW-Authenticate', 'Bearer');
    return send(response, 401, unauthorized);
  }
  const base = `${request.socket.encrypted ? 'https' : 'http'}://${request.headers.host}${BASE_PATH}`;
  if (request.method === 'GET' && path === `${BASE_PATH}/metadata`) {
    return send(response, 200, capabilityStatement(base));
  }
  const answer = await answerFhir(request);
  if (isWrite(request.method, path)) {
    const lost = answer.status < 300 && options['lose-answers'] > 0;
    if (lost) options['lose-answers'] -= 1;
    if (options['delay-ms'] > 0) await sleep(options['delay-ms']);
    if (lost) return request.socket.destroy();
  }
  describeVersion(response, answer, base);
  return send(response, answer.status, answer.body);
}

function isWrite(method, path) {
  return method !== 'GET' && method !== 'HEAD' && !path.endsWith('/_search');
}

async function answerFhir(request) {
  const bytes = await readAll(request);
  const parsed = parseBody(request, bytes);
  if (parsed.refused) return { status: parsed.status, body: parsed.refused };
  const { body } = parsed;

  const entries = body?.resourceType === 'Bundle' && Array.isArray(body.entry) ? body.entry.length : 0;
  if (options['max-entries'] > 0 && entries > options['max-entries']) {
    return { status: 413, body: problem('too-long', `A bundle may have ${options['max-entries']} entries at most`) };
  }
  const fhirRequest = {
    method: request.method,
    url: request.url.slice(BASE_PATH.length),
    pathname: '', // filled in by the router, like params and query
    params: {},
    query: {},
    headers: request.headers,
    body,
    config: { transactions: true },
  };
  const [outcome, resource] = await inTurn(() => router.handleRequest(fhirRequest, store)).catch((error) => [
    normalizeOperationOutcome(error),
  ]);
  return { status: getStatus(outcome), body: isOk(outcome) && resource ? resource : outcome };
}

/** The request's body as the router wants it, or the outcome and status with which it is refused. */
function parseBody(request, bytes) {
  if (bytes.length === 0) return {};
  const type = (request.headers['content-type'] ?? '').split(';')[0].trim().toLowerCase();
  if (type === 'application/x-www-form-urlencoded' && request.url.endsWith('/_search')) {
    const form = new URLSearchParams(bytes.toString('utf8'));
    return { body: Object.fromEntries([...form.keys()].map((name) => [name, form.getAll(name)])) };
  }
  if (!ACCEPTED_CONTENT.has(type)) {
    return { status: 415, refused: problem('not-supported', `Content-Type is not a JSON format: ${type || 'none'}`) };
  }
  try {
    return { body: JSON.parse(bytes.toString('utf8')) };
  } catch {
    return { status: 400, refused: badRequest('The body is not JSON') };
  }
}

async function readAll(request) {
  const chunks = [];
  for await (const chunk of request) chunks.push(chunk);
  return Buffer.concat(chunks);
}

function problem(code, details) {
  return { resourceType: 'OperationOutcome', issue: [{ severity: 'error', code, details: { text: details } }] };
}

/** The headers of a single resource; a bundle or an outcome has no version of its own. */
function describeVersion(response, { status, body }, base) {
  const { versionId, lastUpdated } = body.meta ?? {};
  if (!versionId) return;
  response.setHeader('ETag', `W/"${versionId}"`);
  response.setHeader('Last-Modified', new Date(lastUpdated).toUTCString());
  if (status === 201) response.setHeader('Location', `${base}/${body.resourceType}/${body.id}/_history/${versionId}`);
}

function send(response, status, body, contentType = 'application/fhir+json') {
  const bytes = Buffer.from(JSON.stringify(body));
  response.writeHead(status, { 'Content-Type': contentType, 'Content-Length': bytes.length });
  response.end(bytes);
}

async function serveTest(request, response, path) {
  const plain = 'application/json';
  if (request.method === 'GET' && path === '/test/counts') {
    return send(response, 200, { requests, writes: store.writes, byType: store.countByType() }, plain);
  }
  if (request.method === 'POST' && path === '/test/options') {
    try {
      setOptions(JSON.parse((await readAll(request)).toString('utf8')));
    } catch (error) {
      return send(response, 400, { error: error.message }, plain);
    }
    return send(response, 200, options, plain);
  }
  return send(response, 404, { error: 'no such test route' }, plain);
}

/** Whom the clinic knows from the start: one patient, two carers and the hub that will report. */
async function seed() {
  const system = 'urn:example:nowhere-clinic';
  const patient = { reference: 'Patient/p1' };
  const person = (resourceType, id, value, given, family) => ({
    resourceType,
    id,
    identifier: [{ system, value }],
    name: [{ given: [given], family }],
  });
  await store.createResource(person('Patient', 'p1', 'TEST-000417', 'Juniper', 'Exampleton-Test'));
  await store.createResource({ ...person('RelatedPerson', 'marlow', 'marlow', 'Marlow', 'Exampleton'), patient });
  await store.createResource({ ...person('RelatedPerson', 'tove', 'tove', 'Tove', 'Exampleton'), patient });
  await store.createResource({ resourceType: 'Device', id: 'hub', identifier: [{ system, value: 'hub' }], patient });
  store.writes = 0;
}

async function main() {
  process.on('SIGTERM', () => process.exit(0));
  const names = ['cert', 'key', 'port', 'delay-ms', 'refuse-note', 'token', 'max-entries', 'clock-ahead-s'];
  const { values } = parseArgs({ options: Object.fromEntries(names.map((name) => [name, { type: 'string' }])) });
  const { cert, key, port, ...changes } = values;
  loadDefinitions();
  await seed();
  setOptions(changes); // after the seed, which a note to refuse must not touch

  // A connection that breaks while a request is under way is what the tests are about, not an error of this server.
  const handle = (request, response) =>
    serve(request, response).catch((error) => {
      if (response.headersSent || request.socket.destroyed) return request.socket.destroy();
      return send(response, 500, normalizeOperationOutcome(error));
    });
  const server = cert
    ? https.createServer({ cert: readFileSync(cert), key: readFileSync(key) }, handle)
    : http.createServer(handle);
  server.listen(wholeNumber(port ?? 0), '127.0.0.1', () => {
    process.stdout.write(`ready ${server.address().port}\n`);
  });
}

await main();
