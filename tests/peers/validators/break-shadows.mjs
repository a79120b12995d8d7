// Operators on the _x beside a primitive x, which carries its id and extensions: https://hl7.org/fhir/R4/json.html#primitive
// What is wrong with _x is said of the element x.

import { hasPrimitiveType, isReadByRules, memberSpot, spot } from './operator.mjs';

const NOTED = { id: 'x', extension: [{ url: 'http://example.org/invented', valueString: 'x' }] };

export const operators = [
  beside('shadow-empty', 'empty', () => ({})),
  beside('shadow-with-empty-list', 'empty', () => ({ extension: [] }), '.extension'),
  beside('shadow-null', 'null', () => null),
  beside('shadow-as-text', 'kind', () => 'x'),
  beside('shadow-as-list', 'list', () => [{ ...NOTED }]),
  beside('shadow-with-value', 'unknown-element', () => ({ ...NOTED, value: 'x' }), '.value'),
  beside('shadow-extension-without-url', 'min', () => ({ extension: [{ valueString: 'x' }] }), '.extension[0].url'),
  { name: 'null-beside-shadow', rule: 'null', find: nullBesideShadow },
  { name: 'shadow-of-list-as-object', rule: 'list', find: objectForList },
];

// Single primitives; ids and the url of an extension have no shadow.
function singles({ members, definitions }) {
  return members
    .filter((member) => hasPrimitiveType(member) && !member.element.list && !member.shadow)
    .filter((member) => !['id', 'url'].includes(member.json) && !isReadByRules(member, definitions));
}

function beside(name, rule, make, behind = '') {
  const find = (context) =>
    singles(context).map(({ holder, json, expression }) =>
      spot(holder, expression + behind, (object) => (object[`_${json}`] = make())),
    );
  return { name, rule, find };
}

function nullBesideShadow(context) {
  return singles(context).map((member) =>
    memberSpot(member, (holder, json) => {
      holder[`_${json}`] = structuredClone(NOTED);
      holder[json] = null;
    }),
  );
}

function objectForList({ members }) {
  return members
    .filter((member) => hasPrimitiveType(member) && member.element.list && !member.shadow)
    .map((member) => memberSpot(member, (holder, json) => (holder[`_${json}`] = structuredClone(NOTED))));
}
