// Operators that break one published invariant of a datatype or of contained resources. The place is the element on
// which the constraint is defined: the Quantity for qty-3, the resource that contains for dom-2.

import { Numeral } from './lossless-json.mjs';
import { holdsLocalReference, nodesOf, spot } from './operator.mjs';
import { sampleOf } from './samples.mjs';

const EXTENSION = 'http://example.org/invented';

export const operators = [
  on(
    'extension-without-url',
    'min',
    nodesOf('Extension'),
    (object) => delete object.url,
    ({ expression }) => `${expression}.url`,
  ),
  extending('extension-with-value-and-children', {
    url: EXTENSION,
    valueString: 'x',
    extension: [{ url: 'part', valueString: 'x' }],
  }),
  extending('extension-with-nothing', { url: EXTENSION }),
  on('quantity-code-without-system', 'qty-3', quantities('code', 'system'), (object) => delete object.system),
  on('simple-quantity-with-comparator', 'sqty-1', simpleQuantities, (object) => (object.comparator = '<')),
  period('period-backwards-days', '2026-01-06', '2026-01-05'),
  period('period-backwards-years', '2020', '2019'),
  period('period-backwards-mixed', '2026-03', '2026-02-27'),
  period('period-backwards-zones', '2026-01-05T10:00:00+01:00', '2026-01-05T08:59:59Z'),
  period('period-backwards-fraction', '2026-01-05T10:00:00.2Z', '2026-01-05T10:00:00.1Z'),
  on('range-upside-down', 'rng-2', nodesOf('Range'), (object) => {
    object.low = { ...sampleOf('Quantity'), value: new Numeral('10.00') };
    object.high = { ...sampleOf('Quantity'), value: new Numeral('9.5') };
  }),
  on('ratio-without-denominator', 'rat-1', ratios, (object) => delete object.denominator),
  on('ratio-without-numerator', 'rat-1', ratios, (object) => delete object.numerator),
  on('attachment-data-without-type', 'att-1', nodesOf('Attachment'), (object) => {
    object.data = 'AAAA';
    delete object.contentType;
  }),
  on('contact-point-without-system', 'cpt-2', contactPoints, (object) => delete object.system),
  on('age-of-0', 'age-1', quantities('value', 'system', 'Age'), (object) => (object.value = new Numeral('0'))),
  on('age-without-code', 'age-1', quantities('value', 'code', 'Age'), (object) => delete object.code),
  on(
    'duration-of-other-system',
    'drt-1',
    quantities('code', 'value', 'Duration'),
    (object) => (object.system = EXTENSION),
  ),
  on('count-of-other-unit', 'cnt-3', quantities('value', 'code', 'Count'), (object) => (object.code = 'mg')),
  on(
    'count-with-fraction',
    'cnt-3',
    quantities('value', 'code', 'Count'),
    (object) => (object.value = new Numeral('1.5')),
  ),
  on('distance-without-code', 'dis-1', quantities('value', 'code', 'Distance'), (object) => delete object.code),
  on(
    'reference-says-nothing',
    'ref-2',
    emptiableReferences,
    (object) => {
      for (const name of Object.keys(object)) delete object[name];
      object.type = 'Patient';
    },
    undefined,
    ['R5'],
  ),
  ...contained(),
  ...timing(),
  on(
    'as-needed-no-but-for',
    'dos-1',
    nodesOf('Dosage'),
    (object) => {
      object.asNeeded = false;
      object.asNeededFor = [{ text: 'x' }];
    },
    undefined,
    ['R5'],
  ),
  on('sampled-data-without-spacing', 'sdd-1', nodesOf('SampledData'), (object) => delete object.interval, undefined, [
    'R5',
  ]),
  on(
    'sampled-data-with-both-spacings',
    'sdd-1',
    nodesOf('SampledData'),
    (object) => (object.offsets = '0 1'),
    undefined,
    ['R5'],
  ),
];

export function on(name, rule, nodes, edit, place = ({ expression }) => expression, releases = undefined) {
  const find = (context) => nodes(context).map((node) => spot(node, place(node), edit));
  return { name, rule, find, ...(releases && { releases }) };
}

function extending(name, extension) {
  const find = ({ objects, definitions }) =>
    objects
      .filter(({ shape }) => shape !== 'Extension' && definitions.member(shape, 'extension') !== undefined)
      .map((node) => {
        const place = `${node.expression}.extension[${node.value.extension?.length ?? 0}]`;
        return spot(
          node,
          place,
          (object) => (object.extension = [...(object.extension ?? []), structuredClone(extension)]),
        );
      });
  return { name, rule: 'ext-1', find };
}

