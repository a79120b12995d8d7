// A hub as those see it who watch over services: health, readiness, metrics and log, read by programs of others.

import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, mkdirSync, readFileSync, renameSync, symlinkSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import { join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

import { freePort } from './gateway.mjs';
import { ask, BUILD, JSON_TYPE, startHome } from './hub.mjs';
import { readOpenMetrics } from './open-metrics.mjs';
import { findPrometheus } from './prometheus.mjs';

const MONITORING = fileURLToPath(new URL('../../deploy/monitoring', import.meta.url));
const OPEN_METRICS = 'application/openmetrics-text; version=1.0.0; charset=utf-8';
// Names, ids and texts of the demo household, and what its entries say.
const NOBODYS_BUSINESS = /juniper|marlow|tove|exampleton|TEST-000417|Patient\/|enoxaparin|bruise|dose_given/i;
const WEIGHT = { type: 'weight', person: 'juniper', by: 'marlow', time: '2026-10-12T08:00', kg: 18.4 };

/** A hub whose figures can be read over TCP, too; `hubKeys` are added to its [hub]. */
async function startWatchedHome(test, { hubKeys = '', ...options } = {}) {
  const port = await freePort();
  const home = await startHome(test, {
    ...options,
    prepare: (prepared) =>
      prepared.changeSettings((text) =>
        `${text}\n[metrics]\nlisten = "127.0.0.1:${port}"\n`.replace('[hub]\n', `[hub]\n${hubKeys}`),
      ),
  });
  home.metricsPort = port;
  home.raw = (path, where = { socketPath: join(home.folder, 'nightferry.sock') }, method = 'GET') =>
    new Promise((done, fail) => {
      const request = http.request({ ...where, path, method, agent: false }, (answer) => {
        let body = '';
        answer.setEncoding('utf8').on('data', (chunk) => (body += chunk));
        answer.on('end', () => {
          const { 'content-type': type, 'content-length': length } = answer.headers;
          done({ status: answer.statusCode, type, length, body });
        });
      });
      request.on('error', fail).end();
    });
  home.overTcp = (path, method) => home.raw(path, { host: '127.0.0.1', port }, method);
  return home;
}

test('metrics say what the queue says, in text that two other programs read', async (t) => {
  const home = await startWatchedHome(t);
  await home.handIn(JSON.stringify([{ ...WEIGHT, id: 'w1' }, { ...WEIGHT, id: 'w2' }]), JSON_TYPE);
  const refused = await home.call('POST', '/v1/entries', JSON.stringify({ ...WEIGHT, id: 'w3', kg: -1 }), JSON_TYPE);
  assert.equal(refused.status, 422);
  assert.equal((await home.call('POST', '/v1/entries', '{', JSON_TYPE)).status, 400);
  await home.pass();
  const { status, type, body } = await home.raw('/metrics');
  assert.deepEqual([status, type], [200, OPEN_METRICS]);
  const families = readOpenMetrics(body);
  const value = (family, labels = '') => families[family].samples[labels];
  const queue = await home.queue();
  assert.equal(queue.confirmed, 2);
  for (const state of ['waiting', 'confirmed', 'set_aside', 'closed'])
    assert.equal(value('nightferry_deliveries', `{clinic="nowhere",state="${state}"}`), String(queue[state]), state);
  const [, version] = /^nightferryd (\S+)/.exec(spawnSync(join(BUILD, 'nightferryd'), ['--version'], { encoding: 'utf8' }).stdout);
  assert.equal(value('nightferry_build', `{version="${version}"}`), '1');
  assert.equal(value('nightferry_oldest_waiting_age_seconds', '{clinic="nowhere"}'), '0');
  assert.equal(value('nightferry_handed_in_entries', '{way="local",answer="accepted"}'), '2');
  assert.equal(value('nightferry_handed_in_entries', '{way="local",answer="refused"}'), '1');
  assert.equal(value('nightferry_handed_in_entries', '{way="inbox",answer="accepted"}'), '0');
  assert.equal(value('nightferry_unreadable_hand_ins', '{way="local"}'), '1');
  assert.equal(value('nightferry_passes', '{clinic="nowhere",result="ended"}'), '2', 'the first, and the one asked for');
  assert.equal(value('nightferry_log_events', '{event="pass_ended"}'), '2');
  const ended = Number(value('nightferry_last_pass_end_timestamp_seconds', '{clinic="nowhere"}')) * 1000;
  assert.ok(Math.abs(ended - Date.parse(queue.pass.ended)) < 1000, `${ended} and ${queue.pass.ended}`);
  assert.ok(Number(value('nightferry_clinic_sent_bytes', '{clinic="nowhere"}')) > 1000);
  const certificate = Number(value('nightferry_certificate_expiry_timestamp_seconds', '{clinic="nowhere",whose="clinic"}'));
  assert.ok(certificate * 1000 > Date.now());
  assert.ok(Number(value('nightferry_data_free_bytes')) > 0);
  assert.ok(Math.abs(Number(value('nightferry_start_timestamp_seconds')) * 1000 - Date.now()) < 600_000);
  assert.doesNotMatch(body, NOBODYS_BUSINESS);

  const program = 'import sys\nfrom prometheus_client.openmetrics.parser import text_string_to_metric_families\n' +
    'print(len(list(text_string_to_metric_families(sys.stdin.read()))))';
  const read = spawnSync('/usr/bin/python3', ['-c', program], { input: body, encoding: 'utf8' });
  assert.equal(read.stdout, `${Object.keys(families).length}\n`, read.stderr);
});

test('over TCP there is nothing else, and nothing can be changed', async (t) => {
  const home = await startWatchedHome(t);
  assert.ok(Object.keys(readOpenMetrics((await home.overTcp('/metrics')).body)).length > 15);
  assert.equal((await home.overTcp('/v1/health')).status, 200);
  assert.equal((await home.overTcp('/v1/ready')).status, 200);
  // RFC 9110 section 9.3.2: the same as GET without the body.
  for (const path of ['/metrics', '/v1/health', '/v1/ready', '/v1/nowhere']) {
    const [got, head] = [await home.overTcp(path), await home.overTcp(path, 'HEAD')];
    assert.deepEqual([head.status, head.type, head.body], [got.status, got.type, ''], path);
    if (path !== '/metrics') assert.equal(Number(head.length), Buffer.byteLength(got.body), path);
  }
  for (const path of ['/v1/entries', '/v1/queue', '/v1/audit', '/', '/metrics/..'])
    assert.equal((await home.overTcp(path)).status, 404, path);
  for (const method of ['POST', 'PUT', 'DELETE']) assert.equal((await home.overTcp('/metrics', method)).status, 405, method);
  const body = JSON.stringify({ ...WEIGHT, id: 'w1' });
  const posted = await ask(http, { host: '127.0.0.1', port: home.metricsPort }, 'POST', '/v1/entries', body, JSON_TYPE)
    .catch(({ code }) => ({ status: code }));
  assert.ok([413, 'ECONNRESET', 'EPIPE'].includes(posted.status), `no body is read at all: ${posted.status}`);
  assert.deepEqual((await home.get('/v1/entries')).entries, []);
});

test('a hub that cannot take entries in says so until it can, and why', async (t) => {
  const home = await startWatchedHome(t);
  assert.deepEqual(JSON.parse((await home.raw('/v1/ready')).body), { ready: true });
  const inbox = join(home.folder, 'inbox');
  renameSync(inbox, `${inbox}.away`);
  const { status, body } = await home.raw('/v1/ready');
  assert.equal(status, 503);
  const { ready, because } = JSON.parse(body);
  assert.equal(ready, false);
  assert.match(because.join('\n'), /^the inbox cannot be read and emptied: No such file or directory; give it back/);
  assert.deepEqual(JSON.parse((await home.raw('/v1/health')).body), { alive: true });
  const gauge = async (name) => readOpenMetrics((await home.raw('/metrics')).body)[name].samples[''];
  assert.equal(await gauge('nightferry_ready'), '0');
  renameSync(`${inbox}.away`, inbox);
  assert.equal((await home.raw('/v1/ready')).status, 200);
  assert.equal(await gauge('nightferry_ready'), '1');
});

test('a hub that cannot put files away is not ready', async (t) => {
  const home = await startWatchedHome(t);
  const refused = join(home.folder, 'inbox', 'refused');
  renameSync(refused, `${refused}.away`);
  assert.equal((await home.raw('/v1/ready')).status, 200, 'it is made again');
  symlinkSync('refused', refused);
  const { status, body } = await home.raw('/v1/ready');
  assert.equal(status, 503);
  assert.match(body, /the inbox cannot be read and emptied: refused: /);
});

test('an address that is taken is told, keeps nobody from recording, and is tried again', async (t) => {
  // A watchdog hastens the beat, whoever looks at it.
  const home = await startWatchedHome(t, { hubEnvironment: { WATCHDOG_USEC: '1000000' } });
  await home.endHub('SIGTERM');
  const other = http.createServer();
  other.listen(home.metricsPort, '127.0.0.1');
  await once(other, 'listening');
  await home.startHub();
  await home.waitFor('it is told', () => / metrics_not_served /.test(home.wholeLog()));
  assert.match(home.log(), / error metrics_not_served reason="cannot listen on 127\.0\.0\.1, port \d+: Address already in use"/);
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  assert.equal(home.wholeLog().split(' metrics_not_served ').length, 2, 'once');
  other.close();
  await home.waitFor('it listens again', () => home.wholeLog().match(/ info metrics_served$/gm).length === 2);
  assert.equal((await home.overTcp('/v1/ready')).status, 200);
});

test('a reload moves where figures are read, and keeps what the log has counted', async (t) => {
  const home = await startWatchedHome(t);
  const told = (event) => home.log().split(` ${event}`).length - 1;
  const reload = async (outcome) => {
    const before = told(outcome);
    home.hub.kill('SIGHUP');
    await home.waitFor(outcome, () => told(outcome) > before);
  };
  const samples = async (where) => readOpenMetrics((await home.raw('/metrics', where)).body);
  const valueOf = (families, family, labels = '') => families[family].samples[labels];
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  await home.rest();
  const before = await samples();

  const refused = async () => valueOf(await samples(), 'nightferry_settings_refused');
  assert.equal(await refused(), '0');
  home.changeSettings((text) => text.replace('[hub]\n', '[hub]\nlog = "json"\n'));
  await reload('restart_needed');
  assert.match(home.log(), / warning restart_needed key=hub\.log$/m);
  assert.equal((await home.overTcp('/v1/ready')).status, 200, 'it listens where it did');
  assert.equal(await refused(), '1');

  home.changeSettings((text) => text.replace('log = "json"\n', ''));
  await reload('reloaded');
  assert.equal((await home.overTcp('/v1/ready')).status, 200, 'it listens there again');
  assert.equal(await refused(), '0');

  const [held, other] = [home.metricsPort, await freePort()];
  home.changeSettings((text) => text.replace(`:${held}"`, `:${other}"`));
  await reload('reloaded');
  await assert.rejects(home.overTcp('/metrics'), { code: 'ECONNREFUSED' });
  const after = await samples({ host: '127.0.0.1', port: other });
  for (const [event, times] of [['ready', '1'], ['reloading', '3'], ['restart_needed', '1'], ['reloaded', '2'], ['sharing_changed', '1']])
    assert.equal(valueOf(after, 'nightferry_log_events', `{event="${event}"}`), times, event);
  const started = 'nightferry_start_timestamp_seconds';
  assert.equal(valueOf(after, started), valueOf(before, started));
  const accepted = ['nightferry_handed_in_entries', '{way="local",answer="accepted"}'];
  assert.deepEqual([valueOf(before, ...accepted), valueOf(after, ...accepted)], ['1', '1'], 'counted on');
  const passes = ['nightferry_passes', '{clinic="nowhere",result="ended"}'];
  assert.equal(valueOf(after, ...passes), valueOf(before, ...passes));

  const taken = http.createServer();
  taken.listen(held, '127.0.0.1');
  await once(taken, 'listening');
  t.after(() => taken.close());
  home.changeSettings((text) => text.replace(`:${other}"`, `:${held}"`));
  await reload('reloaded');
  assert.match(home.log(), / metrics_not_served reason="cannot listen on 127\.0\.0\.1, port \d+: Address already in use"/);
  assert.equal((await home.raw('/v1/ready')).status, 200, 'the local socket answers all the same');
});

test('neither a refused start nor a refused reload tells the log what the settings say', async (t) => {
  const home = await startWatchedHome(t);
  const good = readFileSync(home.settings, 'utf8');
  const bad = good
    .replace(/^patients = .*$/m, '')
    .replace('[clinic.patients]\n', '[clinic.patients]\ntove-s-brother = "nobody"\n')
    .replace(/^name = "Marlow.*$/m, 'name = 7\nmarlow-writes-here = "x"')
    .replace(/^strength = "\d+ /m, 'strength = "many enoxaparin ');
  writeFileSync(home.settings, bad);
  const before = home.wholeLog().length;
  await home.reload('reload_refused');
  await home.endHub('SIGTERM');
  assert.equal(await home.ended(home.spawnHub()), 78);
  const told = home.wholeLog().slice(before).replaceAll(home.settings, 'SETTINGS');
  assert.match(told, / settings_problem file=SETTINGS line=\d+ key=clinic\[1\]\.patients$/m);
  assert.match(told, / settings_problem file=SETTINGS line=\d+ key=medicine\[1\]\.strength$/m);
  assert.match(told, / error ended status=78 reason="the settings are not good; 'nightferryd --check' says what is wrong with them"$/m);
  assert.doesNotMatch(told, NOBODYS_BUSINESS);
  const check = spawnSync(join(BUILD, 'nightferryd'), ['--check', '--settings', home.settings], { encoding: 'utf8' });
  assert.match(check.stderr, /patients\.tove-s-brother: /, 'whoever asks is told everything');
  assert.match(check.stderr, /many enoxaparin/);
});

test('the log is one JSON object a line where that is asked for, with nobody in it', async (t) => {
  const home = await startWatchedHome(t, { hubKeys: 'log = "json"\n', clinicIsDown: true });
  await home.handIn(JSON.stringify({ ...WEIGHT, id: 'w1' }), JSON_TYPE);
  await home.waitFor('the pass waits', () => /pass_waits/.test(home.log()));
  await home.endHub('SIGTERM');
  const text = readFileSync(join(home.folder, 'hub.log'), 'utf8');
  const lines = text.trimEnd().split('\n').map((line) => JSON.parse(line));
  assert.deepEqual([lines[0].event, lines.at(-1).event], ['logbook_begun', 'stopped']);
  for (const { time, level, event } of lines) {
    assert.ok(Math.abs(Date.parse(time) - Date.now()) < 600_000);
    assert.match(level, /^(info|warning|error)$/);
    assert.match(event, /^[a-z_]+$/);
  }
  const waits = lines.find(({ event }) => event === 'pass_waits');
  assert.equal(waits.clinic, 'nowhere');
  assert.equal(typeof waits.seconds, 'number');
  assert.doesNotMatch(text, NOBODYS_BUSINESS);

  // What ends it is an object, too.
  writeFileSync(join(home.folder, 'in-the-way'), '');
  home.changeSettings((settings) => settings.replace(/^inbox = .*$/m, 'inbox = "in-the-way/inbox"'));
  assert.equal(await home.ended(home.spawnHub()), 78);
  const last = JSON.parse(readFileSync(join(home.folder, 'hub.log'), 'utf8').trimEnd().split('\n').at(-1));
  assert.deepEqual([last.level, last.event, last.status], ['error', 'ended', 78]);
  assert.match(last.reason, /cannot be made: Not a directory/);
});

const prometheus = findPrometheus();
const skip = prometheus === undefined && process.env.NIGHTFERRY_NEED_PROMETHEUS !== '1' && 'Prometheus is not to be had';

test('the sample rules and settings are what promtool expects, and the alerts do what they say', { skip }, () => {
  for (const args of [
    ['check', 'rules', 'alerts.yml'],
    ['check', 'config', 'prometheus.yml'],
    ['test', 'rules', 'alerts_test.yml'],
  ]) {
    const done = spawnSync(join(prometheus, 'promtool'), args, { cwd: MONITORING, encoding: 'utf8' });
    assert.equal(done.status, 0, done.stdout + done.stderr);
  }
});

test('Prometheus reads the hub, judges the sample rules by it and shows the sample dashboard', { skip }, async (t) => {
  const home = await startWatchedHome(t);
  await home.pass();
  const folder = join(home.folder, 'prometheus');
  const port = await freePort();
  mkdirSync(folder);
  copyFileSync(join(MONITORING, 'alerts.yml'), join(folder, 'alerts.yml'));
  const settings = readFileSync(join(MONITORING, 'prometheus.yml'), 'utf8');
  assert.ok(settings.includes('127.0.0.1:9464') && settings.includes('60s'));
  writeFileSync(
    join(folder, 'prometheus.yml'),
    settings.replace('["127.0.0.1:9464"]', `["127.0.0.1:${home.metricsPort}"]`).replaceAll('60s', '1s'),
  );
  const server = spawn(
    join(prometheus, 'prometheus'),
    ['--config.file=prometheus.yml', '--storage.tsdb.path=data', `--web.listen-address=127.0.0.1:${port}`,
     `--web.console.templates=${MONITORING}`],
    { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] },
  );
  let said = '';
  server.stderr.on('data', (chunk) => (said += chunk));
  t.after(async () => {
    server.kill('SIGKILL');
    await once(server, 'exit');
  });
  const api = async (path) => JSON.parse((await home.raw(`/api/v1/${path}`, { host: '127.0.0.1', port })).body).data;
  const result = async (query) => (await api(`query?query=${encodeURIComponent(query)}`)).result;
  await home.waitFor('the hub was read', async () => {
    const { activeTargets } = await api('targets').catch(() => ({ activeTargets: [] }));
    assert.ok(server.exitCode === null, said);
    return activeTargets.some(({ health, lastError }) => health === 'up' && lastError === '');
  });
  const [build] = await home.waitFor('the build is known', async () => {
    const found = await result('nightferry_build_info');
    return found.length > 0 && found;
  });
  assert.equal(build.value[1], '1');
  const { groups } = await home.waitFor('the rules were judged', async () => {
    const rules = await api('rules');
    return rules.groups[0].rules.every(({ health }) => health === 'ok') && rules;
  });
  assert.equal(groups[0].rules.length, 22);
  assert.deepEqual(groups[0].rules.filter(({ state }) => state === 'firing').map(({ name }) => name), []);
  const { status, body } = await home.raw('/consoles/nightferry.html', { host: '127.0.0.1', port });
  assert.equal(status, 200, body);
  assert.match(body, new RegExp(`<td>${build.metric.version.replaceAll('.', '\\.')}</td>`));
  assert.match(body, /<td>nowhere<\/td>\s*<td>0<\/td>/, 'nothing waits for the clinic');
  assert.match(body, /<caption>Alerts<\/caption>\s*<tr><td>none<\/td><\/tr>/);
});
