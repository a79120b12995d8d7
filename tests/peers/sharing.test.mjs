// What leaves the home is what was shown before, byte for byte; what a clinic is not to have does not come; and
// everything is in the audit trail, whose chain is followed here by the documented rule (config/audit-format.md).

import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import test from 'node:test';

import { freePort } from './gateway.mjs';
import { demoFile, JSON_TYPE, NDJSON_TYPE, startHome } from './hub.mjs';

const NOTE = 'after breakfast, without tears';
const weight = (id, kg, more = {}) => ({
  type: 'weight', id, person: 'juniper', by: 'marlow', time: '2026-10-20T08:00', kg, ...more,
});

const dose = (id) => ({
  type: 'dose_given', id, person: 'juniper', by: 'tove', time: '2026-10-20T08:05', medicine: 'enoxaparin-100',
  amount: 0.2, unit: 'mL', region: 'thigh', side: 'left',
});
const bruise = (id, of) => ({
  type: 'finding', id, person: 'juniper', by: 'tove', time: '2026-10-21T08:00', finding: 'bruise', region: 'thigh',
  side: 'left', length_cm: 1.5, dose: of,
});

/** A home whose requests to the clinic pass by here and are kept as they are. `sharing` is the clinic's policy. */
async function startWatchedHome(t, sharing = '') {
  const sent = [];
  const door = async ({ clinic }) => {
    const port = await freePort();
    const server = http.createServer(async (request, response) => {
      const chunks = [];
      for await (const chunk of request) chunks.push(chunk);
      const body = Buffer.concat(chunks);
      sent.push({ method: request.method, url: request.url, body: body.toString('utf8') });
      const { method, url: path, headers } = request;
      const onward = http.request({ host: '127.0.0.1', port: clinic.port, method, path, headers }, (answer) => {
        response.writeHead(answer.statusCode, answer.headers);
        answer.pipe(response);
      });
      onward.end(body);
    });
    server.listen(port, '127.0.0.1');
    await once(server, 'listening');
    t.after(() => {
      server.close();
      server.closeAllConnections();
    });
    return { port };
  };
  const home = await startHome(t, { door, prepare: (one) => setSharing(one, sharing) });
  home.written = () => sent.filter(({ method }) => method === 'POST' || method === 'PUT').map(({ body }) => body);
  return home;
}

/** The clinic's policy in the settings from the next start on. */
function setSharing(home, sharing) {
  const plain = readFileSync(home.settings, 'utf8')
    .replace('https://127.0.0.1', 'http://127.0.0.1')
    .replace(/^trust = .*\n/m, '')
    .replace(/\[clinic\.sharing\]\n[^[]*/, '');
  writeFileSync(home.settings, `${plain}\n[clinic.sharing]\n${sharing}\n`);
}

/** Changes it while the hub runs. */
async function changeSharing(home, sharing) {
  setSharing(home, sharing);
  await home.reload();
  return home.rest();
}

/** The text of the value that begins there. */
function textOfValue(text, from) {
  let depth = 0;
  let quoted = false;
  for (let at = from; at < text.length; ++at) {
    const c = text[at];
    if (quoted) {
      if (c === '\\') ++at;
      if (c === '"') quoted = false;
    } else if (c === '"') {
      quoted = true;
    } else if (c === '{' || c === '[') {
      ++depth;
    } else if ((c === '}' || c === ']') && --depth === 0) {
      return text.slice(from, at + 1);
    }
  }
  return assert.fail('the value does not end');
}

function texts(json, name) {
  const found = [];
  for (let at = json.indexOf(`"${name}":`); at >= 0; at = json.indexOf(`"${name}":`, at + 1)) {
    found.push(textOfValue(json, at + name.length + 3));
  }
  return found;
}

async function command(home, ...args) {
  const { code, stdout, stderr } = await home.command(...args);
  assert.equal(code, 0, stdout + stderr);
  return stdout;
}

test('What the preview shows is byte for byte what is sent', async (t) => {
  const home = await startWatchedHome(t);
  await home.handIn(JSON.stringify([dose('d1'), bruise('b1', 'd1'), weight('w1', 18.4, { note: NOTE })]), JSON_TYPE);
  // Four at once: this server takes no more than so many in a transaction, and the hub would halve what it sends.
  await home.handIn(demoFile('later.ndjson').split('\n').find((line) => line.includes('dose_not_given')), NDJSON_TYPE);
  const shown = await command(home, 'share', '--json');
  const [bundle] = texts(shown, 'bundle');
  const before = home.written().length;
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0]);
  assert.deepEqual(home.written().slice(before), [bundle]);
  assert.equal(JSON.parse(shown).clinics[0].entries.length, queue.confirmed);
  assert.match(await command(home, 'share'), /nothing would leave/);
});

