// What the clinic's own tests share: starting and stopping the server as a process of its own, asking it over HTTP,
// and building the few resources that the daemon would send.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const here = (name) => fileURLToPath(new URL(name, import.meta.url));

export const SYSTEM = 'urn:example:hub-entry';

/** Starts a server with these command line options and waits until it answers; the test stops it at its end. */
export function startClinic(test, ...args) {
  return startServer(test, here('clinic.mjs'), args);
}

/** The same with the clinic of another make. */
export function startSecondClinic(test, ...args) {
  return startServer(test, here('second-clinic.mjs'), args);
}

async function startServer(test, file, args) {
  const child = spawn(process.execPath, [file, ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
  const exited = once(child, 'exit');
  const stop = async () => {
    child.kill('SIGTERM');
    const [code] = await exited;
    return code;
  };
  test.after(stop);
  const [line] = await Promise.race([
    once(createInterface({ input: child.stdout }), 'line'),
    exited.then(([code]) => Promise.reject(new Error(`the clinic ended with ${code} before it was ready`))),
  ]);
  const port = Number(/^ready (\d+)$/.exec(line)[1]);
  return new Clinic(`http://127.0.0.1:${port}`, port, stop);
}

class Clinic {
  constructor(origin, port, stop) {
    Object.assign(this, { origin, port, stop, headers: {} });
  }

  /** Rejects if the connection closes without an answer. */
  async ask(method, path, body, headers = {}) {
    const response = await fetch(`${this.origin}${path}`, {
      method,
      headers: { 'content-type': 'application/fhir+json', ...this.headers, ...headers },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    const text = await response.text();
    return { status: response.status, headers: response.headers, body: text === '' ? undefined : JSON.parse(text) };
  }

  get(path, headers) {
    return this.ask('GET', `/fhir${path}`, undefined, headers);
  }

  post(path, body, headers) {
    return this.ask('POST', `/fhir${path}`, body, headers);
  }

  put(path, body, headers) {
    return this.ask('PUT', `/fhir${path}`, body, headers);
  }

  async count(type) {
    return (await this.counts()).byType[type] ?? 0;
  }

  async counts() {
    return (await this.ask('GET', '/test/counts')).body;
  }

  setOptions(changes) {
    return this.ask('POST', '/test/options', changes);
  }
}

export function dose(value, extra = {}) {
  return {
    resourceType: 'MedicationAdministration',
    identifier: [{ system: SYSTEM, value }],
    status: 'completed',
    medicationCodeableConcept: { text: 'Enoxaparin sodium' },
    subject: { reference: 'Patient/p1' },
    effectiveDateTime: '2025-03-01T07:30:00+01:00',
    ...extra,
  };
}

export function finding(value, partOf, extra = {}) {
  return {
    resourceType: 'Observation',
    identifier: [{ system: SYSTEM, value }],
    status: 'final',
    code: { text: 'Bruise at injection site' },
    subject: { reference: 'Patient/p1' },
    ...(partOf && { partOf: [{ reference: partOf }] }),
    ...extra,
  };
}

export function provenance(id, targets) {
  return {
    resourceType: 'Provenance',
    id,
    target: targets.map((reference) => ({ reference })),
    recorded: '2025-03-01T07:31:00+01:00',
    agent: [{ who: { reference: 'RelatedPerson/marlow' } }],
  };
}

export function bundle(type, entry) {
  return { resourceType: 'Bundle', type, entry };
}

/** A conditional create, as the daemon sends each entry. */
export function createEntry(fullUrl, resource) {
  const { system, value } = resource.identifier[0];
  const request = { method: 'POST', url: resource.resourceType, ifNoneExist: `identifier=${system}|${value}` };
  return { fullUrl, resource, request };
}

export function putEntry(resource, extra = {}) {
  const url = `${resource.resourceType}/${resource.id}`;
  return { fullUrl: `urn:uuid:${resource.id}`, resource, request: { method: 'PUT', url, ...extra } };
}
