// Getting in at the clinic of gateway.mjs: keys, what its token server knows of the hub, and both together.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { freePort, startGateway, startTokenServer } from './gateway.mjs';
import { BUILD, certificates } from './hub.mjs';

export const SCOPE =
  'system/MedicationAdministration.crus system/Observation.crus system/Provenance.cu system/Patient.rs';

/** A new key pair by the command for it; returns its public half as the clinic's IT would be sent it. */
export function newKey(file, algorithm) {
  const printed = execFileSync(join(BUILD, 'nightferry'), ['new-key', file, '--algorithm', algorithm], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const { keys } = JSON.parse(printed);
  assert.equal(keys.length, 1);
  return keys[0];
}

export const signing = (keys) => ({
  client_id: 'hub-7',
  grant_types: ['client_credentials'],
  redirect_uris: [],
  response_types: [],
  token_endpoint_auth_method: 'private_key_jwt',
  jwks: { keys },
  scope: SCOPE,
});

/**
 * A door whose token server lets in what `client({ folder })` describes; `lines` are for the clinic's settings. `open` is
 * for startHome(); the settings then call the clinic by this `host`.
 */
export function door(test, { client, lines, gateway = {}, host = '127.0.0.1' }) {
  const made = {};
  made.open = async ({ clinic, folder }) => {
    const { cert, key } = gateway.cert ? gateway : certificates();
    const port = await freePort();
    made.tokens = await startTokenServer(test, `https://${host}:${port}`);
    await made.tokens.tell({ client: await client({ folder }) });
    Object.assign(made, await startGateway(test, { port, host, cert, key, clinic, tokens: made.tokens, ...gateway }));
    return { port, url: `https://${host}:${port}/fhir`, lines: lines(folder) };
  };
  made.log = () => readFileSync(join(made.folder, 'access.log'), 'utf8');
  return made;
}

export const byKey = (folder, more = '') =>
  `authorization = { method = "private_key_jwt", client_id = "hub-7", key = "${folder}/hub.pem"${more} }\n`;

/** A door that knows this client by another key than the hub has. */
export const KNOWS_ANOTHER_KEY = {
  client: ({ folder }) => {
    newKey(join(folder, 'hub.pem'), 'ES384');
    return signing([newKey(join(folder, 'other.pem'), 'ES384')]);
  },
  lines: byKey,
};
