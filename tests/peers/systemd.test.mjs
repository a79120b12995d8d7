// The unit under the real systemd, as process 1 of namespaces of its own: readiness, rights, the filter of system calls,
// credentials, reload, watchdog, end.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

import { BUILD, certificates, settingsText } from './hub.mjs';
import { startClinic } from './clinic-support.mjs';

const HERE = fileURLToPath(new URL('.', import.meta.url));
const STOP_MS = 5000;

/** The settings of the demo household, at the places that the unit gives them. */
function settingsFor(port) {
  const token = '[clinic.authorization]\nmethod = "bearer"\ntoken = "credential:token"\n\n[clinic.patients]';
  return settingsText(port)
    .replace(/^data = .*$/m, 'data = "/var/lib/nightferry/logbook"')
    .replace(/^inbox = .*$/m, 'inbox = "/var/lib/nightferry/inbox"')
    .replace(/^socket = .*$/m, 'socket = "/run/nightferry/nightferry.sock"')
    .replace('[clinic.patients]', token);
}

test('the unit under the real systemd', async (t) => {
  const work = mkdtempSync(join(tmpdir(), 'ferry-systemd-'));
  t.after(() => rmSync(work, { recursive: true, force: true }));
  const { cert, key, ca } = certificates();
  const clinic = await startClinic(t, '--cert', cert, '--key', key);
  const unit = join(HERE, '..', '..', 'deploy', 'systemd', 'nightferryd.service');
  for (const [from, name] of [
    [join(BUILD, 'nightferryd'), 'nightferryd'],
    [join(BUILD, 'nightferry'), 'nightferry'],
    [unit, 'nightferryd.service'],
    [ca, 'clinic-ca.pem'],
    [join(HERE, 'systemd', 'inside.sh'), 'inside.sh'],
  ]) {
    copyFileSync(from, join(work, name));
  }
  writeFileSync(join(work, 'nightferry.toml'), settingsFor(clinic.port));
  writeFileSync(join(work, 'token'), 'invented-token\n');
  const boot = spawn('sh', [join(HERE, 'systemd', 'boot.sh'), work, 'inside.sh'], { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  boot.stdout.on('data', (bytes) => (said += bytes));
  const [code] = await once(boot, 'exit');
  // The machine's doing, not ours; where systemd is missing it is no 77 and the test fails.
  if (code === 77) return t.skip(`systemd cannot be booted here: ${said.trim()}`);
  const told = (name) => (existsSync(join(work, name)) ? readFileSync(join(work, name), 'utf8').trim() : undefined);
  assert.equal(told('status'), '0', `${told('boot.log')}\n${told('inside.log')}`);

  assert.match(told('status-text'), /^Running; /);
  assert.deepEqual(told('rights').split('\n'), [
    '/var/lib/nightferry nightferry:nightferry 2710',
    '/var/lib/nightferry/logbook nightferry:nightferry 2700',
    '/var/lib/nightferry/inbox nightferry:nightferry 2770',
    '/run/nightferry nightferry:nightferry 750',
    '/run/nightferry/nightferry.sock nightferry:nightferry 660',
  ]);
  assert.match(told('queue'), /1 confirmed|everything/);
  assert.deepEqual([told('result'), told('exit')], ['success', '0']);
  assert.ok(Number(told('stop-ms')) < STOP_MS, `it took ${told('stop-ms')} ms to stop`);
  assert.doesNotMatch(told('journal'), /invented-token|18\.5/, 'no secret and no health data in the journal');
  assert.match(told('encrypted'), /everything/, 'with a credential that was encrypted');
  assert.equal(told('without-credential'), '243', 'EXIT_CREDENTIALS of systemd.exec(5)');
});
