// A clinic's endpoint that a hub would send everything to, made by hand so that any one of its answers can be replaced.

import { readFileSync } from 'node:fs';

import { certificates } from '../hub.mjs';
import { answerText, readRequests, tlsDoor } from './doors.mjs';

export const PATIENT = { system: 'urn:example:nowhere-clinic', value: 'TEST-000417' }; // In the demo's settings.

const TYPES = ['MedicationAdministration', 'Observation', 'Provenance', 'Patient'];

export function statement(changes = {}) {
  const resource = (type) => ({
    type,
    interaction: ['read', 'create', 'update', 'search-type'].map((code) => ({ code })),
    versioning: 'versioned-update',
    conditionalCreate: true,
    updateCreate: true,
    searchParam: [{ name: 'identifier', type: 'token' }],
  });
  return {
    resourceType: 'CapabilityStatement',
    status: 'active',
    date: '2026-01-01',
    kind: 'instance',
    fhirVersion: '4.0.1',
    format: ['json'],
    rest: [{ mode: 'server', interaction: [{ code: 'transaction' }], resource: TYPES.map(resource) }],
    ...changes,
  };
}

export function patient(changes = {}) {
  return { resourceType: 'Patient', id: 'p-417', identifier: [PATIENT], ...changes };
}

export function searchset(...resources) {
  const entry = resources.map((resource) => ({ resource, search: { mode: 'match' } }));
  return { resourceType: 'Bundle', type: 'searchset', total: entry.length, entry };
}

export function smart(port, changes = {}) {
  return {
    token_endpoint: `https://127.0.0.1:${port}/token`,
    token_endpoint_auth_methods_supported: ['private_key_jwt'],
    token_endpoint_auth_signing_alg_values_supported: ['RS384', 'ES384'],
    grant_types_supported: ['client_credentials'],
    capabilities: ['client-confidential-asymmetric', 'permission-v2'],
    ...changes,
  };
}

export function token(changes = {}) {
  return { access_token: 'good.for-now', token_type: 'bearer', expires_in: 300, ...changes };
}

/**
 * A door that is good but for what is replaced: `metadata`, `smart`, `token`, `patient` and `all` are each an answer as
 * answerText() makes it, or a function of the request and the stream that returns one. What is written to it, it takes.
 */
export async function clinicDoor(test, { options, ...replaced } = {}) {
  const { cert, key } = certificates();
  const door = await tlsDoor(test, options ?? { cert: readFileSync(cert), key: readFileSync(key) }, (stream, ears) =>
    readRequests(stream, ears, (request, to) => {
      const [what, usual] = usualAnswer(request, door.port);
      const instead = replaced.all ?? replaced[what];
      return typeof instead === 'function' ? instead(request, to, door.port) : (instead ?? usual);
    }),
  );
  return door;
}

function usualAnswer({ method, path }, port) {
  if (path === '/fhir/metadata') return ['metadata', answerText(200, statement())];
  if (path === '/fhir/.well-known/smart-configuration') return ['smart', answerText(200, smart(port))];
  if (path === '/token') return ['token', answerText(200, token(), { 'content-type': 'application/json' })];
  if (method === 'GET' && path === '/fhir/Patient') return ['patient', answerText(200, searchset(patient()))];
  return ['write', answerText(201, '')];
}
