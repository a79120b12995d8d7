// Addresses at which there is a server, and not the FHIR server that the hub is for.

import { answerText } from './doors.mjs';
import { clinicDoor, statement } from './clinic.mjs';

const tells =
  (answer) =>
  ({ test }) =>
    clinicDoor(test, { metadata: answer });
const page = answerText(
  200,
  '<!DOCTYPE html><html><head><title>Sign in</title></head><body><form>User, password</form></body></html>',
  { 'content-type': 'text/html' },
);
const onlyFor = (...types) => {
  const [rest] = statement().rest;
  return statement({ rest: [{ ...rest, resource: rest.resource.filter(({ type }) => types.includes(type)) }] });
};

const redirect = (status, location) => ({
  name: `HTTP ${status} to ${location}`,
  make: ({ test }) => clinicDoor(test, { all: answerText(status, '', { location }) }),
  says: new RegExp(`sends us elsewhere \\(HTTP ${status}\\), which is never followed; correct`),
  fault: `HTTP ${status}`,
});

export const BAD_STATEMENTS = [
  ...[301, 302, 307, 308].map((status) => redirect(status, 'https://clinic.example/fhir/metadata')),
  redirect(301, 'http://127.0.0.1/fhir/metadata'),
  {
    name: 'a page to sign in at',
    make: ({ test }) => clinicDoor(test, { all: page }),
    says: /a web page answers .*HTTP 200, it says: Sign in.*url in the settings/,
  },
  {
    name: 'a page in place of the statement alone',
    fault: 'a page to sign in at',
    make: tells(page),
    says: /a web page answers .*HTTP 200, it says: Sign in.*url in the settings/,
  },
  {
    name: 'a page that says that nothing is there',
    make: tells(answerText(404, '<html><title>Not here</title></html>', { 'content-type': 'text/html' })),
    says: /a web page answers .*HTTP 404, it says: Not here/,
  },
  {
    name: 'the wrong path',
    make: ({ test }) => clinicDoor(test, { all: answerText(404, '', { 'content-type': 'text/plain' }) }),
    says: /there is no FHIR server at the clinic's address: HTTP 404.*url in the settings/,
  },
  {
    name: 'FHIR DSTU2',
    make: tells(
      answerText(200, { resourceType: 'Conformance', status: 'active', fhirVersion: '1.0.2', rest: statement().rest }),
    ),
    says: /speaks FHIR '1\.0\.2' \(DSTU2\), which this hub does not/,
  },
  {
    name: 'FHIR STU3',
    make: tells(answerText(200, { ...statement(), fhirVersion: '3.0.2' })),
    says: /speaks FHIR '3\.0\.2', which this hub does not; it needs 4\.0 \(R4\)/,
  },
  {
    name: 'a statement that is another resource',
    make: tells(answerText(200, { resourceType: 'Patient', id: 'p-1' })),
    says: /shows a 'Patient' where.*CapabilityStatement.*url in the settings/,
  },
  {
    name: 'a statement that knows nothing that we send',
    make: tells(answerText(200, onlyFor('Patient'))),
    says: /knows neither MedicationAdministration nor Observation.*url in the settings/,
  },
];
