// Servers that are right, and do not know the one patient whom the household means, or do not let the hub ask. The
// search for the patient is the only thing that may reach them.

import { answerText } from './doors.mjs';
import { clinicDoor, patient, PATIENT, searchset } from './clinic.mjs';

const finds = (...resources) => answers(answerText(200, searchset(...resources)));
const answers =
  (answer) =>
  ({ test }) =>
    clinicDoor(test, { patient: answer });
const outcome = (code, text) => ({
  resourceType: 'OperationOutcome',
  issue: [{ severity: 'error', code, details: { text } }],
});

export const BAD_PATIENTS = [
  {
    name: 'an unknown patient',
    make: finds(),
    says: /knows no patient by the identifier in the settings; exactly one/,
  },
  {
    name: 'two patients',
    make: finds(patient(), patient({ id: 'p-418' })),
    says: /knows 2 patients by the identifier in the settings; exactly one/,
  },
  {
    name: 'more patients than are shown',
    make: answers(answerText(200, { ...searchset(patient()), total: 2 })),
    says: /more patients than it shows/,
  },
  {
    name: 'a patient with another identifier',
    make: finds(patient({ identifier: [{ ...PATIENT, value: 'TEST-000999' }] })),
    fault: 'another',
    says: /does not bear the identifier/,
  },
  {
    name: 'the identifier on a resource that is no patient',
    make: finds({ ...patient(), resourceType: 'Person' }),
    fault: 'another',
    says: /does not bear the identifier/,
  },
  {
    name: 'a patient whose record was replaced',
    make: finds(patient({ link: [{ other: { reference: 'Patient/p-900' }, type: 'replaced-by' }] })),
    says: /replaced the patient record 'Patient\/.*' by 'Patient\/p-900'; ask the clinic/,
  },
  {
    name: 'a patient whose record is no longer used',
    make: finds(patient({ active: false })),
    says: /no longer uses the patient record/,
  },
  {
    name: 'a page in place of a search',
    make: answers(answerText(200, '<html><body>Sign in</body></html>', { 'content-type': 'text/html' })),
    says: /answer to the search for a patient cannot be read/,
  },
  {
    name: 'a search that is refused',
    make: answers(answerText(400, outcome('invalid', 'identifier is not searchable here'))),
    says: /refused the search for the patient: HTTP 400/,
  },
  {
    name: 'a hub that is not permitted',
    make: answers(answerText(403, outcome('forbidden', 'not yours'))),
    says: /HTTP 403 the clinic does not permit this; ask its IT/,
  },
  {
    name: 'a hub that is not known',
    make: answers(answerText(401, outcome('login', 'who are you?'))),
    says: /HTTP 401 the clinic does not know this hub; ask its IT/,
  },
].map((one) => ({ hears: 'patient', ...one }));