// Age, Count, Distance and Duration have rules of their own about code and system.
function quantities(has, alsoHas, shape = 'Quantity') {
  return ({ objects }) =>
    objects.filter(
      (node) => node.shape === shape && has in node.value && alsoHas in node.value && 'system' in node.value,
    );
}

function simpleQuantities({ objects }) {
  return objects.filter(({ type, shape, value }) => shape === 'Quantity' && type?.simple && !('comparator' in value));
}

function period(name, start, end) {
  const edit = (object) => {
    delete object._start;
    delete object._end;
    Object.assign(object, { start, end });
  };
  return on(name, 'per-1', nodesOf('Period'), edit);
}

function ratios({ objects }) {
  return objects.filter(({ shape, value }) => shape === 'Ratio' && value.numerator && value.denominator);
}

function contactPoints({ objects }) {
  return objects.filter(({ shape, value }) => shape === 'ContactPoint' && value.system && value.value);
}

// A reference whose target no other rule looks for.
function emptiableReferences({ objects }) {
  return objects.filter(({ shape, value }) => shape === 'Reference' && !holdsLocalReference(value) && !value.extension);
}

function contained() {
  const holders = ({ objects, definitions }) =>
    objects.filter((node) => node.resource === node && node.as !== 'contained' && hasContainedRules(node, definitions));
  const filled = (context) =>
    holders(context).filter(({ value }) =>
      value.contained?.some((inner) => context.definitions.isDomainResource(inner.resourceType)),
    );
  const first = (object) =>
    object.contained.find(({ resourceType }) => !['Bundle', 'Parameters', 'Binary'].includes(resourceType));
  return [
    on('contained-not-referenced', 'dom-3', holders, (object) => {
      object.contained = [...(object.contained ?? []), { resourceType: 'Patient', id: 'nightferry-idle' }];
    }),
    // The inner one is pointed at, so that only its being there is wrong.
    on('contained-in-contained', 'dom-2', filled, (object) => {
      const inner = first(object);
      inner.extension = [...(inner.extension ?? []), { url: EXTENSION, valueUri: '#nightferry-inner' }];
      inner.contained = [{ resourceType: 'Patient', id: 'nightferry-inner' }];
    }),
    on('contained-with-version', 'dom-4', filled, (object) => {
      first(object).meta = { ...first(object).meta, versionId: '1' };
    }),
    on('contained-with-last-updated', 'dom-4', filled, (object) => {
      first(object).meta = { ...first(object).meta, lastUpdated: '2026-01-05T10:30:00Z' };
    }),
    on('contained-with-security', 'dom-5', filled, (object) => {
      first(object).meta = { ...first(object).meta, security: [sampleOf('Coding')] };
    }),
  ];
}

// The published R5 snapshots of CapabilityStatement and its kin repeat no dom rules.
function hasContainedRules(node, definitions) {
  const root = definitions.type(node.shape).snapshot.element[0];
  return (root.constraint ?? []).some(({ key }) => key === 'dom-2');
}

function timing() {
  const repeats = nodesOf('Timing.repeat');
  const free =
    (...names) =>
    (context) =>
      repeats(context).filter(({ value }) => !names.some((name) => name in value));
  const breach = (name, nodes, edit) => on(`timing-${name}`, name.match(/^tim-[0-9]+/)[0], nodes, edit);
  return [
    breach('tim-1', repeats, (object) => dropping(object, ['durationUnit'], { duration: new Numeral('1') })),
    breach('tim-2', repeats, (object) => dropping(object, ['periodUnit'], { period: new Numeral('1') })),
    breach('tim-4', free('durationMax'), (object) =>
      Object.assign(object, { duration: new Numeral('-1'), durationUnit: 'h' }),
    ),
    breach('tim-5', free('periodMax'), (object) =>
      Object.assign(object, { period: new Numeral('-1'), periodUnit: 'd' }),
    ),
    breach('tim-6', repeats, (object) =>
      dropping(object, ['period'], { periodMax: new Numeral('2'), periodUnit: 'd' }),
    ),
    breach('tim-7', repeats, (object) =>
      dropping(object, ['duration'], { durationMax: new Numeral('2'), durationUnit: 'h' }),
    ),
    breach('tim-8', repeats, (object) => dropping(object, ['count'], { countMax: new Numeral('2') })),
    breach('tim-9-without-when', free('when'), (object) => (object.offset = new Numeral('30'))),
    breach('tim-9-with-meal', free('timeOfDay'), (object) =>
      Object.assign(object, { when: ['CM'], offset: new Numeral('30') }),
    ),
    breach('tim-10', free('offset'), (object) => Object.assign(object, { when: ['MORN'], timeOfDay: ['10:30:00'] })),
  ];
}

function dropping(object, names, values) {
  for (const name of names) delete object[name];
  Object.assign(object, values);
}
