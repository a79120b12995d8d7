// The daemon as a service, under no service manager in particular: what a manager hears, reading the settings again in
// mid-life, and ending at any moment. What keeps it from starting is in refused-starts.test.mjs.

import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import dgram from 'node:dgram';
import { existsSync, openSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { constants } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { ENTRIES } from './demo.mjs';
import { BUILD, JSON_TYPE, NDJSON_TYPE, makeHome, startHome } from './hub.mjs';
import { startManager } from './manager.mjs';

const STOP_MS = 5000; // What a stop may take at most, at any moment.
const DAEMON = join(BUILD, 'nightferryd');

const timesIn = (text, words) => text.split(words).length - 1;
const weight = (id, kg = 18.5) =>
  JSON.stringify({ id, type: 'weight', person: 'juniper', time: '2026-11-02T07:30:00Z', by: 'marlow', kg });

/** Ends the hub and tells its exit code; it has to be quick. */
async function stop(home, signal = 'SIGTERM') {
  const told = Date.now();
  const code = await home.endHub(signal);
  assert.ok(Date.now() - told < STOP_MS, `it took ${Date.now() - told} ms to end`);
  return code;
}

for (const where of ['path', 'abstract address']) {
  test(`a service manager at a ${where} hears of readiness, reloads, life and the end`, async (t) => {
    let manager;
    const prepare = async (home) => {
      const address = where === 'path' ? join(home.folder, 'notify') : `@nightferry-${process.pid}`;
      manager = await startManager(t, address);
      Object.assign(home.environment, { NOTIFY_SOCKET: address, WATCHDOG_USEC: '1000000' });
    };
    const home = await startHome(t, { prepare });
    assert.match(manager.heard[0], /^STATUS=Opening the logbook\.$/);
    const ready = manager.heard.findIndex((one) => one.startsWith('READY=1|STATUS=Running;'));
    assert.ok(ready > 0, manager.heard.join('\n'));
    await home.waitFor('signs of life', () => manager.heard.filter((one) => one === 'WATCHDOG=1').length >= 3);

    manager.heard.length = 0;
    await home.reload();
    await home.waitFor('the end of the reload', () => manager.heard.some((one) => one.startsWith('READY=1')));
    const told = manager.heard.filter((one) => one !== 'WATCHDOG=1');
    assert.match(told[0], /^RELOADING=1\|MONOTONIC_USEC=\d+\|STATUS=/);
    assert.equal(await stop(home), 0);
    await home.waitFor('the end', () => manager.heard.some((one) => one.startsWith('STOPPING=1')));
    for (const one of manager.heard) assert.doesNotMatch(one, /juniper|marlow|nowhere|mg|ml/i, 'nobody and nothing of anybody');
  });
}

test('a manager is told how much waits, and no more than that', async (t) => {
  let manager;
  const prepare = async (home) => {
    manager = await startManager(t, join(home.folder, 'notify'));
    Object.assign(home.environment, { NOTIFY_SOCKET: manager.address, WATCHDOG_USEC: '400000' });
  };
  const home = await startHome(t, { prepare });
  await home.handIn(weight('w1'), JSON_TYPE);
  const words = 'STATUS=Running; 1 entry waits for the clinic; the last pass ended at ';
  await home.waitFor('the entry shows', () => manager.heard.some((one) => one.startsWith(words)));
  await home.pass();
  await home.waitFor('it has gone', () => manager.heard.at(-1).startsWith('STATUS=Running; nothing waits') || manager.heard.at(-1) === 'WATCHDOG=1');
});

test('good settings take effect on SIGHUP, and the socket answers all the while', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  const other = join(home.folder, 'other-inbox');
  home.changeSettings((text) => text.replace(/^inbox = .*$/m, `inbox = "${other}"`));
  let calls = 0;
  let isOver = false;
  const callers = (async () => {
    while (!isOver) {
      assert.equal((await home.call('GET', '/v1/queue')).status, 200);
      ++calls;
    }
  })();
  await home.reload();
  isOver = true;
  await callers;
  assert.ok(calls > 0);
  writeFileSync(join(other, 'late.json'), weight('w-late'));
  await home.waitFor('the new inbox is swept', () => existsSync(join(other, 'done', 'late.json')));
  await home.rest();
  const queue = await home.pass();
  assert.equal(queue.confirmed, ENTRIES + 1);
  assert.equal((await home.clinic.all('Observation')).filter(({ valueQuantity }) => valueQuantity?.value === 18.5).length, 1);
});

