// The ways in which the fault proxy breaks things, each proved from outside: what the client sees, and how often the
// server has seen the request. So a test of the daemon that relies on one cannot pass because it never happened.

import assert from 'node:assert/strict';
import https from 'node:https';
import test from 'node:test';
import { setTimeout as sleep } from 'node:timers/promises';

import { startClinic } from './clinic-support.mjs';
import { startFaultProxy } from './fault-proxy.mjs';
import { BUILD, certificates } from './hub.mjs';

const SILENCE_MS = 150;
const LATEST_MS = 200;

/** A clinic behind a proxy without faults, and how to ask for its metadata through the proxy. */
async function startProxied(t) {
  const { cert, key } = certificates();
  const clinic = await startClinic(t);
  const options = { 'silence-ms': SILENCE_MS, 'latest-ms': LATEST_MS };
  const proxy = await startFaultProxy(t, BUILD, { cert, key }, clinic.port, options);
  const seen = async () => (await clinic.counts()).requests;
  return { proxy, seen, ask: (agent) => ask(proxy.port, agent) };
}

/** What becomes of a request: {status, headers, body} or {failed, began}, with how long it took. */
function ask(port, agent = false) {
  const started = Date.now();
  return new Promise((done) => {
    let status;
    const finish = (outcome) => done({ ...outcome, milliseconds: Date.now() - started });
    const fail = (error) => finish({ failed: error.code ?? error.message, began: status });
    const body = JSON.stringify({ resourceType: 'Basic', text: 'x'.repeat(500) });
    const headers = { 'content-type': 'application/fhir+json', 'content-length': body.length };
    const where = { host: '127.0.0.1', port, method: 'POST', path: '/fhir/Basic', agent };
    const request = https.request({ ...where, headers, rejectUnauthorized: false }, (response) => {
      const chunks = [];
      status = response.statusCode;
      response.on('data', (chunk) => chunks.push(chunk));
      response.on('error', fail);
      response.on('end', () =>
        finish({ status, headers: response.headers, body: Buffer.concat(chunks).toString('utf8') }),
      );
    });
    request.on('error', fail);
    request.end(body);
  });
}

const isFhir = (text) => {
  try {
    return typeof JSON.parse(text).resourceType === 'string';
  } catch {
    return false;
  }
};

test('Without a fault the proxy changes nothing, and counts what passes', async (t) => {
  const { proxy, seen, ask: through } = await startProxied(t);
  const { status, body } = await through();
  assert.ok(status === 201 || status === 400, `${status}`); // the clinic's own judgement
  assert.ok(isFhir(body));
  assert.equal(await seen(), 1);
  const counts = await proxy.counts();
  assert.deepEqual([counts.connections, counts.requests, counts.forwarded, counts.faults], [1, 1, 1, {}]);
});

test('The server may speak TLS itself', async (t) => {
  const { cert, key, ca, otherCa } = certificates();
  const clinic = await startClinic(t, '--cert', cert, '--key', key);
  const trusting = await startFaultProxy(t, BUILD, { cert, key }, clinic.port, { 'server-ca': ca });
  assert.ok(isFhir((await ask(trusting.port)).body));
  const doubting = await startFaultProxy(t, BUILD, { cert, key }, clinic.port, { 'server-ca': otherCa });
  assert.ok((await ask(doubting.port)).failed);
});

// How often the server sees the request in the end.
const NO_ANSWER = {
  'connection-reset': 0,
  'handshake-cut': 0,
  'handshake-garbage': 0,
  'handshake-no-reply': 0,
  'cut-before': 0,
  'reset-before': 0,
  'cut-in-request': 0,
  'half-closed': 0,
  silence: 0,
  'cut-after': 1,
  'reset-after': 1,
  'half-closed-after': 1,
  'truncated-sized': 1,
  'truncated-chunked': 1,
  late: 1,
};

