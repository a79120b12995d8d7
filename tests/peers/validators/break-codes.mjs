// Operators that break what an element may say: codes outside a required value set, references to types that are not
// allowed or to contained resources that are not there.

import { Definitions, RELEASES } from './definitions.mjs';
import { isReadByRules, itemExpression, itemSpots, spot } from './operator.mjs';

export const operators = [
  { name: 'code-outside-set', rule: 'binding', find: boundCodes(() => 'nightferry-none') },
  { name: 'code-in-wrong-case', rule: 'binding', find: boundCodes(inWrongCase) },
  { name: 'code-of-other-release', rule: 'binding', find: boundCodes(ofOtherRelease) },
  { name: 'display-for-code', rule: 'binding', find: boundCodes((code) => `The ${code}`) },
  // The place of a refused target is the Reference: the rule stands on that element, not on its text.
  { name: 'target-relative', rule: 'target', find: targets((type) => `${type}/1`) },
  { name: 'target-absolute', rule: 'target', find: targets((type) => `http://example.org/fhir/${type}/1`) },
  { name: 'target-versioned', rule: 'target', find: targets((type) => `${type}/1/_history/2`) },
  { name: 'fragment-to-nothing', rule: 'ref-1', find: fragmentToNothing },
];

// Codes on which other rules hang; these are changed by break-bundle.mjs and break-rules.mjs with care.
const OTHERS_HANG_ON = ['Bundle.type', 'CapabilityStatement.kind', 'CapabilityStatement.messaging.endpoint'];

function boundCodes(change) {
  return (context) =>
    context.members
      .filter(({ type, element }) => type.code === 'code' && element.binding?.strength === 'required')
      .filter((member) => isFreeBoundCode(member, context))
      .flatMap((member) => {
        const codes = context.definitions.codes(member.element.binding.valueSet);
        return member.items.flatMap((code, index) => {
          const wrong = code !== null && codes !== undefined && change(code, codes, member, context);
          if (!wrong || codes.has(wrong)) return [];
          return [itemSpots(member, (owner, key) => (owner[key] = wrong))[index]];
        });
      });
}

function isFreeBoundCode(member, { release }) {
  const { element, holder } = member;
  if (OTHERS_HANG_ON.includes(element.path)) return false;
  // bdl-3b, bdl-3c and bdl-14 to bdl-16 of R5 compare methods and severities.
  if (release === 'R5' && element.path === 'Bundle.entry.request.method') return member.value === 'GET';
  if (release === 'R5' && holder.shape === 'OperationOutcome.issue') return holder.resource.as === 'root';
  if (release === 'R5' && element.path === 'Bundle.link.relation') return member.value !== 'self'; // bdl-18
  return !['Timing.repeat.when', 'CapabilityStatement.document.mode'].includes(element.path);
}

function inWrongCase(code, codes) {
  return [code.toUpperCase(), code.toLowerCase(), code[0].toUpperCase() + code.slice(1)].find(
    (other) => !codes.has(other),
  );
}

const others = new Map();

// The code system of the same element of another release may know more codes: quantity comparator "ad" came with R5.
function ofOtherRelease(code, codes, member, { release }) {
  const shape = member.holder.shape;
  for (const other of RELEASES.filter((name) => name !== release)) {
    if (!others.has(other)) others.set(other, new Definitions(other));
    const definitions = others.get(other);
    const same = definitions.type(shape.split('.')[0]) && definitions.member(shape, member.json);
    const theirs = same && same.element.binding && definitions.codes(same.element.binding.valueSet ?? '');
    const found = theirs && [...theirs].find((candidate) => !codes.has(candidate));
    if (found) return found;
  }
  return undefined;
}

function targets(text) {
  return ({ objects, definitions }) =>
    literalReferences(objects).flatMap((node) => {
      const { targets: allowed } = node.type;
      const refused = ['Flag', 'Patient', 'Location', 'Organization'].filter((type) => !allowed.includes(type));
      if (allowed.length === 0 || allowed.includes('Resource') || !refused.every((type) => definitions.type(type)))
        return [];
      return refused.map((type) => spot(node, node.expression, (object) => (object.reference = text(type))));
    });
}

function literalReferences(objects) {
  return objects
    .filter(({ shape, type }) => shape === 'Reference' && type !== undefined)
    .filter(({ value }) => /^(https?:|urn:|[A-Z])/.test(value.reference ?? '') && value.type === undefined);
}

// Also where nothing is contained. A reference that another rule reads is left alone.
function fragmentToNothing({ members, objects, definitions }) {
  const read = new Set(
    members
      .filter((member) => isReadByRules(member, definitions))
      .flatMap((member) => member.items.map((item, index) => itemExpression(member, index))),
  );
  return literalReferences(objects)
    .filter(({ expression }) => !read.has(expression))
    .map((node) => spot(node, node.expression, (object) => (object.reference = '#nightferry-none')));
}
