// A clinic that takes whatever it is given and keeps it, over plain HTTP on this machine: for measuring the hub and not
// the clinic. It judges nothing; tests of what is sent use clinic.mjs.

import { once } from 'node:events';
import http from 'node:http';

const FHIR_JSON = { 'content-type': 'application/fhir+json' };
const INTERACTIONS = ['read', 'create', 'update', 'search-type'];
const TYPES = ['MedicationAdministration', 'Observation', 'Provenance'];

const STATEMENT = {
  resourceType: 'CapabilityStatement',
  status: 'active',
  date: '2026-01-01',
  kind: 'instance',
  fhirVersion: '4.0.1',
  format: ['application/fhir+json'],
  rest: [
    {
      mode: 'server',
      interaction: [{ code: 'transaction' }],
      resource: TYPES.map((type) => ({
        type,
        interaction: INTERACTIONS.map((code) => ({ code })),
        versioning: 'versioned',
        updateCreate: true,
        conditionalCreate: true,
        searchParam: [{ name: 'identifier', type: 'token' }],
      })),
    },
  ],
};

export class FastClinic {
  isSilent = false; // It then never answers.
  onBundle = () => {}; // Called with each transaction, before it is answered.
  #held = new Map(); // By the value of its identifier, the resource as text with its place.
  #twice = 0;
  #server = http.createServer((request, response) => this.#answer(request, response));

  async start() {
    this.#server.listen(0, '127.0.0.1');
    await once(this.#server, 'listening');
    this.url = `http://127.0.0.1:${this.#server.address().port}/fhir`;
  }

  stop() {
    this.#server.close();
    this.#server.closeAllConnections();
  }

  /** How many entries it holds, and how often one came that it held already. */
  get held() {
    return this.#held.size;
  }
  get twice() {
    return this.#twice;
  }

  async #answer(request, response) {
    const chunks = [];
    for await (const chunk of request) chunks.push(chunk);
    if (this.isSilent) return;
    const [status, body] = this.#act(request, Buffer.concat(chunks));
    response.writeHead(status, FHIR_JSON);
    response.end(typeof body === 'string' ? body : JSON.stringify(body));
  }

  #act({ method, url }, body) {
    const target = new URL(url, 'http://clinic.example');
    const path = target.pathname.slice('/fhir'.length);
    if (method === 'POST' && path === '') return [200, this.#transaction(JSON.parse(body))];
    if (path === '/metadata') return [200, STATEMENT];
    const [, , id] = path.split('/');
    if (id) return this.#held.has(id) ? [200, this.#held.get(id)] : [404, {}];
    const wanted = target.searchParams.get('identifier').split('|')[1].slice('urn:uuid:'.length);
    return [200, searchset(this.#held.has(wanted) ? [JSON.parse(this.#held.get(wanted))] : [])];
  }

  #transaction(bundle) {
    this.onBundle(bundle);
    const entry = bundle.entry.map(({ resource, request }) => {
      if (request.method === 'PUT') return answered('200 OK', request.url);
      // The entry's own id serves as the resource's.
      const id = resource.identifier[0].value.slice('urn:uuid:'.length);
      const place = `${resource.resourceType}/${id}`;
      if (this.#held.has(id)) {
        ++this.#twice;
        return answered('200 OK', place);
      }
      this.#held.set(id, JSON.stringify({ ...resource, id, meta: { versionId: '1' } }));
      return answered('201 Created', place);
    });
    return { resourceType: 'Bundle', type: 'transaction-response', entry };
  }
}

function answered(status, place) {
  return { response: { status, location: `${place}/_history/1`, etag: 'W/"1"' } };
}

function searchset(resources) {
  const entry = resources.map((resource) => ({ resource, search: { mode: 'match' } }));
  return { resourceType: 'Bundle', type: 'searchset', total: entry.length, entry };
}
