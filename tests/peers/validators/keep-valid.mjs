// Operators that change a resource and leave it valid: what a strict validator is tempted to refuse. Each names the
// page that allows it.

import { Numeral } from './lossless-json.mjs';
import {
  hasPrimitiveType,
  holdsLocalReference,
  isContentReadByRules,
  isEndOfRange,
  isOfType,
  isReadByRules,
  memberSpot,
  nodesOf,
  replacing,
  spot,
} from './operator.mjs';
import { isLooseText } from './break-structure.mjs';
import { sampleOf } from './samples.mjs';

const XHTML = 'http://www.w3.org/1999/xhtml';
const ABSENT = { url: 'http://hl7.org/fhir/StructureDefinition/data-absent-reason', valueCode: 'unknown' };
const INVENTED = { url: 'http://example.org/invented', valueString: 'x' };

const structure = [
  // https://hl7.org/fhir/R4/json.html: the order of members means nothing.
  each(
    'reversed-members',
    ({ objects }) => objects,
    (object) => reorder(object, Object.keys(object).reverse()),
  ),
  each('resource-type-last', resources, (object) => {
    reorder(object, [...Object.keys(object).filter((name) => name !== 'resourceType'), 'resourceType']);
  }),
  // https://hl7.org/fhir/R4/extensibility.html: on every element, known or not.
  each('extension-added', extensible, (object) => (object.extension = [...(object.extension ?? []), { ...INVENTED }])),
  each('nested-extension-added', extensible, (object) => {
    const nested = { url: INVENTED.url, extension: [{ url: 'part', valueDecimal: new Numeral('1.00') }] };
    object.extension = [...(object.extension ?? []), nested];
  }),
  each('modifier-extension-added', modifiable, (object) => {
    object.modifierExtension = [...(object.modifierExtension ?? []), { url: INVENTED.url, valueBoolean: false }];
  }),
  each(
    'element-id-added',
    ({ objects }) => objects.filter(({ resource, value }) => resource.value !== value),
    (object) => (object.id ??= 'x_y'),
  ),
  { name: 'extension-beside-value', find: beside },
  { name: 'extension-for-value', find: insteadOf },
  { name: 'padded-lists', find: padded },
  each('contained-and-referenced', domains, (object) => {
    object.contained = [...(object.contained ?? []), { resourceType: 'Patient', id: 'nightferry-used' }];
    object.extension = [
      ...(object.extension ?? []),
      { url: INVENTED.url, valueReference: { reference: '#nightferry-used' } },
    ];
  }),
  each('unknown-profile', plainResources, (object) => {
    object.meta = { ...object.meta, profile: ['http://example.org/StructureDefinition/invented'] };
  }),
];

