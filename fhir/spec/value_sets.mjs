// Which codes a value set holds, as far as the package says so completely.

// Every code of a code system, nested ones too.
function codesOf(concepts, into = []) {
    for (const concept of concepts ?? []) {
        into.push(concept.code);
        codesOf(concept.concept, into);
    }
    return into;
}

// [[system, code], ...], or a string that says why the codes are not all known: they stand in a code system
// that the package does not carry (media types, languages, currencies, UCUM, LOINC, ...) or are chosen by a
// filter.
export function expand(url, definitions, open = new Set()) {
    const bare = url.split('|')[0];
    const valueSet = definitions.valueSets.get(bare);
    if (!valueSet) return 'the package has no such value set';
    if (open.has(bare)) return 'it includes itself';
    if (!valueSet.compose || valueSet.compose.exclude) return 'it is not a plain sum of codes';
    const pairs = [];
    for (const include of valueSet.compose.include) {
        const part = included(include, definitions, new Set(open).add(bare));
        if (typeof part === 'string') return part;
        pairs.push(...part);
    }
    return pairs;
}

function included(include, definitions, open) {
    if (include.filter) return `a filter over ${include.system}`;
    if (include.valueSet) {
        if (include.system || include.valueSet.length !== 1) return 'an intersection of value sets';
        return expand(include.valueSet[0], definitions, open);
    }
    if (include.concept) return include.concept.map((concept) => [include.system, concept.code]);
    const system = definitions.codeSystems.get(include.system);
    if (!system || system.content !== 'complete') return `not in the package: ${include.system}`;
    return codesOf(system.concept).map((code) => [include.system, code]);
}
