// Prometheus and its promtool as Debian packages them: those that are installed, or else the package unpacked beside the
// build, so that nobody gets a service by running tests.

import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

import { BUILD } from './hub.mjs';

/** The folder of both programs; nothing where neither is to be had. */
export function findPrometheus() {
  if (spawnSync('prometheus', ['--version']).status === 0 && spawnSync('promtool', ['--version']).status === 0) return '';
  const folder = join(BUILD, 'prometheus');
  const programs = join(folder, 'usr', 'bin');
  if (!existsSync(join(programs, 'promtool'))) {
    mkdirSync(folder, { recursive: true });
    try {
      execFileSync('apt-get', ['download', 'prometheus'], { cwd: folder, stdio: 'ignore' });
      const [file] = readdirSync(folder).filter((name) => name.endsWith('.deb'));
      execFileSync('dpkg-deb', ['-x', file, '.'], { cwd: folder, stdio: 'ignore' });
    } catch {
      return undefined;
    }
  }
  return programs;
}
