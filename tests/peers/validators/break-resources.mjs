// Operators that break one published invariant of a resource other than Bundle.

import { copy } from './lossless-json.mjs';
import { holdsLocalReference, nodesOf } from './operator.mjs';
import { on } from './break-rules.mjs';
import { sampleOf } from './samples.mjs';

export const operators = [
  on('dosage-without-dose', 'mad-1', dosages, (object) => dropping(object, DOSES, { method: { text: 'x' } })),
  on('dosage-of-text', 'mad-1', dosages, (object) => dropping(object, DOSES, { text: 'x' }), undefined, ['R4', 'R4B']),
  on('reference-range-says-nothing', 'obs-3', nodesOf('Observation.referenceRange'), (object) =>
    dropping(object, ['low', 'high', 'text', '_text'], { appliesTo: [{ text: 'x' }] }),
  ),
  on(
    'absent-reason-beside-value',
    'obs-6',
    observations(hasValue),
    (object) => (object.dataAbsentReason = { text: 'x' }),
  ),
  on('component-repeats-code', 'obs-7', observations(hasValueAndCoding), (object) => {
    object.component = [...(object.component ?? []), { code: { coding: [copy(object.code.coding[0])] } }];
  }),
  on(
    'two-body-sites',
    'obs-8',
    observations(() => true),
    (object) => {
      object.bodySite = { text: 'x' };
      object.bodyStructure = { display: 'x' };
    },
    undefined,
    ['R5'],
  ),
  on('contact-without-party', 'pat-1', nodesOf('Patient.contact'), (object) =>
    dropping(object, ['name', 'telecom', 'address', 'organization'], { gender: 'female' }),
  ),
  on(
    'two-display-names',
    'dev-1',
    nodesOf('Device'),
    (object) => {
      const name = { value: 'x', type: 'user-friendly-name', display: true };
      object.name = [...(object.name ?? []), name, { ...name, value: 'y' }];
    },
    undefined,
    ['R5'],
  ),
  // Same text in both; and both the same contained resource, which an engine that resolves references finds too.
  on(
    'acts-for-itself',
    'prov-1',
    agents,
    (object) => {
      object.who = { reference: 'Organization/1' };
      object.onBehalfOf = { reference: 'Organization/1' };
    },
    undefined,
    ['R5'],
  ),
  on(
    'acts-for-itself-contained',
    'prov-1',
    agentsWithContained,
    (object, root) => {
      const { id } = root.contained.find(({ resourceType }) => resourceType === 'Organization');
      object.who = { reference: `#${id}` };
      object.onBehalfOf = { reference: `#${id}` };
    },
    undefined,
    ['R5'],
  ),
  on(
    'specimen-of-a-group-of-people',
    'obs-9',
    withoutContained('Observation'),
    (object) => {
      const member = { entity: { reference: '#nightferry-person' } };
      object.contained = [
        { resourceType: 'Group', id: 'nightferry-group', membership: 'enumerated', type: 'person', member: [member] },
        { resourceType: 'Patient', id: 'nightferry-person' },
      ];
      object.specimen = { reference: '#nightferry-group' };
    },
    ({ expression }) => `${expression}.specimen`,
    ['R5'],
  ),
  on(
    'role-acts-for-its-person',
    'prov-2',
    withoutContained('Provenance'),
    (object) => {
      object.contained = [
        { resourceType: 'PractitionerRole', id: 'nightferry-role', practitioner: { reference: '#nightferry-person' } },
        { resourceType: 'Practitioner', id: 'nightferry-person' },
      ];
      object.agent[0].who = { reference: '#nightferry-role' };
      object.agent[0].onBehalfOf = { reference: '#nightferry-person' };
    },
    ({ expression }) => `${expression}.agent[0]`,
    ['R5'],
  ),
  on(
    'organization-acts-for-its-role',
    'prov-3',
    withoutContained('Provenance'),
    (object) => {
      object.contained = [
        { resourceType: 'PractitionerRole', id: 'nightferry-role', organization: { reference: '#nightferry-org' } },
        { resourceType: 'Organization', id: 'nightferry-org', name: 'x' },
      ];
      object.agent[0].who = { reference: '#nightferry-org' };
      object.agent[0].onBehalfOf = { reference: '#nightferry-role' };
    },
    ({ expression }) => `${expression}.agent[0]`,
    ['R5'],
  ),
  on('parameter-without-value', 'inv-1', parameters(isFlat), (object) => dropping(object, valueNames(object), {})),
  on(
    'parameter-with-value-and-parts',
    'inv-1',
    parameters((value) => !value.resource && !value.part),
    (object) => {
      if (valueNames(object).length === 0) object.valueString = 'x';
      object.part = [{ name: 'x', valueString: 'x' }];
    },
  ),
  on(
    'parameter-with-value-and-resource',
    'inv-1',
    parameters((value) => !value.resource && !value.part),
    (object) => {
      if (valueNames(object).length === 0) object.valueString = 'x';
      object.resource = { resourceType: 'Patient' };
    },
  ),
  on(
    'no-interface',
    'cpb-1',
    statements(() => true),
    (object) => dropping(object, ['rest', 'messaging', 'document'], {}),
  ),
  on('describes-nothing', 'cpb-2', statements(hasNoEndpoint), (object) =>
    dropping(object, ['description', '_description', 'software', 'implementation'], { kind: 'requirements' }),
  ),
  on(
    'endpoint-of-no-instance',
    'cpb-3',
    statements(({ messaging }) => messaging),
    (object) => {
      object.messaging[0].endpoint ??= [{ protocol: sampleOf('Coding'), address: 'http://example.org/' }];
      dropping(object, ['implementation'], { kind: 'capability', software: { name: 'x' } });
    },
  ),
  on(
    'two-rests-of-one-mode',
    'cpb-4',
    statements(({ rest }) => rest),
    (object) => {
      object.rest.push({ mode: object.rest[0].mode });
    },
    undefined,
    ['R5'],
  ),
  on(
    'two-documents-alike',
    'cpb-7',
    statements(() => true),
    (object) => {
      const document = { mode: 'producer', profile: 'http://example.org/invented' };
      object.document = [...(object.document ?? []), document, { ...document }];
    },
  ),
  on('two-entries-of-one-type', 'cpb-9', nodesOf('CapabilityStatement.rest'), (object) => {
    object.resource = [...(object.resource ?? []), { type: 'Basic' }, { type: 'Basic' }];
  }),
  on('two-parameters-of-one-name', 'cpb-12', nodesOf('CapabilityStatement.rest.resource'), (object) => {
    const parameter = { name: 'nightferry', type: 'token' };
    object.searchParam = [...(object.searchParam ?? []), parameter, { ...parameter }];
  }),
  on(
    'instance-without-implementation',
    'cpb-14',
    statements(() => true),
    (object) => dropping(object, ['implementation'], { kind: 'instance', description: 'x' }),
  ),
  on('capability-without-software', 'cpb-15', statements(hasNoEndpoint), (object) =>
    dropping(object, ['implementation', 'software'], { kind: 'capability', description: 'x' }),
  ),
  on('capability-with-implementation', 'cpb-15', statements(hasNoEndpoint), (object) => {
    Object.assign(object, { kind: 'capability', software: { name: 'x' }, implementation: { description: 'x' } });
  }),
  on('requirements-with-software', 'cpb-16', statements(hasNoEndpoint), (object) =>
    dropping(object, ['implementation'], { kind: 'requirements', software: { name: 'x' } }),
  ),
  on('requirements-with-implementation', 'cpb-16', statements(hasNoEndpoint), (object) =>
    dropping(object, ['software'], { kind: 'requirements', implementation: { description: 'x' } }),
  ),
];

