// Reads the definitions of one FHIR release from its official example package, which carries every
// StructureDefinition, ValueSet and CodeSystem of the release beside the examples.
import fs from 'node:fs';
import path from 'node:path';

export const releases = [
    { name: 'r4', package: 'hl7.fhir.r4.examples', version: '4.0.1' },
    { name: 'r4b', package: 'hl7.fhir.r4b.examples', version: '4.3.0' },
    { name: 'r5', package: 'hl7.fhir.r5.examples', version: '5.0.0' },
];

export function loadDefinitions(packages, release) {
    const folder = path.join(packages, release.package);
    const found = JSON.parse(fs.readFileSync(path.join(folder, 'package.json'), 'utf8')).version;
    if (found !== release.version) throw new Error(`${release.package} is ${found}, wanted ${release.version}`);
    const read = (type) => {
        const files = fs.readdirSync(folder).filter((name) => name.startsWith(`${type}-`) && name.endsWith('.json'));
        return files.sort().map((name) => JSON.parse(fs.readFileSync(path.join(folder, name), 'utf8')));
    };
    const byUrl = (type) => new Map(read(type).map((resource) => [resource.url, resource]));
    const structures = read('StructureDefinition').filter(
        (one) => one.derivation !== 'constraint' && one.kind !== 'logical');
    return {
        structures: new Map(structures.map((one) => [one.type, one])),
        valueSets: byUrl('ValueSet'),
        codeSystems: byUrl('CodeSystem'),
    };
}