// https://hl7.org/fhir/R4/datatypes.html
const values = [
  ...dated(['dateTime', 'instant'], {
    'leap-second': '2016-12-31T23:59:60Z',
    'offset-plus-14': '2026-01-05T10:30:00+14:00',
    'offset-minus-12': '2026-01-05T10:30:00-12:00',
    'offset-minus-0': '2026-01-05T10:30:00-00:00',
    'three-digits-of-second': '2026-01-05T10:30:00.123Z',
    'february-29-with-time': '2024-02-29T10:30:00Z',
  }),
  ...dated(['dateTime', 'date'], {
    'february-29': '2024-02-29',
    'february-29-of-2000': '2000-02-29',
    'year-only': '2026',
    'year-and-month': '2026-12',
    'year-0001': '0001-01-01',
  }),
  numbers('decimal', 'decimal-small', '1E-22'),
  numbers('decimal', 'decimal-two-zeros', '1.00'),
  numbers('decimal', 'decimal-18-digits', '66.8999999999999912'),
  numbers('decimal', 'decimal-exponent', '12e2'),
  numbers('decimal', 'decimal-below-0', '-0.5'),
  numbers(['integer', 'positiveInt', 'unsignedInt'], 'integer-greatest', '2147483647'),
  numbers('integer', 'integer-least', '-2147483648'),
  numbers('unsignedInt', 'unsigned-0', '0'),
  freely('text-of-many-scripts', ['string', 'markdown'], '\u00b5g \u202b\u05d0\u05d1\u202c \ud83d\udc89 \u6ce8\u5c04'),
  freely('text-with-line-ends', ['string', 'markdown'], 'one\r\n\ttwo'),
  freely('text-with-edge-blanks', ['string', 'markdown'], ' x '),
  // A SHOULD NOT of R4 and R4B, and their regex lets it pass.
  freely('text-with-control-character', ['string'], 'x\u0001y', { releases: ['R4', 'R4B'] }),
  freely('uri-of-oid', ['uri', 'canonical'], 'urn:oid:1.2.3'),
  freely('uri-relative', ['uri'], 'invented/1', {}, ({ json }) => !['system', 'url'].includes(json)),
  freely('canonical-with-version', ['canonical'], 'http://example.org/invented|1.0'),
  replacing(
    'id-of-64',
    null,
    ({ type, json, holder }) => type.code === 'id' && (json !== 'id' || holder.as === 'root'),
    'A.-9'.repeat(16),
  ),
  freely('code-with-inner-blank', ['code'], 'in vented'),
];

const meanings = [
  each('coding-of-unknown-system', codings, (object) => {
    object.system = 'http://example.org/codes';
    object.code = 'invented';
  }),
  each('concept-of-text-only', concepts, (object) => {
    for (const name of Object.keys(object)) delete object[name];
    object.text = 'x';
  }),
  // https://hl7.org/fhir/R4/references.html
  reference('reference-logical', () => ({ identifier: sampleOf('Identifier') })),
  reference('reference-display-only', () => ({ display: 'x' })),
  reference('reference-absolute', (type) => ({ reference: `https://example.org/fhir/${type}/1` })),
  reference('reference-versioned', (type) => ({ reference: `${type}/1/_history/2` })),
  reference('reference-urn', () => ({ reference: 'urn:uuid:aaaaaaaa-bbbb-4ccc-8ddd-eeeeeeeeeeee' })),
  reference('reference-with-type', (type) => ({ reference: `${type}/1`, type })),
  reference('reference-to-unknown-server', () => ({ reference: 'http://example.org/some/document' })),
  period('period-of-one-instant', '2026-01-05T10:00:00+01:00', '2026-01-05T10:00:00+01:00'),
  period('period-of-one-day', '2026-01-05', '2026-01-05'),
  period('period-forwards-by-zone', '2026-01-05T10:00:00+02:00', '2026-01-05T08:30:00Z'),
  period('period-without-end', '2026-01-05', undefined),
  each('range-of-one-value', nodesOf('Range'), (object) => {
    object.low = sampleOf('Quantity');
    object.high = sampleOf('Quantity');
  }),
  each('narrative-table', nodesOf('Narrative'), (object) => {
    const row = '<tr><td colspan="2">\u00b5 &lt; &#181; <br/></td></tr>';
    object.div = `<div xmlns="${XHTML}"><table class="x">${row}</table></div>`;
  }),
  each('narrative-image', nodesOf('Narrative'), (object) => {
    object.div = `<div xmlns="${XHTML}"><p><img src="x.png" alt="x"/> <a href="http://example.org/">x</a></p></div>`;
  }),
];

export const operators = [...structure, ...values, ...meanings].map((operator) => ({ rule: null, ...operator }));

function each(name, nodes, edit) {
  return { name, find: (context) => nodes(context).map((node) => spot(node, node.expression, edit)) };
}

function reorder(object, names) {
  for (const name of names) {
    const value = object[name];
    delete object[name];
    object[name] = value;
  }
}

function resources({ objects }) {
  return objects.filter((node) => node.resource === node);
}

function plainResources(context) {
  return resources(context).filter(({ as, bundled }) => as === 'root' && !bundled);
}

