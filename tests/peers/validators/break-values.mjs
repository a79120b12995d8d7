// Operators that break the form or range of a primitive value: https://hl7.org/fhir/R4/datatypes.html and the regex of
// each primitive's StructureDefinition. Where both differ the stricter text counts: a date must exist in the calendar
// although the regex lets 30 February pass.
//
// Not here, because no release forbids it clearly: control characters in a string (a SHOULD NOT of R4), texts of white
// space only (allowed by R4's own regex), more than nine digits of a second, decimals of more than 18 digits,
// white space in the base64 of R5 (there should be none, but readers should ignore it).

import { Numeral } from './lossless-json.mjs';
import { holdsLocalReference, isContentReadByRules, isOfType, memberSpot, replacing } from './operator.mjs';
import { isLooseText } from './break-structure.mjs';

const INTEGERS = ['integer', 'positiveInt', 'unsignedInt'];

export const operators = [
  ...dated(['date', 'dateTime'], {
    'month-13': '2026-13-01',
    'month-of-one-digit': '2026-1-05',
    'february-30': '2026-02-30',
    'february-29-of-common-year': '2025-02-29',
    'february-29-of-1900': '1900-02-29',
    'april-31': '2026-04-31',
    'day-00': '2026-01-00',
    'year-0000': '0000-01-01',
    'year-of-two-digits': '26-01-05',
    'date-of-another-order': '05/01/2026',
    'date-with-blank-at-end': '2026-01-05 ',
  }),
  ...dated(['date'], { 'date-with-time': '2026-01-05T10:30:00Z', 'date-with-zone': '2026-01-05Z' }),
  ...dated(['dateTime', 'instant'], {
    'hour-24': '2026-01-05T24:00:00Z',
    'minute-60': '2026-01-05T10:60:00Z',
    'second-61': '2026-01-05T10:30:61Z',
    'no-seconds': '2026-01-05T10:30Z',
    'time-without-zone': '2026-01-05T10:30:00',
    'blank-for-t': '2026-01-05 10:30:00Z',
    'lower-case-t': '2026-01-05t10:30:00Z',
    'lower-case-z': '2026-01-05T10:30:00z',
    'zone-hour-15': '2026-01-05T10:30:00+15:00',
    'zone-14-30': '2026-01-05T10:30:00+14:30',
    'zone-without-colon': '2026-01-05T10:30:00+0100',
    'point-without-fraction': '2026-01-05T10:30:00.Z',
    'comma-for-point': '2026-01-05T10:30:00,5Z',
    'time-on-february-30': '2026-02-30T10:30:00Z',
  }),
  ...dated(['dateTime'], { 'hour-only': '2026-01-05T10', 'month-with-time': '2026-01T10:30:00Z' }),
  ...dated(['instant'], { 'instant-date-only': '2026-01-05', 'instant-year-only': '2026' }),
  ...forms('time', ['time'], {
    'time-hour-24': '24:00:00',
    'time-no-seconds': '10:30',
    'time-with-zone': '10:30:00Z',
    'time-hour-of-one-digit': '9:30:00',
  }),
  replacing('integer-2-to-31', 'value', isFree(...INTEGERS), new Numeral('2147483648')),
  replacing('integer-below-range', 'value', isFree('integer'), new Numeral('-2147483649')),
  replacing('integer-with-point', 'value', isFree(...INTEGERS), new Numeral('1.0')),
  replacing('integer-with-exponent', 'value', isFree(...INTEGERS), new Numeral('1e3')),
  replacing('unsigned-below-0', 'value', isFree('unsignedInt'), new Numeral('-1')),
  replacing('positive-0', 'value', isFree('positiveInt'), new Numeral('0')),
  replacing('positive-below-0', 'value', isFree('positiveInt'), new Numeral('-1')),
  replacing('integer64-no-number', 'value', isFree('integer64'), '12a'),
  replacing('integer64-2-to-63', 'value', isFree('integer64'), '9223372036854775808'),
  replacing('id-with-underscore', 'value', isFreeId, 'in_vented'),
  replacing('id-with-slash', 'value', isFreeId, 'invented/1'),
  replacing('id-of-65', 'value', isFreeId, 'a'.repeat(65)),
  replacing('id-with-letter-beyond-ascii', 'value', isFreeId, 'inv\u00e9nt'),
  replacing('uri-with-blank', 'value', isFree('uri', 'url', 'canonical'), 'http://example.org/in vented'),
  replacing('uri-with-line-end', 'value', isFree('uri', 'url', 'canonical'), 'http://example.org/\n'),
  ...forms('uuid', ['uuid'], {
    'uuid-upper-case': 'urn:uuid:C757873D-EC9A-4326-A141-556F43239520',
    'uuid-without-urn': 'c757873d-ec9a-4326-a141-556f43239520',
    'uuid-too-short': 'urn:uuid:c757873d-ec9a-4326-a141-556f4323952',
  }),
  ...forms('oid', ['oid'], {
    'oid-arc-3': 'urn:oid:3.1.2',
    'oid-arc-with-leading-0': 'urn:oid:1.02.3',
    'oid-without-urn': '1.2.3',
  }),
  ...forms('base64', ['base64Binary'], { 'base64-bad-character': 'AA*A', 'base64-bad-length': 'AAAAA' }),
  // The pattern of R4 and R4B lets = stand anywhere.
  replacing('base64-padded-inside', 'value', isFree('base64Binary'), 'AA=AAAAA', { releases: ['R5'] }),
  replacing('code-leading-blank', 'value', isFreeCode, (code) => ` ${code}`),
  replacing('code-trailing-blank', 'value', isFreeCode, (code) => `${code} `),
  replacing('code-double-blank', 'value', isFreeCode, (code) => `${code}  x`),
  replacing('code-with-tab-at-end', 'value', isFreeCode, (code) => `${code}\t`),
  { name: 'string-over-1-mib', rule: 'value', find: longString, most: 1 },
];

// Dates outside periods and timings, whose order other rules compare.
function dated(types, values) {
  const fits = (member, definitions) => isFree(...types)(member, definitions) && member.holder.shape !== 'Period';
  return Object.entries(values).map(([name, value]) => replacing(name, 'value', fits, value));
}

function forms(kind, types, values) {
  return Object.entries(values).map(([name, value]) => replacing(name, 'value', isFree(...types), value));
}

function isFree(...types) {
  return (member, definitions) => isOfType(...types)(member) && !isContentReadByRules(member, definitions);
}

// The id of the resource itself: those of contained and bundled ones are pointed at from elsewhere.
function isFreeId({ holder, type, json }) {
  return type.code === 'id' && (json !== 'id' || holder.as === 'root');
}

// A code that no required binding judges as well.
function isFreeCode(member, definitions) {
  return isFree('code')(member, definitions) && member.element.binding?.strength !== 'required';
}

function longString({ members, definitions }) {
  return members
    .filter((member) => member.type.code === 'string' && !member.element.list && isLooseText(member, definitions))
    .filter(({ value }) => !holdsLocalReference(value))
    .map((member) => memberSpot(member, (holder, json) => (holder[json] = 'x'.repeat(1024 * 1024 + 1))));
}
