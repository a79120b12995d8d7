// The published invariants as an oracle: the constraint expressions of the StructureDefinitions, evaluated by
// fhirpath 5.2.2 of HL7 on every element that they are defined on. Left out: dom-3, whose published form of R4 the
// engine refuses (it calls as() on several items), and ele-1, which every empty element breaks together with another
// rule. An expression that yields nothing counts as kept: R4's ref-1 yields nothing for a reference without text.

import fhirpath from 'fhirpath';
import r4 from 'fhirpath/fhir-context/r4/index.js';
import r5 from 'fhirpath/fhir-context/r5/index.js';

import { Definitions } from './definitions.mjs';
import { placesOf } from './places.mjs';

const MODELS = { R4: r4, R4B: r4, R5: r5 }; // The engine has no model of R4B; its types of interest are those of R4.
const LEFT_OUT = ['dom-3', 'ele-1'];

export function invariants() {
  const releases = new Map();
  return (resource, release) => {
    if (!releases.has(release)) releases.set(release, new Invariants(release));
    return releases.get(release).breaches(resource);
  };
}

class Invariants {
  #compiled = new Map();
  #ofShape = new Map();

  constructor(release) {
    this.definitions = new Definitions(release);
    this.model = MODELS[release];
  }

  breaches(resource) {
    const { objects, members } = placesOf(resource, this.definitions, true);
    const found = [];
    for (const node of objects) {
      // Constraints of a type stand on the root of its definition, those of a backbone on the element.
      this.#check(found, node.shape, node.value, node, node.expression);
      if (node.type?.simple) this.#check(found, 'SimpleQuantity', node.value, node, node.expression, 'Quantity');
    }
    for (const { element, type, holder, items, expression } of members) {
      if (type.shape === element.path || type.code === 'Resource') continue;
      for (const item of items) this.#check(found, element.path, item, holder, expression);
    }
    return found;
  }

  #check(found, path, value, node, expression, base = path) {
    for (const { key, expression: rule } of this.#constraints(path)) {
      const outer = node.resource.as === 'contained' ? node.resource.outer : node.resource;
      const environment = { resource: node.resource.value, rootResource: outer.value };
      const [answer] = this.#compile(base, rule)(value, environment);
      if (answer === false) found.push(`${key} ${expression}`);
    }
  }

  #constraints(path) {
    if (!this.#ofShape.has(path)) this.#ofShape.set(path, this.#readConstraints(path));
    return this.#ofShape.get(path);
  }

  #readConstraints(path) {
    const definition =
      path === 'SimpleQuantity'
        ? this.definitions.file('StructureDefinition-SimpleQuantity')
        : this.definitions.type(path.split('.')[0]);
    const wanted = path === 'SimpleQuantity' ? 'Quantity' : path;
    const element = definition?.snapshot.element.find((candidate) => candidate.path === wanted);
    return (element?.constraint ?? []).filter(({ key, severity, expression }) => {
      const general = key === 'ext-1' && path !== 'Extension';
      return severity === 'error' && expression !== undefined && !general && !LEFT_OUT.includes(key);
    });
  }

  #compile(base, expression) {
    const key = `${base} ${expression}`;
    if (!this.#compiled.has(key)) {
      this.#compiled.set(
        key,
        quiet(fhirpath.compile({ base, expression: expression.replace(/\.trace\('[^']*'(, id)?\)/g, '') }, this.model)),
      );
    }
    return this.#compiled.get(key);
  }
}

// An expression that the engine cannot evaluate says nothing about the resource.
function quiet(evaluate) {
  return (value, environment) => {
    try {
      return evaluate(value, environment);
    } catch {
      return [];
    }
  };
}