test('So is what replaces, and what marks as recorded in error', async (t) => {
  const home = await startWatchedHome(t);
  await home.handIn(JSON.stringify([weight('w1', 18.4), weight('w2', 18.5)]), JSON_TYPE);
  await home.pass();
  await home.command('amend', 'w1', 'kg=18.60', '--by', 'tove', '--reason', 'typing slip');
  await home.command('retract', 'w2', '--by', 'tove', '--reason', 'another child');
  const shown = texts(texts(await command(home, 'share', '--json'), 'bundle')[0], 'resource');
  assert.equal(shown.length, 4); // each with its Provenance
  const before = home.written().length;
  await home.pass();
  assert.deepEqual(home.written().slice(before).flatMap((body) => texts(body, 'resource')).sort(), shown.sort());
});

test('Words for people say what leaves and what stays', async (t) => {
  const home = await startWatchedHome(t, 'notes = "no"\nkinds = "weight, dose_given"');
  await home.handIn(JSON.stringify([weight('w1', 18.4, { note: NOTE })]), JSON_TYPE);
  const shown = await command(home, 'share');
  assert.match(shown, /1 entry would leave with the next pass/);
  assert.match(shown, /It may have dose_given, weight of juniper, without what people wrote in their own words/);
  assert.match(shown, /2026-10-20 08:00 \+01:00 {2}juniper {2}weight 18\.4 kg/);
  assert.match(shown, /stays here: note/);
  assert.ok(!shown.includes(NOTE));
  await home.pass();
  assert.ok(!home.written().join('').includes(NOTE));
  assert.equal(await home.clinic.count('Observation'), 1);
});

test('A policy holds from its change on, back-dating fetches the rest, and what was withdrawn is listed', async (t) => {
  const home = await startWatchedHome(t, 'kinds = "dose_given"');
  await home.handIn(JSON.stringify([weight('w1', 18.4)]), JSON_TYPE);
  await changeSharing(home, 'kinds = "dose_given, weight"');
  await home.handIn(JSON.stringify([weight('w2', 18.5)]), JSON_TYPE);
  await home.pass();
  assert.deepEqual((await home.clinic.all('Observation')).map(({ valueQuantity }) => valueQuantity.value), [18.5]);

  assert.match(await command(home, 'share', '--back-to', '2026-10-20'), /only after back-dating/);
  assert.match(await command(home, 'back-date', '--clinic', 'nowhere', '--to', '2026-10-20', '--by', 'marlow'), /owed as well: 1;/);
  await home.pass();
  assert.equal(await home.clinic.count('Observation'), 2);
  assert.match(await command(home, 'withdrawn'), /No clinic has anything/);

  await changeSharing(home, 'kinds = "dose_given"');
  await home.handIn(JSON.stringify([weight('w3', 18.6)]), JSON_TYPE);
  await home.command('amend', 'w1', 'kg=18.7', '--by', 'tove');
  await home.command('retract', 'w2', '--by', 'tove', '--reason', 'another child');
  await home.pass();
  const held = await home.clinic.all('Observation');
  assert.deepEqual(held.map(({ status, valueQuantity }) => `${status} ${valueQuantity.value}`).sort(), [
    'entered-in-error 18.5',
    'final 18.4',
  ]);
  const listed = await command(home, 'withdrawn');
  for (const { id } of held) assert.ok(listed.includes(`Observation/${id}`), listed);
  assert.match(listed, /entries of the kind weight are not shared with this clinic/);
});

test('The audit trail tells every step, and its chain follows the documented rule', async (t) => {
  const home = await startWatchedHome(t);
  await home.handIn(JSON.stringify([weight('w1', 18.4, { note: NOTE })]), JSON_TYPE);
  await home.pass();
  const { rows, checked, newest, broken } = JSON.parse(await command(home, 'audit', '--json'));
  assert.deepEqual(rows.map(({ event }) => event), ['policy', 'accepted', 'sent', 'confirmed']);
  const [{ id, meta }] = await home.clinic.all('Observation');
  assert.equal(rows[3].detail, `Observation/${id}/_history/${meta.versionId}`);
  assert.ok(!JSON.stringify(rows).includes(NOTE));
  let previous = '';
  for (const { number, at_us: at, event, clinic, entry, revision, detail, hash } of rows) {
    const fields = [previous, number, at, event, clinic, entry, revision, detail].map(String);
    const text = fields.map((field) => `${Buffer.byteLength(field)}:${field},`).join('');
    assert.equal(hash, createHash('sha256').update(text).digest('hex'));
    previous = hash;
  }
  assert.deepEqual([checked, newest, broken], [4, previous, undefined]);
  assert.match(await command(home, 'audit'), /The chain holds: 4 rows/);
  assert.match(await command(home, 'audit', '--clinic', 'nowhere', '--limit', '1'), /^4 .*confirmed/);
});
