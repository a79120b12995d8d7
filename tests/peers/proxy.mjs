// The proxy of a network that lets nothing out but through it: tinyproxy (Debian), which nobody here wrote. What passes
// through it is heard in front of it.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { Ears, inFrontOf } from './bad-doors/doors.mjs';
import { freePort, listening } from './gateway.mjs';

/** Starts it; it opens ways to `clinicPort` only and, with `credentials` ("user:password"), to those who have them. */
export async function startProxy(test, { clinicPort, credentials }) {
  const folder = mkdtempSync(join(tmpdir(), 'ferry-proxy-'));
  const inner = await freePort();
  const file = join(folder, 'tinyproxy.conf');
  writeFileSync(
    file,
    `Port ${inner}\nListen 127.0.0.1\nAllow 127.0.0.1\nConnectPort ${clinicPort}\nTimeout 60\nMaxClients 20\n` +
      `LogFile "${folder}/log"\nLogLevel Info\n${credentials ? `BasicAuth ${credentials.replace(':', ' ')}\n` : ''}`,
  );
  const child = spawn('tinyproxy', ['-d', '-c', file], { stdio: 'ignore' });
  const ended = once(child, 'exit');
  test.after(async () => {
    child.kill('SIGKILL');
    await ended;
    rmSync(folder, { recursive: true, force: true });
  });
  await Promise.race([listening(inner), ended.then(() => Promise.reject(new Error('tinyproxy ended')))]);
  const ears = new Ears();
  return { port: await inFrontOf(test, inner, ears), ears, log: () => readFileSync(join(folder, 'log'), 'utf8') };
}
