// A second clinic's FHIR R4 endpoint for tests, of another make: https://127.0.0.1:PORT/fhir, or http without a
// certificate.
//
//   node second-clinic.mjs [--cert FILE --key FILE] [--port N] [--offers transaction,batch] [--takes-ids]
//
// Prints one line, "ready PORT", once it answers; SIGTERM ends it at once. Nothing outlives the process.
//
// Routes, validation, CapabilityStatement, reading bundles and the references in them, answers and errors are those of
// FHIR Works on AWS (fhir-works-on-aws-routing 6.6.2). This file adds what that leaves to its user, in memory: storing,
// and searching by identifier. `--offers` are the bundles that it takes, none by default; with `--takes-ids` a PUT to
// an id that is not there creates it. GET /test/counts tells what has arrived and what is stored.
//
// Seen of it on Node 20:
//   - It says conditionalCreate=false and means it: If-None-Exist and ifNoneExist are not read, and the same create
//     sent twice makes two resources. It says "versioned" and does not read If-Match: whoever writes last wins.
//   - An entry of a bundle is answered with "201 Created" or "200 OK", a bare etag (1) and a place without a version,
//     and never with the resource. A PUT that creates is answered with 200, alone and in a bundle.
//   - An entry of a bundle is known by its id only: of two with the same id, though of different types, one is written
//     twice and the other is lost, and both are answered with 200 and the place of the one.
//   - A bundle with one unsound entry is refused whole with 400, a batch too, in 17 KB of words, twice. 101 entries are
//     too many for a transaction (400), not for a batch.
//   - A create is answered without Location; ETag and body tell what it has become. Last-Modified is in ISO 8601.
//   - What has no version has an ETag all the same, made from its bytes: searches, answers to bundles, refusals.
//   - Where no bundles are offered, POST to the base is answered with 404 and a page in HTML, like every unknown route.
//   - Addresses in its answers begin with the one it was set up with, whatever the request's Host says.

import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import { parseArgs } from 'node:util';

import {
  BASE_R4_RESOURCES,
  generateMeta,
  InvalidSearchParameterError,
  ResourceNotFoundError,
  ResourceVersionNotFoundError,
  stubs,
} from 'fhir-works-on-aws-interface';
import { generateServerlessRouter } from 'fhir-works-on-aws-routing';
import validation from 'fhir-works-on-aws-routing/lib/router/validation/jsonSchemaValidator.js';

const BASE_PATH = '/fhir';
const FHIR_VERSION = '4.0.1';

/** What the library calls its persistence, its bundle service and its search. */
class Shelves {
  #versions = new Map(); // "Type/id" -> every version, oldest first
  writes = 0;

  constructor(takesIds) {
    this.updateCreateSupported = takesIds;
  }

  #store(resourceType, id, resource) {
    const versions = this.#versions.get(`${resourceType}/${id}`) ?? [];
    this.#versions.set(`${resourceType}/${id}`, versions);
    const { versionId, lastUpdated } = generateMeta(`${versions.length + 1}`);
    versions.push({ ...resource, id, meta: { ...resource.meta, versionId, lastUpdated } });
    this.writes += 1;
    return { message: 'stored', resource: versions.at(-1) };
  }

  #assertTakes(resourceType, id) {
    const isThere = this.#versions.has(`${resourceType}/${id}`);
    if (!isThere && !this.updateCreateSupported) throw new ResourceNotFoundError(resourceType, id);
  }

  async createResource({ resourceType, resource, id = randomUUID() }) {
    return this.#store(resourceType, id, resource);
  }

  async updateResource({ resourceType, id, resource }) {
    this.#assertTakes(resourceType, id);
    return this.#store(resourceType, id, resource);
  }

  async readResource({ resourceType, id }) {
    const versions = this.#versions.get(`${resourceType}/${id}`);
    if (!versions) throw new ResourceNotFoundError(resourceType, id);
    return { message: 'found', resource: versions.at(-1) };
  }

  async vReadResource({ resourceType, id, vid }) {
    const found = this.#versions.get(`${resourceType}/${id}`)?.[Number(vid) - 1];
    if (!found) throw new ResourceVersionNotFoundError(resourceType, id, vid);
    return { message: 'found', resource: found };
  }

  /** All or nothing: nothing is written before every entry is known to be writable. */
  async transaction({ requests }) {
    try {
      for (const { operation, resourceType, id } of requests) {
        if (operation === 'update') this.#assertTakes(resourceType, id);
      }
    } catch ({ message }) {
      return { success: false, errorType: 'USER_ERROR', message, batchReadWriteResponses: [] };
    }
    return this.batch({ requests });
  }

  async batch({ requests }) {
    const verbs = { create: 'createResource', update: 'updateResource', read: 'readResource' };
    const answers = requests.map(async (request) => {
      const { operation, resourceType, id } = request;
      try {
        const { resource } = await this[verbs[operation]](request);
        const { versionId, lastUpdated } = resource.meta;
        return { operation, resourceType, id, resource, vid: versionId, lastModified: lastUpdated };
      } catch {
        return { operation, resourceType, id, error: '404 Not Found' };
      }
    });
    return { success: true, message: 'done', batchReadWriteResponses: await Promise.all(answers) };
  }

  async typeSearch({ resourceType, queryParams: { identifier, ...others }, baseUrl }) {
    const unknown = Object.keys(others)[0];
    if (unknown) throw new InvalidSearchParameterError(`Invalid search parameter '${unknown}'`);
    const [value, system] = (identifier ?? '').split('|').reverse();
    const bears = (one) => one.value === value && (system === undefined || system === (one.system ?? ''));
    const found = this.newest(resourceType).filter((one) => !identifier || one.identifier?.some(bears));
    const entries = found.map((resource) => ({
      fullUrl: `${baseUrl}/${resourceType}/${resource.id}`,
      resource,
      search: { mode: 'match' },
    }));
    return { result: { numberOfResults: found.length, entries, message: '' } };
  }

  async getCapabilities() {
    const searchParam = [{ name: 'identifier', type: 'token' }];
    const byIdentifier = { searchParam, searchInclude: [], searchRevInclude: [] };
    return Object.fromEntries(BASE_R4_RESOURCES.map((type) => [type, byIdentifier]));
  }

  /** What is there now of this type. */
  newest(type) {
    const wanted = [...this.#versions].filter(([name]) => name.startsWith(`${type}/`));
    return wanted.map(([, versions]) => versions.at(-1));
  }

  countByType() {
    const counts = {};
    for (const name of this.#versions.keys()) {
      const [type] = name.split('/');
      counts[type] = (counts[type] ?? 0) + 1;
    }
    return counts;
  }
}

