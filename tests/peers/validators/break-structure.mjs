// Operators that break the structure: elements that do not exist, that are missing, too many or of the wrong JSON kind.
// https://hl7.org/fhir/R4/json.html and the element tables.

import { Numeral } from './lossless-json.mjs';
import { isPrimitive } from './definitions.mjs';
import {
  absentElements,
  countOfMembers,
  hasPrimitiveType,
  holdsLocalReference,
  isBackbone,
  isDatatype,
  isEndOfRange,
  isOfType,
  isReadByRules,
  memberSpot,
  replacing,
  spot,
} from './operator.mjs';
import { sampleOf } from './samples.mjs';

export const operators = [
  // Nothing is known of an unknown member, so its place is the name as it stands.
  adding('unknown-at-root', (node) => node.resource === node, 'nightferry', 'x'),
  adding('unknown-in-backbone', isBackbone, 'nightferry', { id: 'x' }),
  adding('resource-type-in-datatype', isDatatype, 'resourceType', 'Basic'),
  adding('unknown-in-datatype', isDatatype, 'nightferry', new Numeral('1')),
  adding('unknown-shadow', (node) => node.shape !== 'Element', '_nightferry', { id: 'x' }),
  adding('modifier-extension-on-datatype', hasNoModifierExtension, 'modifierExtension', [
    { url: 'http://example.org/invented', valueBoolean: true },
  ]),
  adding('extension-on-bundle', ({ shape }) => shape === 'Bundle' || shape === 'Parameters', 'extension', [
    { url: 'http://example.org/invented', valueBoolean: true },
  ]),
  { name: 'misspelt-case', rule: 'unknown-element', find: misspeltCase },
  { name: 'choice-without-type', rule: 'unknown-element', find: choiceWithoutType },
  { name: 'type-not-in-choice', rule: 'unknown-element', find: typeNotInChoice },
  { name: 'two-types-of-choice', rule: 'choice', find: twoTypesOfChoice },
  { name: 'drop-required', rule: 'min', find: dropRequired(false) },
  { name: 'drop-required-choice', rule: 'min', find: dropRequired(true) },
  { name: 'single-as-list', rule: 'list', find: singleAsList(1) },
  { name: 'single-twice', rule: 'list', find: singleAsList(2) },
  { name: 'list-as-single', rule: 'list', find: listAsSingle },
  replacing('object-for-primitive', 'kind', isLoosePrimitive, () => ({ id: 'x' })),
  replacing('primitive-for-object', 'kind', isLooseDatatype, 'x'),
  replacing('number-for-object', 'kind', isLooseDatatype, new Numeral('5')),
  replacing('text-for-boolean', 'kind', isOfType('boolean'), String),
  replacing('number-for-boolean', 'kind', isOfType('boolean'), (value) => new Numeral(value ? '1' : '0')),
  replacing('text-for-integer', 'kind', isOfType('integer', 'positiveInt', 'unsignedInt'), textOf),
  replacing('text-for-decimal', 'kind', isLooseDecimal, textOf),
  replacing('number-for-text', 'kind', isLooseText, new Numeral('5')),
  replacing('boolean-for-text', 'kind', isLooseText, true),
  replacing('number-for-integer64', 'kind', isOfType('integer64'), (value) => new Numeral(value)),
  replacing('empty-text', 'empty', isLooseText, ''),
  {
    name: 'empty-list',
    rule: 'empty',
    find: addingAbsent(
      (element) => element.list,
      () => [],
    ),
  },
  { name: 'empty-object', rule: 'empty', find: addingAbsent(isSinglePlainType, () => ({})) },
  { name: 'empty-object-in-list', rule: 'empty', find: emptyObjectInList },
  // Null is the first thing wrong with it, also where a list is due.
  {
    name: 'null-member',
    rule: 'null',
    find: addingAbsent(
      (element) => !element.choice,
      () => null,
    ),
  },
  { name: 'null-in-list', rule: 'null', find: nullInList },
  { name: 'null-in-both-lists', rule: 'null', find: nullInBothLists },
  { name: 'unequal-parallel-lists', rule: 'padding', find: unequalParallelLists },
  { name: 'resource-type-missing', rule: 'resource-type', find: resourceTypes(undefined) },
  { name: 'resource-type-unknown', rule: 'resource-type', find: resourceTypes('Observatoin') },
  { name: 'resource-type-abstract', rule: 'resource-type', find: resourceTypes('DomainResource') },
];

