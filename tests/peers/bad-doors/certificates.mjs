// Certificates that are wrong in one way each, made for one run of the tests by the openssl command.

import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const DAY = 24 * 3600 * 1000;
const ELLIPTIC = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256'];
const rsa = (bits) => ['-newkey', `rsa:${bits}`];

let made;

/** The file `name.pem`, and with it `name-key.pem`, in the folder of this run; see below for the names. */
export function badCertificate(name) {
  made ??= make();
  const files = { cert: join(made, `${name}.pem`), key: join(made, `${name}-key.pem`) };
  return { ...files, tls: { cert: readFileSync(files.cert), key: readFileSync(files.key) } };
}

function make() {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-bad-ca-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const openssl = (...args) => execFileSync('openssl', args, { cwd: folder, stdio: 'pipe' });
  writeFileSync(
    join(folder, 'names.cnf'),
    `[here]\nsubjectAltName = IP:127.0.0.1, DNS:localhost\n[elsewhere]\nsubjectAltName = DNS:clinic.example\n[hub]\nextendedKeyUsage = clientAuth\n`,
  );
  const authority = (name, key) => {
    const uses = ['-addext', 'basicConstraints=critical,CA:TRUE', '-addext', 'keyUsage=critical,keyCertSign'];
    openssl(
      'req',
      '-x509',
      ...key,
      '-nodes',
      '-days',
      '9',
      '-subj',
      `/CN=${name}`,
      ...uses,
      '-keyout',
      `${name}-key.pem`,
      '-out',
      `${name}.pem`,
    );
    mkdirSync(join(folder, name));
    writeFileSync(join(folder, name, 'index'), '');
    writeFileSync(
      join(folder, `${name}.cnf`),
      `[ca]\ndefault_ca = it\n[it]\ndatabase = ${name}/index\nnew_certs_dir = ${name}\nrand_serial = yes\npolicy = any\ndefault_md = sha256\n` +
        `unique_subject = no\ncertificate = ${name}.pem\nprivate_key = ${name}-key.pem\n[any]\ncommonName = supplied\n`,
    );
  };
  authority('ca', ELLIPTIC);
  authority('stranger', ELLIPTIC);
  authority('rsa-ca', rsa(2048));

  const when = (days) => new Date(Date.now() + days * DAY).toISOString().replace(/[-:T]|\.\d+/g, '');
  /** Valid from so many days from now until so many. */
  const certificate = (
    name,
    { by = 'ca', names = 'here', key = ELLIPTIC, from = -1, until = 8, digest = 'sha256' } = {},
  ) => {
    openssl('req', ...key, '-nodes', '-subj', `/CN=${name}`, '-keyout', `${name}-key.pem`, '-out', `${name}.csr`);
    const dates = ['-startdate', when(from), '-enddate', when(until)];
    openssl(
      'ca',
      '-batch',
      '-notext',
      '-config',
      `${by}.cnf`,
      '-extfile',
      'names.cnf',
      '-extensions',
      names,
      '-md',
      digest,
      ...dates,
      '-in',
      `${name}.csr`,
      '-out',
      `${name}.pem`,
    );
  };
  certificate('good');
  certificate('expired', { from: -9, until: -2 });
  certificate('not-yet', { from: 3 });
  certificate('elsewhere', { names: 'elsewhere' });
  certificate('strangers', { by: 'stranger' });
  certificate('weak-key', { key: rsa(1024) });
  certificate('weak-signature', { by: 'rsa-ca', digest: 'sha1' });
  certificate('good-rsa', { by: 'rsa-ca', key: rsa(2048) });
  const byItself = ['-subj', '/CN=by itself', '-addext', 'subjectAltName = IP:127.0.0.1'];
  openssl(
    'req',
    '-x509',
    ...ELLIPTIC,
    '-nodes',
    '-days',
    '8',
    ...byItself,
    '-keyout',
    'by-itself-key.pem',
    '-out',
    'by-itself.pem',
  );
  certificate('hub', { names: 'hub' });
  certificate('strangers-hub', { by: 'stranger', names: 'hub' });
  certificate('expired-hub', { names: 'hub', from: -9, until: -2 });
  openssl('genrsa', '-out', 'signing-1024.pem', '1024');
  return folder;
}

/** A file of the folder of this run that is no pair. */
export function madeFile(name) {
  made ??= make();
  return join(made, name);
}