function makeRouter(url, shelves, systemOperations) {
  const genericResource = {
    operations: ['create', 'read', 'update', 'vread', 'search-type'],
    fhirVersions: [FHIR_VERSION],
    persistence: shelves,
    typeSearch: shelves,
    typeHistory: stubs.history,
  };
  return generateServerlessRouter(
    {
      configVersion: 1,
      productInfo: { orgName: 'A test' },
      auth: { strategy: {}, authorization: stubs.passThroughAuthz },
      server: { url },
      validators: [new validation.default(FHIR_VERSION)],
      profile: {
        fhirVersion: FHIR_VERSION,
        systemOperations,
        systemSearch: stubs.search,
        systemHistory: stubs.history,
        bundle: shelves,
        genericResource,
      },
    },
    BASE_R4_RESOURCES,
  );
}

/** Whom the clinic knows from the start: the same patient, carers and hub as at the other clinic. */
async function seed(shelves) {
  const store = (resourceType, id, value, more) => {
    const resource = { resourceType, identifier: [{ system: 'urn:example:nowhere-clinic', value }], ...more };
    return shelves.createResource({ resourceType, id, resource });
  };
  const patient = { reference: 'Patient/p1' };
  await store('Patient', 'p1', 'TEST-000417', { name: [{ given: ['Juniper'], family: 'Exampleton-Test' }] });
  for (const carer of ['marlow', 'tove']) await store('RelatedPerson', carer, carer, { patient });
  await store('Device', 'hub', 'hub', { patient });
  shelves.writes = 0;
}

async function main() {
  process.on('SIGTERM', () => process.exit(0));
  const text = { type: 'string' };
  const known = { cert: text, key: text, port: text, offers: text, 'takes-ids': { type: 'boolean', default: false } };
  const { cert, key, port = '0', offers = '', 'takes-ids': takesIds } = parseArgs({ options: known }).values;
  // The library prints each refused request, and each reference that leads out of a bundle.
  console.log = console.error = () => {};

  const shelves = new Shelves(takesIds);
  await seed(shelves);
  let requests = 0;
  let router;
  const handle = (request, response) => {
    if (request.url === '/test/counts') {
      return response.end(JSON.stringify({ requests, writes: shelves.writes, byType: shelves.countByType() }));
    }
    requests += 1;
    if (request.url.startsWith(BASE_PATH)) request.url = request.url.slice(BASE_PATH.length).replace(/^(?!\/)/, '/');
    return router(request, response);
  };
  const server = cert
    ? https.createServer({ cert: readFileSync(cert), key: readFileSync(key) }, handle)
    : http.createServer(handle);
  server.listen(Number(port), '127.0.0.1', () => {
    const url = `${cert ? 'https' : 'http'}://127.0.0.1:${server.address().port}${BASE_PATH}`;
    router = makeRouter(url, shelves, offers ? offers.split(',') : []);
    process.stdout.write(`ready ${server.address().port}\n`);
  });
}

await main();
