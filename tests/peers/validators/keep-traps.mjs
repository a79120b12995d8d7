// Operators that go right up to a rule and keep it: what a hasty reading of a published constraint or pattern refuses.

import { Numeral, copy } from './lossless-json.mjs';
import { holdsLocalReference, isContentReadByRules, isOfType, nodesOf, replacing, spot } from './operator.mjs';
import { isLooseText } from './break-structure.mjs';

const XHTML = 'http://www.w3.org/1999/xhtml';
const EXTENSION = 'http://example.org/invented';

export const operators = [
  // obs-6 and obs-7 speak of the Observation's own value.
  each('component-value-beside-absent-reason', nodesOf('Observation.component'), (object) => {
    object.dataAbsentReason = { text: 'x' };
  }),
  each('component-repeats-code-without-value', observations, (object) => {
    object.component = [...(object.component ?? []), { code: copy(object.code) }];
  }),
  // rat-1: neither part, but an extension.
  each('ratio-of-extension', nodesOf('Ratio'), (object) => {
    for (const name of ['numerator', 'denominator']) delete object[name];
    object.extension = [{ url: EXTENSION, valueString: 'x' }];
  }),
  each('range-without-high', nodesOf('Range'), (object) => delete object.high),
  each('contact-point-without-value', nodesOf('ContactPoint'), (object) => {
    for (const name of ['value', '_value', 'system', '_system']) delete object[name];
    object.use = 'home';
  }),
  // qty-3: a unit for people needs no system.
  each('quantity-of-unit-only', plainQuantities, (object) => {
    for (const name of ['code', '_code', 'system', '_system']) delete object[name];
    object.unit = 'x';
  }),
  each('timing-of-events', nodesOf('Timing'), (object) => {
    for (const name of Object.keys(object)) delete object[name];
    object.event = ['2026-01-05T10:30:00Z', '2026-01-04'];
  }),
  each('timing-by-meals', nodesOf('Timing.repeat'), (object) => {
    for (const name of Object.keys(object)) delete object[name];
    Object.assign(object, {
      when: ['ACM', 'ACV'],
      offset: new Numeral('30'),
      period: new Numeral('0'),
      periodUnit: 'd',
    });
  }),
  // bdl-7: one address, two versions. bdl-8: only a part of the path is forbidden.
  each('address-twice-of-two-versions', collections, (object) => {
    const [first] = object.entry;
    first.resource.meta = { ...first.resource.meta, versionId: 'nightferry-1' };
    object.entry.push({ ...copy(first), resource: { ...copy(first.resource), meta: { versionId: 'nightferry-2' } } });
  }),
  each('bundle-without-entries', collections, (object) => delete object.entry),
  // dom-3: a uri or canonical counts, and so does a contained resource that points back.
  each('contained-and-named-by-uri', domains, (object) => {
    object.contained = [...(object.contained ?? []), { resourceType: 'Patient', id: 'nightferry-named' }];
    object.extension = [...(object.extension ?? []), { url: EXTENSION, valueUri: '#nightferry-named' }];
  }),
  {
    ...each('contained-and-pointing-back', domains, (object) => {
      const back = { url: EXTENSION, valueReference: { reference: '#' } };
      object.contained = [
        ...(object.contained ?? []),
        { resourceType: 'Patient', id: 'nightferry-back', extension: [back] },
      ];
    }),
    releases: ['R4B', 'R5'], // R4's ref-1 has no place for "#".
  },
  narrative('narrative-single-quotes', `<div xmlns='${XHTML}'><p class='x y' title='a "b"'>x</p></div>`),
  narrative('narrative-with-space-around', `\n <div xmlns="${XHTML}"><p>x</p></div>\n`),
  narrative('narrative-lists-and-headings', `<div xmlns="${XHTML}"><h1>x</h1><ul><li>y</li></ul><pre> z </pre></div>`),
  narrative('narrative-style-and-ids', `<div xmlns="${XHTML}" style="color: red" id="x"><a name="y">x</a></div>`),
  narrative('narrative-of-image-only', `<div xmlns="${XHTML}"><img src="#x" alt="x"/></div>`),
  replacing('leap-second-of-the-day', null, isFree('time'), '23:59:60'),
  replacing('base64-of-two-bytes', null, isFree('base64Binary'), 'AAA='),
  { ...replacing('base64-with-line-ends', null, isFree('base64Binary'), 'AAAA\nAAAA\n'), releases: ['R4', 'R4B'] },
  { ...replacing('string-of-1-mib', null, isString, 'x'.repeat(1024 * 1024)), most: 1 },
].map((operator) => ({ ...operator, rule: null }));

function each(name, nodes, edit) {
  return { name, find: (context) => nodes(context).map((node) => spot(node, node.expression, edit)) };
}

function narrative(name, div) {
  const free = (context) => nodesOf('Narrative')(context).filter(({ value }) => !holdsLocalReference(value));
  return each(name, free, (object) => (object.div = div));
}

function observations({ objects }) {
  return objects.filter(({ shape, value }) => {
    const hasValue = Object.keys(value).some((name) => /^_?value/.test(name));
    return shape === 'Observation' && !hasValue && value.code !== undefined;
  });
}

// Not those whose type or profile has more rules, nor ends of ranges, which rng-2 compares.
function plainQuantities({ objects }) {
  return objects.filter(({ shape, member }) => shape === 'Quantity' && member?.holder.shape !== 'Range');
}

function collections({ objects }) {
  return objects.filter(
    ({ shape, value }) =>
      shape === 'Bundle' && value.type === 'collection' && value.entry?.[0].fullUrl && value.entry[0].resource,
  );
}

function domains({ objects, definitions }) {
  return objects.filter(
    (node) => node.resource === node && node.as !== 'contained' && definitions.isDomainResource(node.shape),
  );
}

function isFree(...types) {
  return (member, definitions) => isOfType(...types)(member) && !isContentReadByRules(member, definitions);
}

function isString(member, definitions) {
  return member.type.code === 'string' && !member.element.list && isLooseText(member, definitions);
}