const DOSES = ['dose', 'rateRatio', 'rateQuantity', 'text', '_text'];

function dropping(object, names, values) {
  for (const name of names) delete object[name];
  Object.assign(object, values);
}

function dosages({ objects }) {
  return objects.filter(({ shape }) => shape === 'MedicationAdministration.dosage');
}

function observations(fits) {
  return ({ objects }) => objects.filter(({ shape, value }) => shape === 'Observation' && fits(value));
}

function hasValue(value) {
  return Object.keys(value).some((name) => /^_?value[A-Z]/.test(name)) && !('dataAbsentReason' in value);
}

function hasValueAndCoding(value) {
  return hasValue(value) && value.code.coding?.[0]?.code !== undefined;
}

function agents({ objects, resource }) {
  return resource.resourceType !== 'Provenance'
    ? []
    : objects.filter(({ shape, value }) => shape === 'Provenance.agent' && !holdsLocalReference(value));
}

function agentsWithContained(context) {
  const { contained } = context.resource;
  return contained?.some(({ resourceType }) => resourceType === 'Organization') ? agents(context) : [];
}

function withoutContained(shape) {
  return ({ objects }) =>
    objects.filter((node) => node.shape === shape && node.as !== 'contained' && !node.value.contained);
}

function parameters(fits) {
  return ({ objects }) => objects.filter(({ shape, value }) => shape === 'Parameters.parameter' && fits(value));
}

function isFlat(value) {
  return valueNames(value).length > 0 && !holdsLocalReference(value);
}

function valueNames(value) {
  return Object.keys(value).filter((name) => /^_?value[A-Z]/.test(name));
}

function statements(fits) {
  return ({ objects }) =>
    objects.filter(({ shape, value }) => shape === 'CapabilityStatement' && fits(value) && !holdsLocalReference(value));
}

function hasNoEndpoint({ messaging }) {
  return !messaging?.some(({ endpoint }) => endpoint);
}
