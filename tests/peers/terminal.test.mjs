// What the command shows at a terminal and nowhere else: emphasis, and how far it has come. The terminal is that of
// script(1).

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import test from 'node:test';

import { BUILD, startHome } from './hub.mjs';

const SIGNS = /\x1b\[[0-9;]*m/g;
const OVERWRITTEN = /\r\x1b\[K/;

/** What a terminal gets to see of a command. */
function seen(home, args, environment = {}) {
  const line = [join(BUILD, 'nightferry'), '--settings', home.settings, ...args].join(' ');
  const env = { ...process.env, TERM: 'xterm', NO_COLOR: '', ...environment };
  return execFileSync('script', ['-qec', line, '/dev/null'], { env, encoding: 'utf8' }).replaceAll('\r\n', '\n');
}

test('a terminal is shown headings and alarms, everybody else the same words without', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const args = ['report', '--from', '2026-10-12', '--to', '2026-11-01', '--known-at', '2026-11-01T23:00Z'];
  const { stdout: plain } = await home.command(...args);
  assert.doesNotMatch(plain, SIGNS);
  const shown = seen(home, args);
  assert.match(shown, /^\x1b\[1mDoses\x1b\[0m$/m);
  assert.match(shown, /^  \x1b\[1;31mcontact:\x1b\[0m /m);
  assert.equal(shown.replace(SIGNS, ''), plain);
  assert.equal(seen(home, args, { NO_COLOR: '1' }), plain);
  assert.equal(seen(home, args, { TERM: 'dumb' }), plain);
  const json = seen(home, ['--json', ...args]);
  assert.doesNotMatch(json, SIGNS);
  JSON.parse(json);
});

test('what takes long says so at a terminal, and nothing is left of it', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  const shown = seen(home, ['check-logbook']);
  assert.match(shown, /^\r\x1b\[Kthe daemon looks through the logbook …\r\x1b\[K62 entries/);
  assert.doesNotMatch(seen(home, ['check-logbook'], { TERM: 'dumb' }), OVERWRITTEN);
  assert.doesNotMatch((await home.command('check-logbook')).stderr, OVERWRITTEN);
});