test('a person who was added may be recorded for at once', async (t) => {
  const home = await startHome(t);
  const entry = JSON.stringify({ type: 'weight', person: 'rowan', time: '2026-11-02T07:30:00Z', by: 'marlow', kg: 12 });
  const before = await home.call('POST', '/v1/entries', entry, JSON_TYPE);
  assert.match(JSON.stringify(before.body), /refused/);
  home.changeSettings((text) => text.replace('[[person]]', '[[person]]\nkey = "rowan"\nname = "Rowan"\n\n[[person]]'));
  await home.reload();
  await home.handIn(entry, JSON_TYPE);
});

test('bad settings are refused with every mistake, and the old ones stay in force', async (t) => {
  const home = await startHome(t);
  const good = readFileSync(home.settings, 'utf8');
  let times = 0;
  const stays = async (outcome, ...words) => {
    await home.reload(outcome);
    for (const one of words) assert.match(home.wholeLog(), one);
    await home.handIn(weight(`w${++times}`), JSON_TYPE);
  };
  home.changeSettings((text) => text.replace('zone = "', 'zone = "Nowhere/').replace(/^url = /m, 'urll = '));
  await stays('reload_refused', /household\.toml line=\d+ key=hub\.zone$/m, /household\.toml line=\d+ key=clinic\[1\]\.url$/m);
  writeFileSync(home.settings, good.replace(/^data = .*$/m, 'data = "elsewhere"').replace(/^socket = .*$/m, 'socket = "other.sock"'));
  await stays('restart_needed', /restart_needed key=hub\.data$/m, /restart_needed key=hub\.socket$/m);
  assert.equal(existsSync(join(home.folder, 'elsewhere')), false);
  rmSync(home.settings);
  await stays('reload_refused', /household\.toml reason="the file cannot be read/);
  writeFileSync(home.settings, good.replace(/^trust = .*$/m, 'trust = "gone.pem"'));
  await stays('reload_refused', /settings_problem clinic=nowhere reason=".*gone\.pem/);
  await home.rest();
  writeFileSync(home.settings, good);
  await home.reload();
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0]);
});

test('while the settings are wrong people still record, look and send, and are told of it', async (t) => {
  const home = await startHome(t);
  const good = readFileSync(home.settings, 'utf8');
  let times = 0;
  const record = () => home.command('record', 'weight', `id=w${++times}`, 'person=juniper', 'by=marlow', 'kg=18.5');
  for (const bad of [good.replace(/^url = /m, 'urll = '), `${good}\n[[clinic]\n`]) {
    writeFileSync(home.settings, bad);
    const recorded = await record();
    assert.equal(recorded.code, 0, recorded.stderr);
    assert.match(recorded.stdout, /^Recorded, with the id /);
    assert.match(recorded.stderr, /household\.toml:\d+: .*\n(.*\n)*nightferry: correct these settings; a daemon that runs goes on/);
    for (const command of [['check-clinic'], ['public-keys'], ['restore', 'x'], ['erase-person', 'juniper', '--by', 'marlow', '--reason', 'x']])
      assert.equal((await home.command(...command)).code, 78, command[0]);
  }
  assert.equal((await home.command('list')).stdout.split('weight').length, 3);
  const checked = await home.command('check', '--json', home.settings);
  assert.equal(checked.code, 78);
  const [{ line, what }] = JSON.parse(checked.stdout).problems;
  assert.ok(line > 1 && /TOML/.test(what), checked.stdout);
  assert.equal(await stop(home), 0);
  const unanswered = await record();
  assert.equal(unanswered.code, 78);
  assert.match(unanswered.stderr, /it starts again once the settings are corrected/);
});

