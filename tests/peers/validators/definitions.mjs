// The published StructureDefinitions, ValueSets and CodeSystems of a release, read as they come in the hl7.fhir.*
// packages: which elements a shape has, how often, of which types, and which codes a required binding allows. A shape
// is a type ("Quantity", "Observation") or a backbone ("Observation.component").

import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const RELEASES = ['R4', 'R4B', 'R5'];

const PACKAGES = process.env.NIGHTFERRY_PACKAGES ?? fileURLToPath(new URL('../node_modules', import.meta.url));
const FHIR_TYPE = 'http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type';

export class Definitions {
  #shapes = new Map();
  #types = new Map();
  #codes = new Map();
  #words = new Map();

  constructor(release) {
    this.release = release;
    this.folder = `${PACKAGES}/hl7.fhir.${release.toLowerCase()}.examples`;
  }

  file(name) {
    const path = `${this.folder}/${name}.json`;
    return existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : undefined;
  }

  /** The StructureDefinition of a type, or undefined when the release has no such type. */
  type(name) {
    if (!this.#types.has(name)) {
      const found = /^[A-Za-z0-9]+$/.test(name) ? this.file(`StructureDefinition-${name}`) : undefined;
      this.#types.set(name, found?.derivation === 'constraint' ? undefined : found);
    }
    return this.#types.get(name);
  }

  isResource(name) {
    const definition = this.type(name);
    return definition?.kind === 'resource' && !definition.abstract;
  }

  isDomainResource(name) {
    return this.isResource(name) && this.shape(name).some((element) => element.name === 'contained');
  }

  /** The elements of a shape, in the order of the definition. */
  shape(name) {
    if (!this.#shapes.has(name)) this.#shapes.set(name, this.#readShape(name));
    return this.#shapes.get(name);
  }

  /** The element and type that a member name means in a shape: "valueQuantity" is value[x] as a Quantity. */
  member(shape, json) {
    for (const element of this.shape(shape)) {
      const type = element.types.find((candidate) => candidate.json === json);
      if (type !== undefined) return { element, type };
    }
    return undefined;
  }

  /** The codes of a required binding as a Set, or undefined when the release does not publish all of them. */
  codes(url) {
    const plain = url.split('|')[0];
    if (!this.#codes.has(plain)) {
      this.#codes.set(plain, undefined); // A set that includes itself has no complete list.
      this.#codes.set(plain, this.#expand(plain));
    }
    return this.#codes.get(plain);
  }

  /** The words in the constraints of a type: what its invariants may look at. */
  wordsOfRules(name) {
    if (!this.#words.has(name)) {
      const constraints = (this.type(name)?.snapshot.element ?? []).flatMap((element) => element.constraint ?? []);
      const own = constraints.filter((rule) => rule.severity === 'error' && !/^(dom-|ele-|ext-)/.test(rule.key));
      this.#words.set(name, new Set(own.flatMap((rule) => (rule.expression ?? '').match(/\w+/g) ?? [])));
    }
    return this.#words.get(name);
  }

  #readShape(name) {
    const elements = this.type(name.split('.')[0])?.snapshot.element ?? [];
    const depth = name.split('.').length;
    return elements
      .filter((element) => element.path.startsWith(`${name}.`) && element.path.split('.').length === depth + 1)
      .map((element) => describe(element));
  }

  #expand(url) {
    const set = this.#canonical('ValueSet', url);
    if (set?.compose === undefined || set.compose.exclude !== undefined) return undefined;
    const all = new Set();
    for (const include of set.compose.include) {
      const codes = this.#included(include);
      if (codes === undefined) return undefined;
      codes.forEach((code) => all.add(code));
    }
    return all;
  }

  #included(include) {
    if (include.filter !== undefined) return undefined;
    if (include.valueSet !== undefined) {
      const only = include.system === undefined && include.valueSet.length === 1;
      return only ? this.codes(include.valueSet[0]) : undefined;
    }
    if (include.concept !== undefined) return include.concept.map(({ code }) => code);
    const system = this.#canonical('CodeSystem', include.system);
    return system?.content === 'complete' ? allCodes(system.concept ?? []) : undefined;
  }

  #canonical(type, url) {
    const last = url.split('/').pop();
    return [last, last.toLowerCase()].map((id) => this.file(`${type}-${id}`)).find((found) => found?.url === url);
  }
}

function describe(element) {
  const name = element.path.split('.').pop().replace('[x]', '');
  const choice = element.path.endsWith('[x]');
  const reference = element.contentReference?.split('#')[1];
  const types = reference === undefined ? (element.type ?? []) : [{ code: reference }];
  return {
    path: element.path,
    name,
    choice,
    min: element.min,
    max: element.max,
    list: element.max !== '1',
    binding: element.binding,
    types: types.map((type) => describeType(element, type, choice ? name : undefined)),
  };
}

function describeType(element, type, choiceName) {
  const system = type.extension?.find(({ url }) => url === FHIR_TYPE);
  const code = system?.valueUrl ?? system?.valueUri ?? type.code;
  const plain = element.path.split('.').pop();
  const backbone = code === 'BackboneElement' || (code === 'Element' && !element.path.startsWith('Element'));
  return {
    // Resource.id says string in R4 and R4B; the text of every release makes it an id.
    code: plain === 'id' && element.base?.path === 'Resource.id' ? 'id' : code,
    shape: backbone ? element.path : code,
    json: choiceName === undefined ? plain : choiceName + code[0].toUpperCase() + code.slice(1),
    targets: (type.targetProfile ?? []).map((url) => url.split('/').pop()),
    simple: (type.profile ?? []).some((url) => url.endsWith('/SimpleQuantity')),
  };
}

// Children too: several published codes stand below another one.
function allCodes(concepts) {
  return concepts.flatMap((concept) => [concept.code, ...allCodes(concept.concept ?? [])]);
}

export function isPrimitive(code) {
  return /^[a-z]/.test(code);
}