function adding(name, fits, member, value) {
  const find = ({ objects, definitions }) =>
    objects
      .filter((node) => fits(node, definitions) && !(member in node.value))
      .map((node) => spot(node, `${node.expression}.${member}`, (object) => (object[member] = value)));
  return { name, rule: 'unknown-element', find };
}

function hasNoModifierExtension(node, definitions) {
  return isDatatype(node) && definitions.member(node.shape, 'modifierExtension') === undefined;
}

// Other rules cannot be decided, or break as well, when these are gone.
const LEAVES_OTHERS_UNDECIDED = ['Bundle.type', 'CapabilityStatement.kind'];
const OTHERS_NEED_IN_R5 = ['Bundle.entry.request.method', 'Bundle.link.relation', 'Bundle.link.url']; // bdl-3c, bdl-18

function misspeltCase({ members, definitions }) {
  return members
    .filter(({ element, value }) => element.min === 0 && !holdsLocalReference(value))
    .filter((member) => !isReadByRules(member, definitions) && !member.shadow && /^[a-z]/.test(member.json))
    .filter(({ holder, json }) => countOfMembers(holder.value) > 1 && holder.shape !== 'Extension' && json !== 'id')
    .map(({ holder, json }) => {
      const wrong = json[0].toUpperCase() + json.slice(1);
      return spot(holder, `${holder.expression}.${wrong}`, (object) => rename(object, json, wrong));
    });
}

function rename(object, from, to) {
  object[to] = object[from];
  delete object[from];
}

// "value" is how FHIRPath writes valueString; JSON knows only the name with the type.
function choiceWithoutType({ objects, definitions }) {
  return objects.flatMap((node) =>
    absentElements(node, definitions)
      .filter(({ choice, min }) => choice && min === 0)
      .map(({ name }) => spot(node, `${node.expression}.${name}`, (object) => (object[name] = 'x'))),
  );
}

function typeNotInChoice({ objects, definitions }) {
  return objects.flatMap((node) =>
    absentElements(node, definitions)
      .filter(({ choice, min, types }) => choice && min === 0 && !types.some(({ code }) => code === 'Address'))
      .map(({ name }) => {
        const json = `${name}Address`;
        return spot(node, `${node.expression}.${json}`, (object) => (object[json] = sampleOf('Address')));
      }),
  );
}

function twoTypesOfChoice({ members }) {
  return members
    .filter(({ element }) => element.choice)
    .flatMap((member) => {
      const other = member.element.types.find(({ code, json }) => json !== member.json && sampleOf(code) !== undefined);
      if (other === undefined) return [];
      return [memberSpot(member, (holder) => (holder[other.json] = sampleOf(other.code)))];
    });
}

function dropRequired(choice) {
  return ({ members, release }) =>
    members
      .filter(({ element, value }) => element.choice === choice && element.min > 0 && !holdsLocalReference(value))
      .filter(({ element }) => !LEAVES_OTHERS_UNDECIDED.includes(element.path))
      .filter(({ element }) => !(release === 'R5' && OTHERS_NEED_IN_R5.includes(element.path)))
      .filter(({ holder }) => countOfMembers(holder.value) > 1)
      .map((member) =>
        memberSpot(member, (holder, json) => {
          delete holder[json];
          delete holder[`_${json}`];
        }),
      );
}

function singleAsList(times) {
  return ({ members, definitions }) =>
    members
      .filter((member) => !member.element.list && !isReadByRules(member, definitions) && !member.shadow)
      .filter(({ type, value }) => type.code !== 'Resource' && !holdsLocalReference(value))
      .map((member) => memberSpot(member, (holder, json) => (holder[json] = Array(times).fill(holder[json]))));
}