test('A broken connection gives no answer, whether the server acts, and how often', async (t) => {
  const { proxy, seen, ask: through } = await startProxied(t);
  for (const [fault, times] of Object.entries(NO_ANSWER)) {
    const before = await seen();
    await proxy.force(fault);
    const { failed, began, milliseconds } = await through();
    assert.ok(failed, `${fault} gave an answer`);
    assert.equal(began !== undefined, fault.startsWith('truncated'), fault);
    if (fault === 'silence' || fault === 'handshake-no-reply') assert.ok(milliseconds >= SILENCE_MS - 5, fault);
    await sleep(fault === 'late' ? LATEST_MS + 100 : 20);
    assert.equal((await seen()) - before, times, fault);
    const counts = await proxy.counts();
    assert.deepEqual([counts.faults[fault], counts.outstanding], [1, 0], fault);
  }
});

const GATEWAY = { 'http-500': 500, 'http-502': 502, 'http-503': 503, 'http-429': 429, 'html-200': 200 };

test('A gateway answers in the name of the server, before it has acted and after', async (t) => {
  const { proxy, seen, ask: through } = await startProxied(t);
  for (const [name, expected] of Object.entries(GATEWAY)) {
    for (const [fault, times] of [[name, 0], [`${name}-after`, 1]]) {
      const before = await seen();
      await proxy.force(fault);
      const { status, headers, body } = await through();
      assert.deepEqual([status, headers['content-type']], [expected, 'text/html'], fault);
      assert.match(body, /^<!DOCTYPE html>/);
      if (status === 503) assert.equal(headers['retry-after'], '1');
      if (status === 429) assert.match(headers['retry-after'], /^[01]$/);
      assert.equal((await seen()) - before, times, fault);
    }
  }
});

test('An answer that promises no length can be cut short so that only its content tells', async (t) => {
  const { proxy, seen, ask: through } = await startProxied(t);
  await proxy.force('truncated-unsized');
  const { failed, body } = await through();
  assert.equal(failed, undefined);
  assert.ok(!isFhir(body), body);
  assert.equal(await seen(), 1);
});

test('A right answer comes late, in drops, or twice over', async (t) => {
  const { proxy, seen, ask: through } = await startProxied(t);
  for (const [fault, times] of [['delay', 1], ['drip', 1], ['duplicate', 2], ['duplicate-later', 2]]) {
    const before = await seen();
    await proxy.force(fault);
    const { body, milliseconds } = await through();
    assert.ok(isFhir(body), fault);
    if (fault === 'drip') assert.ok(milliseconds >= 100, `${milliseconds}`);
    if (fault === 'duplicate-later') await sleep(LATEST_MS + 100);
    assert.equal((await seen()) - before, times, fault);
  }
});

test('Behind the right answer follows an earlier one, at once and on the same connection', async (t) => {
  const { proxy, ask: through } = await startProxied(t);
  await through();
  await proxy.force('stale-answer');
  const agent = new https.Agent({ keepAlive: true, maxSockets: 1 });
  t.after(() => agent.destroy());
  let extra = '';
  agent.on('free', (socket) => socket.on('data', (bytes) => (extra += bytes)));
  assert.ok(isFhir((await through(agent)).body));
  await sleep(100);
  // Node's own client has closed the connection when it saw bytes that answer nothing, or shows them here.
  assert.ok(extra.startsWith('HTTP/1.1 ') || Object.values(agent.freeSockets).flat().length === 0, extra);
});

test('The same seed brings the same faults, and calm ends them', async (t) => {
  const rounds = [];
  for (let round = 0; round < 2; ++round) {
    const { proxy, ask: through } = await startProxied(t);
    await proxy.restrictTo('http-500', 'http-502', 'http-503', 'cut-before');
    await proxy.setPercent(50);
    const outcomes = [];
    for (let i = 0; i < 30; ++i) outcomes.push((await through()).status ?? 'none');
    rounds.push(outcomes);
    assert.ok(outcomes.filter((outcome) => outcome !== outcomes[0]).length > 3, `${outcomes}`);
    await proxy.calm();
    const { faults } = await proxy.counts();
    for (let i = 0; i < 10; ++i) assert.ok(isFhir((await through()).body));
    assert.deepEqual((await proxy.counts()).faults, faults);
  }
  assert.deepEqual(rounds[0], rounds[1]);
});
