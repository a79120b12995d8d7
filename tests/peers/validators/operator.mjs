// What the operators are made of. An operator is {name, rule, find, releases?, most?}: find(context) lists the spots of
// a resource where it can strike; a spot is {expression, edit}, and edit changes a copy of the resource. `rule` is the
// key of the one rule that is broken (fhir/check/rules.hpp or the published invariant), or null when the resource must
// stay valid. `releases` limits it; `most` limits how many mutants one release gets.

import { isObject, write } from './lossless-json.mjs';
import { isPrimitive } from './definitions.mjs';
import { at } from './places.mjs';

/** edit(object, root) gets the object at the node's place in the copy. */
export function spot(node, expression, edit) {
  return { expression, edit: (root) => edit(at(root, node.path), root) };
}

export function memberSpot(member, edit) {
  return spot(member.holder, member.expression, (holder) => edit(holder, member.json));
}

/** One spot for each item of a member; edit(list or holder, index or name) is told where the item stands. */
export function itemSpots(member, edit) {
  return member.items.map((item, index) =>
    spot(member.holder, itemExpression(member, index), (holder) => {
      if (member.element.list) edit(holder[member.json], index);
      else edit(holder, member.json);
    }),
  );
}

export function itemExpression(member, index) {
  return member.element.list ? `${member.expression}[${index}]` : member.expression;
}

/** Replacing every value of the members that `fits` chooses. */
export function replacing(name, rule, fits, replacement, more = {}) {
  const find = ({ members, definitions }) =>
    members
      .filter((member) => fits(member, definitions))
      .flatMap((member) =>
        member.items
          .map((item, index) => ({
            item,
            spot: itemSpots(member, (owner, key) => (owner[key] = replace(item, member)))[index],
          }))
          .filter(({ item }) => item !== null && replace(item, member) !== undefined)
          .map((found) => found.spot),
      );
  const replace = typeof replacement === 'function' ? replacement : () => replacement;
  return { name, rule, find, ...more };
}

/** Published rules look at it, so that a change of it may break more than is meant. */
export function isReadByRules({ holder, element }, definitions) {
  if (element.name === 'id' && (holder.as === 'contained' || holder.as === 'entry')) return true;
  const shapes = [holder.shape.split('.')[0], holder.resource.shape, ...(holder.resource.bundled ? ['Bundle'] : [])];
  return shapes.some((shape) => definitions.wordsOfRules(shape).has(element.name));
}

/** As above, but not of choices: of Observation.value and its like rules only ask whether they are there. */
export function isContentReadByRules(member, definitions) {
  return !member.element.choice && isReadByRules(member, definitions);
}

/** An end of a range, whose order rng-2 compares. */
export function isEndOfRange({ holder }) {
  return holder.member?.holder.shape === 'Range';
}

/** Something below points at a contained resource, which would be left without its only reference. */
export function holdsLocalReference(value) {
  return write(value).includes('"#');
}

export function isOfType(...codes) {
  return ({ type }) => codes.includes(type.code);
}

/** Elements of a node that are not there, of which no published rule speaks. */
export function absentElements(node, definitions) {
  return definitions
    .shape(node.shape)
    .filter(({ types }) => !types.some(({ json }) => json in node.value || `_${json}` in node.value))
    .filter((element) => !isReadByRules({ holder: node, element }, definitions));
}

export function isBackbone(node) {
  return node.shape.includes('.');
}

export function isDatatype(node) {
  return node.resource !== node && !isBackbone(node) && node.shape !== 'Element';
}

export function nodesOf(shape) {
  return ({ objects }) => objects.filter((node) => node.shape === shape);
}

export function hasPrimitiveType({ type }) {
  return isPrimitive(type.code) && type.code !== 'xhtml';
}

export function countOfMembers(value) {
  return isObject(value) ? Object.keys(value).filter((name) => name !== 'id').length : 0;
}