function domains({ objects, definitions }) {
  return objects.filter(
    (node) => node.resource === node && node.as !== 'contained' && definitions.isDomainResource(node.shape),
  );
}

function extensible({ objects, definitions }) {
  return objects.filter(({ shape, value }) => {
    const legal = definitions.member(shape, 'extension') !== undefined;
    return legal && (shape !== 'Extension' || value.extension !== undefined);
  });
}

function modifiable({ objects, definitions }) {
  return objects.filter(
    ({ shape }) => shape !== 'Extension' && definitions.member(shape, 'modifierExtension') !== undefined,
  );
}

// An id or the url of an extension has no extensions.
function canBearExtension(member) {
  return hasPrimitiveType(member) && !member.element.list && !member.shadow && !['id', 'url'].includes(member.json);
}

function beside({ members }) {
  return members
    .filter(canBearExtension)
    .map((member) =>
      memberSpot(member, (holder, json) => (holder[`_${json}`] = { id: 'x', extension: [{ ...INVENTED }] })),
    );
}

function insteadOf({ members, definitions }) {
  return members
    .filter(
      (member) => canBearExtension(member) && !isReadByRules(member, definitions) && !holdsLocalReference(member.value),
    )
    .map((member) =>
      memberSpot(member, (holder, json) => {
        delete holder[json];
        holder[`_${json}`] = { extension: [{ ...ABSENT }] };
      }),
    );
}

function padded({ members }) {
  return members
    .filter((member) => member.element.list && hasPrimitiveType(member) && !member.shadow)
    .map((member) =>
      memberSpot(member, (holder, json) => {
        holder[`_${json}`] = [...member.items.map(() => null), { extension: [{ ...ABSENT }] }];
        holder[json].push(null);
      }),
    );
}

function isFree(types) {
  return (member, definitions) => isOfType(...types)(member) && !isContentReadByRules(member, definitions);
}

function dated(types, values) {
  const fits = (member, definitions) => isFree(types)(member, definitions) && member.holder.shape !== 'Period';
  return Object.entries(values).map(([name, value]) => replacing(name, null, fits, value));
}

function numbers(types, name, text) {
  const fits = (member, definitions) => isFree([types].flat())(member, definitions) && !isEndOfRange(member);
  return replacing(name, null, fits, new Numeral(text));
}

function freely(name, types, value, more = {}, suits = () => true) {
  const fits = (member, definitions) => {
    if (!suits(member)) return false;
    const bound = member.type.code === 'code' && member.element.binding?.strength === 'required';
    return (
      isFree(types)(member, definitions) && !bound && (member.type.code === 'code' || isLooseText(member, definitions))
    );
  };
  return replacing(name, null, fits, value, more);
}

function concepts({ objects }) {
  return objects.filter((node) => node.shape === 'CodeableConcept' && isFreeConcept(node));
}

function codings({ objects }) {
  return objects.filter((node) => node.shape === 'Coding' && isFreeConcept(node) && isFreeConcept(node.member.holder));
}

function isFreeConcept({ member, value }) {
  return member?.element.binding?.strength !== 'required' && !holdsLocalReference(value);
}

function reference(name, make) {
  const find = ({ objects, definitions }) =>
    objects
      .filter(
        ({ shape, type, value }) => shape === 'Reference' && type && /^[A-Z]\w+\/\S+$/.test(value.reference ?? ''),
      )
      .map((node) => {
        const type = node.type.targets.find((target) => definitions.isResource(target)) ?? 'Patient';
        return spot(node, node.expression, (object) => {
          for (const member of Object.keys(object)) delete object[member];
          Object.assign(object, make(type));
        });
      });
  return { name, find };
}

function period(name, start, end) {
  const edit = (object) => {
    for (const member of ['start', '_start', 'end', '_end']) delete object[member];
    Object.assign(object, { start, ...(end && { end }) });
  };
  return each(name, nodesOf('Period'), edit);
}
