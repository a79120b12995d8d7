// Turns the StructureDefinitions of a release into what the tables hold: structures (types and backbone
// elements) with their own elements; what is inherited stays with the base.
import { expand } from './value_sets.mjs';

const profileRoot = 'http://hl7.org/fhir/StructureDefinition/';
const fhirType = `${profileRoot}structuredefinition-fhir-type`;

// The bases that stay bases. Elements of all others (CanonicalResource, Quantity for Age, ...) are copied
// down, because a deriving type may redefine them.
const keptBases = new Set(['Resource', 'DomainResource', 'Element', 'BackboneElement']);

// Where the package says something else than the specification's text: Resource.id is of type id
// (https://hl7.org/fhir/R4/resource.html#id), an element's id is a string without spaces
// (https://hl7.org/fhir/R4B/element.html#id); the definitions name other types for some release.
const typeByPath = { 'Resource.id': 'id', 'Element.id': 'string' };

function typeCode(element, type) {
    if (typeByPath[element.path]) return typeByPath[element.path];
    if (!type.code.startsWith('http://hl7.org/fhirpath/')) return type.code;
    return type.extension.find((one) => one.url === fhirType).valueUrl;
}

export class Model {
    constructor(definitions) {
        this.definitions = definitions;
        this.structures = new Map();  // name -> { name, kind, base, elements }
        this.valueSets = new Map();   // url -> sorted [[system, code], ...]
        this.openValueSets = new Map();  // url -> why its codes are not all known
        const names = [...definitions.structures.keys()].filter((name) => name !== 'Base').sort();
        for (const name of names) this.addType(definitions.structures.get(name));
    }

    addType(definition) {
        const name = definition.type;
        const elements = this.inheritedDown(definition);
        this.structures.set(name, { name, kind: this.kindOf(definition), base: this.keptBase(definition), elements: [] });
        for (const element of elements) this.addElement(name, element, elements);
    }

    kindOf(definition) {
        if (definition.abstract) return definition.kind === 'resource' ? 'abstract_resource' : 'datatype';
        return { 'primitive-type': 'primitive', 'complex-type': 'datatype', resource: 'resource' }[definition.kind];
    }

    baseOf(definition) {
        return this.definitions.structures.get((definition.baseDefinition ?? '').replace(profileRoot, ''));
    }

    keptBase(definition) {
        let base = this.baseOf(definition);
        while (base && !keptBases.has(base.type)) base = this.baseOf(base);
        return base ? base.type : null;
    }

    // The type's own elements and those of the bases that are not kept, nearest definition first.
    inheritedDown(definition) {
        const byPath = new Map();
        for (let one = definition; one && (one === definition || !keptBases.has(one.type)); one = this.baseOf(one)) {
            for (const element of one.differential?.element ?? []) {
                const path = definition.type + element.path.slice(one.type.length);
                if (!byPath.has(path)) byPath.set(path, { ...element, path, origin: element.path });
            }
        }
        byPath.delete(definition.type);
        return [...byPath.values()];
    }

    addElement(typeName, element, all) {
        // A primitive's value is the JSON value itself.
        if (this.structures.get(typeName).kind === 'primitive' || element.max === '0') return;
        const cut = element.path.lastIndexOf('.');
        const holder = this.structures.get(element.path.slice(0, cut));
        const isBackbone = all.some((other) => other.path.startsWith(`${element.path}.`));
        if (isBackbone) {
            const base = element.type[0].code === 'Element' ? 'Element' : 'BackboneElement';
            this.structures.set(element.path, { name: element.path, kind: 'backbone', base, elements: [] });
        }
        const written = element.path.slice(cut + 1);
        holder.elements.push({
            name: written.replace(/\[x\]$/, ''),
            choice: written.endsWith('[x]'),
            list: element.max === '*',
            required: element.min > 0,
            modifier: element.isModifier === true,
            types: isBackbone ? [{ type: element.path }] : this.typesOf(element),
            valueSet: this.requiredValueSet(element),
        });
    }

    typesOf(element) {
        if (element.contentReference) return [{ type: element.contentReference.replace(/^.*#/, '') }];
        return element.type.map((type) => ({
            type: typeCode({ path: element.origin }, type),
            simple: (type.profile ?? []).includes(`${profileRoot}SimpleQuantity`),
            targets: this.targetsOf(type),
        }));
    }

    // The resource types that a reference may lead to; undefined for any.
    targetsOf(type) {
        if (!['Reference', 'CodeableReference'].includes(type.code) || !type.targetProfile) return undefined;
        const targets = type.targetProfile.map((url) => url.replace(profileRoot, ''));
        return targets.includes('Resource') ? undefined : targets.sort();
    }

    requiredValueSet(element) {
        if (element.binding?.strength !== 'required' || !element.binding.valueSet) return undefined;
        const url = element.binding.valueSet.split('|')[0];
        if (this.openValueSets.has(url)) return undefined;
        if (!this.valueSets.has(url)) {
            const pairs = expand(url, this.definitions);
            if (typeof pairs === 'string') {
                this.openValueSets.set(url, pairs);
                return undefined;
            }
            this.valueSets.set(url, sorted(pairs));
        }
        return url;
    }
}

const byBytes = (a, b) => Buffer.compare(Buffer.from(a), Buffer.from(b));

function sorted(pairs) {
    const unique = new Map(pairs.map(([system, code]) => [`${code}\u0000${system}`, [system, code]]));
    return [...unique.values()].sort((a, b) => byBytes(a[1], b[1]) || byBytes(a[0], b[0]));
}
