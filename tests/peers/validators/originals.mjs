// The resources that mutants are made of: published examples of each release, the project's golden files and the
// hand-written ones under own/. All of them are valid; published ones that are not are listed here with the reason.

import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const TYPES = [
  'MedicationAdministration',
  'Observation',
  'Provenance',
  'Device',
  'Bundle',
  'Parameters',
  'OperationOutcome',
  'CapabilityStatement',
  'MedicationRequest',
  'Patient',
  'RelatedPerson',
];

/** Published examples that break a rule of their own release. */
export const INVALID = {
  R4: {
    'MedicationRequest-medrx0301.json': 'dispenseRequest.performer is a Practitioner; only an Organization is allowed',
    'Observation-clinical-gender.json': 'performer is an Encounter, which is not among the six allowed types',
  },
  R4B: {
    'Observation-clinical-gender.json': 'performer is an Encounter, which is not among the six allowed types',
  },
  R5: {},
};

const BYTES_MAX = 200_000;
const GOLDEN = fileURLToPath(new URL('../../daemon/mapping/golden/', import.meta.url));
const OWN = fileURLToPath(new URL('./own/', import.meta.url));

/** [{source, text}] in the order of their names. */
export function originalsOf(definitions) {
  const { release, folder } = definitions;
  return [...published(folder, INVALID[release]), ...(release === 'R5' ? [] : golden()), ...own(release)];
}

function published(folder, invalid) {
  return readdirSync(folder)
    .filter((name) => TYPES.includes(name.split('-')[0]) && name.endsWith('.json') && !(name in invalid))
    .sort()
    .map((source) => ({ source, text: readFileSync(`${folder}/${source}`, 'utf8') }))
    .filter(({ source, text }) => text.length <= BYTES_MAX && isOfType(text, source.split('-')[0]));
}

// A file name can lie: Parameters-x.json of a package may hold another type.
function isOfType(text, type) {
  return JSON.parse(text).resourceType === type;
}

function golden() {
  return readdirSync(GOLDEN)
    .filter((name) => name.endsWith('.fhir.json'))
    .sort()
    .flatMap((name) =>
      Object.entries(JSON.parse(readFileSync(GOLDEN + name, 'utf8')))
        .filter(([, value]) => typeof value?.resourceType === 'string')
        .map(([part, value]) => ({ source: `golden/${name}#${part}`, text: JSON.stringify(value) })),
    );
}

// R4 and R4B share the hand-written ones: their element tables are the same for these.
function own(release) {
  const folder = release === 'R5' ? 'R5' : 'R4';
  return readdirSync(OWN + folder)
    .sort()
    .map((name) => ({ source: `own/${folder}/${name}`, text: readFileSync(`${OWN}${folder}/${name}`, 'utf8') }));
}
