// What leaves the hub, seen on the wire: the real daemon and a clinic behind nginx, and servers that cannot prove who
// they are. tshark's own reading of the handshakes stands beside ours of the bytes. Needs what capture.mjs says; without
// it the tests are skipped with the reason, or fail when NIGHTFERRY_NEED_CAPTURE is set.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import test from 'node:test';

import { badCertificate } from './bad-doors/certificates.mjs';
import { PATIENT } from './bad-doors/clinic.mjs';
import { Ears, tlsDoor } from './bad-doors/doors.mjs';
import { startCapture } from './capture.mjs';
import { doseRows, findings } from './demo.mjs';
import { byKey, door, newKey, signing } from './entrance.mjs';
import { makeHome, startHome } from './hub.mjs';

const TLS12 = 0x0303;
const TLS13 = 0x0304;

/** Of the demo fortnight and of what is made of it. */
function secrets() {
  const rows = [...doseRows(), ...findings()];
  const texts = rows
    .flatMap(({ id, note, lot, vial, dose }) => [id, note, lot, dose])
    .filter((text) => text && text.length > 3);
  const people = ['juniper', 'marlow', 'tove'];
  const fhir = [
    'MedicationAdministration',
    'Observation',
    'Provenance',
    'Patient',
    'resourceType',
    'enoxaparin',
    'Bundle',
  ];
  return [...new Set([...texts, ...people, ...fhir, PATIENT.value])];
}

function assertNoneIn(bytes, what) {
  for (const secret of secrets()) assert.ok(!bytes.includes(secret), `${what} shows ${secret}`);
}

const number = (text) => Number(text.split(',')[0]);

/** The version of TLS of each ServerHello. RFC 8446 section 4.2.1: 1.3 is told in an extension. */
function versions(capture) {
  const hellos = capture.fields(
    'tls.handshake.type == 2',
    'tls.handshake.version',
    'tls.handshake.extensions.supported_version',
  );
  return hellos.map(([version, supported]) => number(supported || version));
}

async function homeAtGateway(t) {
  const { cert, key } = badCertificate('good'); // For localhost, too.
  const entrance = door(t, {
    client: ({ folder }) => signing([newKey(join(folder, 'hub.pem'), 'ES384')]),
    lines: byKey,
    host: 'localhost',
    gateway: { cert, key },
  });
  let capture;
  const open = async (at) => {
    const opened = await entrance.open(at);
    capture = await startCapture(t, opened.port);
    return { ...opened, ca: badCertificate('ca').cert };
  };
  const home = await startHome(t, { door: open });
  return { home, capture };
}

test('nothing but TLS travels while the fortnight goes through', async (t) => {
  const { home, capture } = await homeAtGateway(t);
  if (!capture) return;
  await home.handInFortnight();
  await home.pass();
  const queue = await home.queue();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0], JSON.stringify(queue));
  await home.endHub('SIGTERM');
  const seen = await capture.stop();
  assertNoneIn(seen.bytes, 'a packet');
  const streams = seen.streams();
  for (const { bytes } of streams)
    assert.ok(Ears.records(bytes), `something else than TLS: ${bytes.subarray(0, 100).toString('latin1')}`);
  const volume = streams.reduce((sum, { isFromHub, bytes }) => sum + (isFromHub ? bytes.length : 0), 0);
  assert.ok(volume > 30_000, `the fortnight is more than ${volume} bytes`);
  const hellos = seen.fields(
    'tls.handshake.type == 1',
    'tls.handshake.extensions_server_name',
    'tls.handshake.extensions_alpn_str',
  );
  assert.ok(hellos.length > 0);
  for (const hello of hellos) assert.deepEqual(hello, ['localhost', 'http/1.1']);
  assert.ok(versions(seen).length > 0);
  for (const version of versions(seen)) assert.ok(version >= TLS12, `TLS ${version.toString(16)}`);
});

for (const [version, number] of [
  ['TLSv1.2', TLS12],
  ['TLSv1.3', TLS13],
]) {
  test(`a server that cannot prove who it is gets no application data by ${version}`, async (t) => {
    let capture;
    const strange = badCertificate('strangers').tls;
    const home = await makeHome(t, async () => {
      const { port, ears } = await tlsDoor(t, { ...strange, minVersion: version, maxVersion: version }, () => {});
      capture = await startCapture(t, port);
      return { port, ears, ca: badCertificate('ca').cert };
    });
    if (!capture) return;
    await home.startHub();
    await home.handInFortnight();
    const { pass } = await home.pass();
    assert.match(pass.words, /is not trusted/);
    await home.endHub('SIGTERM');
    const seen = await capture.stop();
    assertNoneIn(seen.bytes, 'a packet');
    assert.deepEqual([...new Set(versions(seen))], [number], 'it came as far as the certificate');
    const fromHub = seen.streams().filter(({ isFromHub }) => isFromHub);
    assert.ok(fromHub.length >= 2, 'at the start, and when it was asked to');
    for (const { bytes } of fromHub)
      assert.deepEqual(
        Ears.records(bytes).filter((type) => type === 'application_data'),
        [],
      );
  });
}

test('an address without a name is not told as one', async (t) => {
  let capture;
  const home = await makeHome(t, async () => {
    const { port } = await tlsDoor(t, badCertificate('strangers').tls, () => {});
    capture = await startCapture(t, port);
    return { port };
  });
  if (!capture) return;
  await home.startHub();
  await home.rest();
  const seen = await capture.stop();
  // RFC 6066 section 3: no addresses.
  for (const [name] of seen.fields('tls.handshake.type == 1', 'tls.handshake.extensions_server_name'))
    assert.equal(name, '');
});