test('a strength that doses rest on cannot be changed by a reload either', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  const good = readFileSync(home.settings, 'utf8');
  home.changeSettings((text) => text.replace(/^strength = "\d+ /m, 'strength = "7 '));
  await home.reload('reload_refused');
  assert.match(home.wholeLog(), /settings_problem reason="medicine\[1\] changed, and what is in the logbook rests on it; put it back/);
  assert.equal((await home.pass()).confirmed, ENTRIES, 'under the old settings');
  writeFileSync(home.settings, good);
  assert.equal(await stop(home), 0);
  await home.startHub();
});

test('a pass under way goes on after a reload, and nothing is sent twice', async (t) => {
  const home = await startHome(t, { clinicOptions: ['--delay-ms', '400'] });
  await home.handInFortnight();
  await home.requestPass();
  await home.waitFor('a write is under way', async () => (await home.clinic.counts()).writes > 0);
  await home.reload();
  await home.rest();
  const queue = await home.queue();
  assert.deepEqual([queue.confirmed, queue.waiting, queue.set_aside], [ENTRIES, 0, 0]);
  const all = [...(await home.clinic.all('MedicationAdministration')), ...(await home.clinic.all('Observation'))];
  assert.equal(all.length, ENTRIES);
  assert.equal(new Set(all.map(({ identifier }) => identifier[0].value)).size, ENTRIES);
  assert.equal((await home.clinic.all('Provenance')).length, ENTRIES, 'nothing was written twice');
});

test('a storm of SIGHUP in the middle of passes loses nothing and ends nothing', async (t) => {
  const home = await startHome(t, { clinicOptions: ['--delay-ms', '20'] });
  const { pid } = home.hub;
  let isOver = false;
  const storm = (async () => {
    while (!isOver) {
      home.hub.kill('SIGHUP');
      await sleep(3);
    }
  })();
  await home.handInFortnight();
  for (let batch = 0; batch < 10; ++batch) {
    const lines = Array.from({ length: 10 }, (_, one) => weight(`storm-${batch}-${one}`, 10 + batch + one / 10));
    await home.handIn(lines.join('\n'), NDJSON_TYPE);
    await home.call('POST', '/v1/passes');
    await sleep(100);
  }
  isOver = true;
  await storm;
  assert.ok(timesIn(home.wholeLog(), ' reloaded') > 3, 'the settings were read again and again');
  assert.equal(timesIn(home.wholeLog(), ' reload_refused'), 0);
  await home.rest();
  const queue = await home.pass();
  assert.deepEqual([queue.confirmed, queue.waiting, queue.set_aside], [ENTRIES + 100, 0, 0]);
  const all = [...(await home.clinic.all('MedicationAdministration')), ...(await home.clinic.all('Observation'))];
  assert.equal(all.length, ENTRIES + 100);
  assert.equal(home.hub.pid, pid);
  assert.equal(await stop(home), 0);
});

/** Whether the program takes SIGTERM itself by now: it blocks and reads its signals (proc(5), SigBlk). */
function takesSigterm({ pid }) {
  const [, blocked] = /^SigBlk:\s+([0-9a-f]+)$/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return ((BigInt(`0x${blocked}`) >> BigInt(constants.signals.SIGTERM - 1)) & 1n) === 1n;
}

test('told to end at any moment of its start it ends with 0, and the next one starts', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  assert.equal(await stop(home), 0);
  let tooEarly = 0;
  for (let wait = 0; wait < 120; wait += 4) {
    const said = home.wholeLog();
    home.hub = home.spawnHub();
    await sleep(wait);
    const takesIt = takesSigterm(home.hub);
    const how = await stop(home);
    // Until the program takes its signals, before its first word, the system's own answer holds.
    if (how === 'SIGTERM') {
      assert.equal(takesIt, false, `after ${wait} ms`);
      assert.equal(home.wholeLog(), said, `after ${wait} ms`);
      ++tooEarly;
    } else {
      assert.equal(how, 0, `after ${wait} ms`);
    }
  }
  home.hub = home.spawnHub();
  await home.waitFor('it takes its signals', () => takesSigterm(home.hub));
  assert.equal(await stop(home), 0, 'from then on');
  t.diagnostic(`${tooEarly} of 30 came before it took its signals`);
  // A reload that comes in the start waits for its end.
  home.hub = home.spawnHub();
  await home.waitFor('it has begun', () => home.wholeLog().length > 0);
  await sleep(20);
  home.hub.kill('SIGHUP');
  await home.waitFor('the hub answers', () => home.call('GET', '/v1/queue').catch(() => undefined));
  await home.waitFor('the reload', () => home.wholeLog().includes(' reloaded'));
  assert.equal((await home.pass()).confirmed, ENTRIES);
});

test('told to end while a logbook is written anew it ends at once, and leaves it whole', async (t) => {
  const home = await startHome(t);
  assert.equal(await stop(home), 0);
  const data = join(home.folder, 'data');
  const file = join(data, 'logbook.sqlite');
  for (const name of readdirSync(data)) rmSync(join(data, name));
  execFileSync(join(BUILD, 'tests', 'make_backlog'), [data, '60000'], { stdio: 'ignore' });
  writeFileSync(`${file}.in-doubt`, '');
  const started = Date.now();
  home.hub = home.spawnHub();
  await home.waitFor('the copy is being written', () => existsSync(`${file}.rewriting`));
  assert.equal(await stop(home), 0);
  assert.match(home.wholeLog(), / stopped\n$/);
  t.diagnostic(`ended ${Date.now() - started} ms after its start`);
  assert.ok(existsSync(`${file}.in-doubt`), 'the next one does it');
  await home.startHub();
  assert.equal(existsSync(`${file}.in-doubt`), false);
});

test('a start during a stop is either too early or goes well', async (t) => {
  const home = await startHome(t);
  await home.handInFortnight();
  for (let round = 0; round < 10; ++round) {
    const first = home.hub;
    first.kill('SIGTERM');
    await sleep(round);
    let next = home.spawnHub();
    assert.equal(await home.ended(first), 0);
    const answers = () => home.call('GET', '/v1/queue').catch(() => undefined);
    await home.waitFor('one of both', async () => next.exitCode !== null || (await answers())?.status === 200);
    if (next.exitCode !== null) {
      assert.equal(next.exitCode, 75);
      next = home.spawnHub();
      await home.waitFor('the hub answers', answers);
    }
    home.hub = next;
  }
  assert.equal((await home.pass()).confirmed, ENTRIES);
});

const isRoot = process.getuid() === 0;

test('a name server that does not answer does not hold up the end', { skip: !isRoot && 'needs root' }, async (t) => {
  const silent = dgram.createSocket('udp4');
  t.after(() => silent.close());
  let asked = 0;
  silent.on('message', () => ++asked);
  await new Promise((done, fail) => silent.once('error', fail).bind(53, '127.99.99.1', done));
  const home = await makeHome(t, async () => ({ url: 'https://clinic.example/fhir' }));
  writeFileSync(join(home.folder, 'token'), 'invented\n', { mode: 0o600 });
  const method = '[clinic.authorization]\nmethod = "bearer"\ntoken = "./token"\n';
  home.changeSettings((text) => text.replace('[clinic.patients]', `${method}\n[clinic.patients]`));
  const resolver = join(home.folder, 'resolv.conf');
  writeFileSync(resolver, 'nameserver 127.99.99.1\noptions timeout:30\n');
  const mounted = `mount --bind ${resolver} $(readlink -f /etc/resolv.conf) && exec ${DAEMON} --settings ${home.settings}`;
  const log = openSync(join(home.folder, 'hub.log'), 'a');
  const child = spawn('unshare', ['--mount', 'sh', '-c', mounted], { stdio: ['ignore', log, log] });
  t.after(() => child.kill('SIGKILL'));
  await home.waitFor('it asks for the name', () => asked > 0);
  const told = Date.now();
  child.kill('SIGTERM');
  await home.waitFor('it ends', () => child.exitCode !== null);
  assert.equal(child.exitCode, 0);
  assert.ok(Date.now() - told < STOP_MS);
});
