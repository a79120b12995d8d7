// Every place of a resource at which something can be changed: the objects, and the members that stand in them, each
// with what the definitions say of it and with its FHIRPath as OperationOutcome.issue.expression wants it.

import { isObject } from './lossless-json.mjs';
import { isPrimitive } from './definitions.mjs';

/**
 * {objects, members}; throws at what the definitions do not know, unless `tolerant`. An object: {value, path,
 * expression, shape, resource, member, type}; a resource also has `as` (root, entry, contained), `outer` (the resource
 * around it) and `bundled`. A member: {holder, json, element, type, value, items, expression, shadow}, where shadow is
 * the _x beside a primitive.
 */
export function placesOf(tree, definitions, tolerant = false) {
  const found = { objects: [], members: [] };
  const walk = new Walk(definitions, found, tolerant);
  walk.resource(tree, [], tree.resourceType, undefined);
  return found;
}

export function at(root, path) {
  return path.reduce((value, step) => value[step], root);
}

class Walk {
  constructor(definitions, found, tolerant) {
    this.definitions = definitions;
    this.found = found;
    this.tolerant = tolerant;
  }

  refuse(text) {
    if (!this.tolerant) throw new Error(text);
  }

  resource(value, path, expression, outer, as = 'root') {
    if (!this.definitions.isResource(value.resourceType)) return this.refuse(`no type ${value.resourceType}`);
    const node = { value, path, expression, shape: value.resourceType, outer, as };
    node.resource = node;
    node.bundled = as === 'entry' || (outer?.bundled ?? false);
    return this.object(node);
  }

  object(node) {
    this.found.objects.push(node);
    for (const [json, value] of Object.entries(node.value)) {
      if (json === 'resourceType' && node.resource === node) continue;
      const name = json.replace(/^_/, '');
      const known = this.definitions.member(node.shape, name);
      if (known === undefined) this.refuse(`${node.expression}: no element ${json}`);
      else if (json.startsWith('_')) this.shadow(node, known, json, value);
      else this.member(node, known, json, value);
    }
  }

  member(holder, { element, type: published }, json, value) {
    // A CodeableReference says of its own reference what it may point at.
    const passed = holder.shape === 'CodeableReference' && json === 'reference' ? holder.type : undefined;
    const type = passed === undefined ? published : { ...published, targets: passed.targets };
    const items = Array.isArray(value) ? value : [value];
    const expression = `${holder.expression}.${element.name}`;
    const shadow = holder.value[`_${json}`];
    const member = { holder, json, element, type, value, items, expression, shadow };
    this.found.members.push(member);
    if (!isPrimitive(type.code)) items.forEach((item, index) => this.child(member, item, index));
  }

  child(member, value, index) {
    if (!isObject(value)) return this.refuse(`${member.expression}: no object`);
    const { holder, element, type, json } = member;
    const path = element.list ? [...holder.path, json, index] : [...holder.path, json];
    const expression = element.list ? `${member.expression}[${index}]` : member.expression;
    if (type.code === 'Resource') {
      return this.resource(value, path, expression, holder.resource, json === 'contained' ? 'contained' : 'entry');
    }
    return this.object({ value, path, expression, shape: type.shape, resource: holder.resource, member, type });
  }

  // The id and extensions of a primitive.
  shadow(holder, { element }, json, value) {
    (Array.isArray(value) ? value : [value]).forEach((item, index) => {
      if (!isObject(item)) return;
      const path = element.list ? [...holder.path, json, index] : [...holder.path, json];
      const expression = `${holder.expression}.${element.name}${element.list ? `[${index}]` : ''}`;
      this.object({ value: item, path, expression, shape: 'Element', resource: holder.resource });
    });
  }
}