function listAsSingle({ members, definitions }) {
  return members
    .filter((member) => member.element.list && member.items.length === 1 && !member.shadow)
    .filter((member) => !isReadByRules(member, definitions) && member.type.code !== 'Resource')
    .filter(({ value }) => !holdsLocalReference(value))
    .map((member) => memberSpot(member, (holder, json) => (holder[json] = holder[json][0])));
}

function isLoosePrimitive(member, definitions) {
  return hasPrimitiveType(member) && !isReadByRules(member, definitions) && !holdsLocalReference(member.value);
}

function isLooseDatatype(member, definitions) {
  const plain = !isPrimitive(member.type.code) && !member.type.shape.includes('.') && member.type.code !== 'Resource';
  return plain && !isReadByRules(member, definitions) && !holdsLocalReference(member.value);
}

// Without ids, which other places point at, and without what a required binding judges as well.
export function isLooseText(member, definitions) {
  const text = ['string', 'markdown', 'uri', 'url', 'canonical', 'date', 'dateTime', 'instant'];
  return text.includes(member.type.code) && isLoosePrimitive(member, definitions) && !member.shadow;
}

function isLooseDecimal(member) {
  return member.type.code === 'decimal' && !isEndOfRange(member);
}

function textOf(numeral) {
  return numeral.text;
}

function isSinglePlainType(element) {
  return (
    !element.list && !element.choice && ['CodeableConcept', 'Identifier', 'Period'].includes(element.types[0]?.code)
  );
}

function addingAbsent(fits, make) {
  return ({ objects, definitions }) =>
    objects
      .filter((node) => node.shape !== 'Element')
      .flatMap((node) =>
        absentElements(node, definitions)
          .filter((element) => element.min === 0 && element.types.length > 0 && fits(element))
          .map((element) => {
            const json = element.types[0].json;
            return spot(node, `${node.expression}.${element.name}`, (object) => (object[json] = make()));
          }),
      );
}

function emptyObjectInList({ members }) {
  return members
    .filter(({ element, type }) => element.list && ['CodeableConcept', 'Identifier', 'Coding'].includes(type.code))
    .map((member) => {
      const expression = `${member.expression}[${member.items.length}]`;
      return spot(member.holder, expression, (holder) => holder[member.json].push({}));
    });
}

function nullInList({ members }) {
  return members
    .filter(({ element, shadow, type }) => element.list && !shadow && type.code !== 'Resource')
    .filter(({ element }) => element.path !== 'Bundle.entry') // Every entry owes a request, a response or a resource.
    .map((member) => {
      const expression = `${member.expression}[${member.items.length}]`;
      return spot(member.holder, expression, (holder) => holder[member.json].push(null));
    });
}

function isPlainPrimitiveList(member) {
  return member.element.list && hasPrimitiveType(member) && member.shadow === undefined;
}

function nullInBothLists({ members }) {
  return members.filter(isPlainPrimitiveList).map((member) => {
    const count = member.items.length;
    return spot(member.holder, `${member.expression}[${count}]`, (holder) => {
      holder[member.json].push(null);
      holder[`_${member.json}`] = [{ id: 'x' }, ...Array(count).fill(null)];
    });
  });
}

function unequalParallelLists({ members }) {
  return members.filter(isPlainPrimitiveList).map((member) =>
    memberSpot(member, (holder, json) => {
      holder[`_${json}`] = [...member.items.map(() => ({ id: 'x' })), { id: 'y' }];
    }),
  );
}

// The place is the resource: resourceType is no element. A root without a type has no name to be placed by, so there
// the expression is left open. Not in contained resources, whose type also decides whether a reference may point there.
function resourceTypes(name) {
  return ({ objects }) =>
    objects
      .filter((node) => node.as === 'root' || (node.as === 'entry' && !isFirst(node)))
      .map((node) => {
        const expression = node.path.length === 0 ? null : node.expression;
        return spot(node, expression, (object) => {
          if (name === undefined) delete object.resourceType;
          else object.resourceType = name;
        });
      });
}

// The first entry of documents and messages has to be of one type (bdl-11, bdl-12).
function isFirst(node) {
  return node.path.includes('entry') && node.path[node.path.indexOf('entry') + 1] === 0;
}
