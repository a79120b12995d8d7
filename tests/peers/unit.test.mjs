// The systemd unit: that systemd reads it without a complaint, and how much it leaves open.

import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

import { BUILD } from './hub.mjs';

const UNIT = fileURLToPath(new URL('../../deploy/systemd/nightferryd.service', import.meta.url));
const EXPOSURE_MAX = 1.2;

function folderOf(t) {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-unit-'));
  t.after(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

// Without systemd-analyze these fail, as they should: deploy/packages.sh installs it.
function analyze(...args) {
  const ran = spawnSync('systemd-analyze', ['--no-pager', ...args], { encoding: 'utf8' });
  assert.equal(ran.error, undefined, 'systemd-analyze (Debian package systemd) is needed');
  return ran;
}

test('systemd has nothing to say against the unit', (t) => {
  const copy = join(folderOf(t), 'nightferryd.service');
  // Where the program lies is the package's to say; here it is the one that was built.
  const text = readFileSync(UNIT, 'utf8').replaceAll('/usr/sbin/nightferryd', join(BUILD, 'nightferryd'));
  writeFileSync(copy, text);
  const { status, stdout, stderr } = analyze('verify', '--man=no', copy);
  assert.deepEqual([status, stdout, stderr], [0, '', '']);
});

test(`its exposure is ${EXPOSURE_MAX} at most`, (t) => {
  const copy = join(folderOf(t), 'nightferryd.service');
  copyFileSync(UNIT, copy);
  const { status, stdout } = analyze('security', '--offline=true', `--threshold=${EXPOSURE_MAX * 10}`, copy);
  assert.equal(status, 0, stdout);
  const [, exposure] = /Overall exposure level for nightferryd\.service: ([\d.]+)/.exec(stdout);
  t.diagnostic(`exposure ${exposure}`);
  assert.ok(Number(exposure) <= EXPOSURE_MAX);
});

/** The unit's "# Open:" remarks, each with the setting right below it, as far as the next remark. */
function openDoors() {
  const doors = [];
  let isRemark = false;
  for (const line of readFileSync(UNIT, 'utf8').split('\n')) {
    if (line.startsWith('# Open: ')) doors.push('');
    const isSetting = isRemark && /^[A-Z]\w*=/.test(line);
    isRemark = line.startsWith('#') && (isRemark || line.startsWith('# Open: '));
    if (isRemark || isSetting) doors.push(`${doors.pop()}${line}\n`);
  }
  return doors;
}

test('each address family, folder and set of system calls that stays open is explained', () => {
  for (const door of ['StateDirectory=', 'RuntimeDirectory=', 'SystemCallFilter=@', 'RestrictAddressFamilies=', 'SocketBindDeny='])
    assert.ok(openDoors().some((one) => one.includes(`\n${door}`)), `${door} has no explanation above it`);
});

test('whatever systemd finds open is explained', (t) => {
  const copy = join(folderOf(t), 'nightferryd.service');
  copyFileSync(UNIT, copy);
  const rows = JSON.parse(analyze('security', '--offline=true', '--json=short', copy).stdout);
  const open = rows.filter(({ exposure }) => exposure !== null);
  assert.ok(open.length > 0 && open.length < rows.length, 'the rows have another form');
  t.diagnostic(`open: ${open.map(({ name }) => name).join(', ')}`);
  for (const { name, description } of open) {
    // "RootDirectory=/RootImage=" are two settings, "RestrictAddressFamilies=~AF_UNIX" is one of its values.
    const settings = name.match(/[A-Z][A-Za-z]*=/g);
    assert.ok(
      openDoors().some((door) => settings.every((one) => door.includes(one))),
      `${name} (${description}) has no explanation that names it`,
    );
  }
});

test('the limits it sets fit the daemon', () => {
  const text = readFileSync(UNIT, 'utf8');
  const value = (key) => new RegExp(`^${key}=(.*)$`, 'm').exec(text)?.[1];
  assert.equal(value('Type'), 'notify');
  assert.equal(value('RestartPreventExitStatus'), '64 78');
  const help = execFileSync(join(BUILD, 'nightferryd'), ['--help'], { encoding: 'utf8' });
  for (const status of ['64', '74', '75', '78']) assert.match(help, new RegExp(`\\b${status} `));
});
