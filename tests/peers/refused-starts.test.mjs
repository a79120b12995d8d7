// What keeps the daemon from starting, each with its words and exit code.

import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, chownSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';

import { BUILD, makeHome, startHome } from './hub.mjs';

const IS_ROOT = process.getuid() === 0;
const NOBODY = 65534;

/** Runs the daemon to its end and returns its exit code and what it said. */
function refused(home, { user, environment = {} } = {}) {
  const as = user === undefined ? [] : ['setpriv', `--reuid=${user}`, `--regid=${user}`, '--clear-groups'];
  const [program, ...args] = [...as, join(BUILD, 'nightferryd'), '--settings', home.settings];
  const env = { ...process.env, ...environment };
  const ran = spawnSync(program, args, { encoding: 'utf8', timeout: 30_000, env });
  return { code: ran.status, text: ran.stderr };
}

const alone = (t) => makeHome(t, async () => ({ port: 9 }));

const CANNOT_LISTEN = 'cannot listen on .*/run/hub\\.sock: ';
const CANNOT_BE_USED = 'cannot be used: Permission denied; give it to the user and group that nightferryd runs as';

for (const [folder, words] of [
  ['.', 'the folder .*/data cannot be made: Permission denied'],
  ['data', 'the logbook is read-only for this user: .*; put that right and start nightferryd again'],
  ['inbox', `the folder .*/inbox ${CANNOT_BE_USED}`],
  ['inbox/done', `the folder .*/inbox/done ${CANNOT_BE_USED}`],
  ['inbox/refused', `the folder .*/inbox/refused ${CANNOT_BE_USED}`],
  ['run', `${CANNOT_LISTEN}Permission denied`],
]) {
  test(`${folder === '.' ? 'the folder above all' : folder} that it may not write in keeps it from starting, in words`, async (t) => {
    const home = await alone(t);
    home.changeSettings((text) => text.replace(/^socket = .*$/m, 'socket = "run/hub.sock"'));
    const closed = join(home.folder, folder);
    for (const one of [join(home.folder, 'run'), closed]) mkdirSync(one, { recursive: true });
    // Nobody's rights hold back root, who therefore runs it as somebody else.
    if (IS_ROOT) execFileSync('chown', ['-R', `${NOBODY}:${NOBODY}`, home.folder]);
    chmodSync(closed, 0o555);
    const { code, text } = refused(home, { user: IS_ROOT ? NOBODY : undefined });
    chmodSync(closed, 0o755);
    assert.equal(code, 78, text);
    assert.match(text, new RegExp(` error ended status=78 reason="${words}`));
  });
}

test('a folder of the socket that is not there keeps it from starting, in words', async (t) => {
  const home = await alone(t);
  home.changeSettings((text) => text.replace(/^socket = .*$/m, 'socket = "run/hub.sock"'));
  const { code, text } = refused(home);
  assert.equal(code, 78, text);
  assert.match(text, new RegExp(`${CANNOT_LISTEN}No such file or directory`));
});

test('root does not begin where another user has to go on', { skip: !IS_ROOT && 'needs root' }, async (t) => {
  const home = await alone(t);
  const data = join(home.folder, 'data');
  mkdirSync(data);
  chownSync(data, NOBODY, NOBODY);
  const refusal = refused(home);
  assert.equal(refusal.code, 78, refusal.text);
  assert.match(refusal.text, /belongs to the user nobody, .*; run nightferryd as nobody \(systemctl start nightferryd does\)/);
  assert.deepEqual(readdirSync(data), []);
});

test('a credential that was not handed over keeps it from starting, in words', async (t) => {
  const home = await alone(t);
  const method = '[clinic.authorization]\nmethod = "bearer"\ntoken = "credential:clinic-token"\n';
  home.changeSettings((text) => text.replace('[clinic.patients]', `${method}\n[clinic.patients]`));
  const none = refused(home);
  assert.equal(none.code, 78, none.text);
  assert.match(none.text, /clinic nowhere: authorization\.token: credential:clinic-token was not handed over by the service manager/);
  const credentials = join(home.folder, 'credentials');
  mkdirSync(credentials);
  const missing = refused(home, { environment: { CREDENTIALS_DIRECTORY: credentials } });
  assert.equal(missing.code, 78, missing.text);
  assert.match(missing.text, /authorization\.token: credential:clinic-token cannot be read: No such file or directory/);
});

test('a second one on the same folder says who is in the way and ends with 75', async (t) => {
  const home = await startHome(t);
  const { code, text } = refused(home);
  assert.equal(code, 75);
  assert.match(text, /another process holds the logbook: a nightferryd, or a command that works on it alone; stop it/);
});
