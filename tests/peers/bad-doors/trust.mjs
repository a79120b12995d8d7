// Servers that cannot prove who they are, or with which no safe connection can be agreed. Not one request goes to them.

import { badCertificate } from './certificates.mjs';
import { opensslDoor, plainDoor, tlsDoor } from './doors.mjs';

const SAYS_NOTHING = () => {};

const withCertificate =
  (name, { ca = 'ca', ...options } = {}) =>
  async ({ test }) => {
    const door = await tlsDoor(test, { ...badCertificate(name).tls, ...options }, SAYS_NOTHING);
    return { ...door, ca: badCertificate(ca).cert };
  };

// Below OpenSSL's security level 1 are the old versions of TLS and whatever is weak.
const weakly = { ciphers: 'DEFAULT@SECLEVEL=0' };

const showing = (name) => ({
  lines: `certificate = "${badCertificate(name).cert}"\ncertificate_key = "${badCertificate(name).key}"\n`,
});

const asks =
  (name, ...args) =>
  async ({ test }) => {
    const { cert, key } = badCertificate('good');
    const authority = badCertificate('ca').cert;
    const door = await opensslDoor(test, [
      '-cert',
      cert,
      '-key',
      key,
      '-CAfile',
      authority,
      '-Verify',
      '3',
      '-verify_return_error',
      ...args,
    ]);
    return { ...door, ca: authority, ...(name && showing(name)) };
  };

const other = 'QUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUE=';

export const UNTRUSTED = [
  {
    name: 'an expired certificate',
    make: withCertificate('expired'),
    says: /not trusted: certificate has expired; it is valid until .*this hub's clock says/,
  },
  {
    name: 'a certificate that is not valid yet',
    make: withCertificate('not-yet'),
    says: /not trusted: certificate is not yet valid; it is valid from .*this hub's clock says/,
  },
  {
    name: 'a certificate for another name',
    make: withCertificate('elsewhere'),
    says: /not trusted: .*(IP address|[Hh]ostname) mismatch.*url in the settings/,
  },
  {
    name: 'a certificate of an unknown authority',
    make: withCertificate('strangers'),
    says: /not trusted: unable to get local issuer certificate.*trust/,
  },
  {
    name: 'a certificate signed by itself',
    make: withCertificate('by-itself'),
    says: /not trusted: self.signed certificate.*trust/,
  },
  {
    name: 'an RSA key of 1024 bits',
    make: withCertificate('weak-key', weakly),
    says: /not trusted: EE certificate key too weak.*new certificate/,
  },
  {
    name: 'a certificate signed with SHA-1',
    make: withCertificate('weak-signature', { ca: 'rsa-ca', ...weakly }),
    says: /not trusted: CA signature digest algorithm too weak.*new certificate/,
  },
  {
    name: 'nothing newer than TLS 1.0',
    fault: 'old TLS',
    make: withCertificate('good-rsa', { ca: 'rsa-ca', minVersion: 'TLSv1', maxVersion: 'TLSv1', ...weakly }),
    says: /no version of TLS .* 1\.2/,
  },
  {
    name: 'nothing newer than TLS 1.1',
    fault: 'old TLS',
    make: withCertificate('good-rsa', { ca: 'rsa-ca', minVersion: 'TLSv1.1', maxVersion: 'TLSv1.1', ...weakly }),
    says: /no version of TLS .* 1\.2/,
  },
  {
    name: 'no cipher with forward secrecy',
    make: withCertificate('good-rsa', { ca: 'rsa-ca', maxVersion: 'TLSv1.2', ciphers: 'AES128-SHA' }),
    says: /no cipher that is safe.*ECDHE/,
  },
  {
    name: 'a key that is not among the pins',
    make: async (at) => ({ ...(await withCertificate('good')(at)), lines: `pins = "${other}"\n` }),
    says: /pinned keys; ask the clinic/,
  },
  {
    name: 'plain HTTP in place of TLS',
    make: async ({ test }) =>
      plainDoor(test, (socket) =>
        socket.once('data', () => socket.end('HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n')),
      ),
    fault: 'no TLS',
    says: /without TLS.*port/,
  },
  {
    name: 'something that is not TLS',
    make: async ({ test }) => plainDoor(test, (socket) => socket.write('220 mail.example ESMTP\r\n')),
    fault: 'no TLS',
    says: /without TLS.*port/,
  },
  {
    name: 'a connection that is closed in the handshake',
    make: async ({ test }) => plainDoor(test, (socket) => socket.once('data', () => socket.end())),
    says: /broke off before it had said who it is/,
  },
  {
    name: 'silence in place of a handshake',
    make: async ({ test }) => plainDoor(test, SAYS_NOTHING),
    slow: true,
    says: /no TLS connection .*no answer in time/,
  },
  {
    name: 'a wish for a certificate, by TLS 1.3',
    fault: 'certificate wanted',
    make: asks(undefined),
    says: /wants a certificate of this hub.*certificate in the settings/,
  },
  {
    name: 'a wish for a certificate, by TLS 1.2',
    fault: 'certificate wanted',
    make: asks(undefined, '-tls1_2'),
    says: /wants a certificate of this hub.*certificate in the settings/,
  },
  {
    name: "a server that does not know this hub's authority",
    make: asks('strangers-hub'),
    says: /does not take this hub's certificate: .*authority/,
  },
  {
    name: "a server to which this hub's certificate is over",
    make: asks('expired-hub'),
    says: /does not take this hub's certificate: .*expired/,
    remark: /this hub's certificate for the clinic has ended on/,
  },
];
