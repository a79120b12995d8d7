// A small valid value of each datatype, for elements that an operator adds.

import { Numeral } from './lossless-json.mjs';

const UCUM = 'http://unitsofmeasure.org';

export function sampleOf(code) {
  const text = { string: 'invented', markdown: 'invented', code: 'invented', id: 'invented', time: '10:30:00' };
  const uris = { uri: 'urn:example:invented', url: 'http://example.org/', canonical: 'http://example.org/invented' };
  const dates = { date: '2026-01-05', dateTime: '2026-01-05', instant: '2026-01-05T10:30:00Z' };
  const numbers = { integer: '1', positiveInt: '1', unsignedInt: '1', decimal: '1.5' };
  if (code in numbers) return new Numeral(numbers[code]);
  return { ...text, ...uris, ...dates, ...complex(), boolean: true, base64Binary: 'AAAA' }[code];
}

function complex() {
  const quantity = { value: new Numeral('1.5'), unit: 'mg', system: UCUM, code: 'mg' };
  return {
    Quantity: quantity,
    Range: { low: quantity },
    Ratio: { numerator: quantity, denominator: quantity },
    Period: { start: '2026-01-05' },
    CodeableConcept: { text: 'invented' },
    Coding: { system: 'http://example.org/codes', code: 'invented' },
    Identifier: { system: 'urn:example:invented', value: '1' },
    Reference: { display: 'invented' },
    Annotation: { text: 'invented' },
    HumanName: { text: 'invented' },
    Address: { text: 'invented' },
    Timing: { code: { text: 'invented' } },
  };
}
