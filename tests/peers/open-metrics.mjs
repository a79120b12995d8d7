// The grammar of https://prometheus.io/docs/specs/om/open_metrics_spec/ (1.0, "ABNF") as far as counters, gauges and
// infos go, and the rules in its words that a grammar cannot hold.

import assert from 'node:assert/strict';
import http from 'node:http';
import { join } from 'node:path';

const NAME = '[a-zA-Z_:][a-zA-Z0-9_:]*';
const ESCAPED = String.raw`(?:[^\n"\\]|\\[^\n])*`;
const LABEL = `[a-zA-Z_][a-zA-Z0-9_]*="${ESCAPED}"`;
const NUMBER = String.raw`[-+]?(?:\d+(?:\.\d*)?|\d*\.\d+)(?:[eE][-+]?\d+)?`;
const DESCRIPTOR = new RegExp(`^# (?:(TYPE) (${NAME}) (counter|gauge|info)|(UNIT) (${NAME}) ([a-zA-Z0-9_:]*)|(HELP) (${NAME}) (${ESCAPED}))$`);
const SAMPLE = new RegExp(`^(${NAME})((?:\\{(?:${LABEL}(?:,${LABEL})*)?\\})?) (${NUMBER})$`);
const ENDINGS = { counter: '_total', gauge: '', info: '_info' };

/** { family: { type, unit, help, samples: { '{labels}': 'value' } } }; throws where it is no exposition. */
export function readOpenMetrics(text) {
  assert.ok(text.endsWith('# EOF\n') && !text.includes('\r'), 'it ends with EOF, and lines with a line feed');
  const families = {};
  let last;
  for (const line of text.slice(0, -'# EOF\n'.length).split('\n').slice(0, -1)) {
    const described = line.match(DESCRIPTOR);
    if (described) {
      const [kind, name, value] = described.slice(1).filter((part) => part !== undefined);
      if (kind === 'TYPE') {
        assert.ok(!(name in families), `families must not be interleaved: ${name}`);
        families[name] = last = { name, type: value, samples: {} };
      }
      assert.equal(name, last.name);
      assert.equal(Object.keys(last.samples).length, 0, `metadata come before samples: ${line}`);
      if (kind === 'UNIT') last.unit = value;
      if (kind === 'HELP') last.help = value;
      if (kind === 'UNIT' && value !== '') assert.ok(name.endsWith(`_${value}`), `the unit is the name's suffix: ${name}`);
      continue;
    }
    const [, name, labels, value] = line.match(SAMPLE) ?? assert.fail(`neither metadata nor a sample: ${line}`);
    assert.equal(name, last.name + ENDINGS[last.type]);
    assert.ok(!(labels in last.samples), `a sample twice: ${line}`);
    if (last.type === 'counter') assert.ok(Number(value) >= 0, `counters are not negative: ${line}`);
    if (last.type === 'info') assert.equal(value, '1');
    last.samples[labels] = value;
  }
  return families;
}

/** Reads a running hub's metrics and returns what looks one up: its value, or undefined where there is none. */
export async function metricsOf(home) {
  const where = { socketPath: join(home.folder, 'nightferry.sock'), path: '/metrics', agent: false };
  const text = await new Promise((done, fail) => {
    http.get(where, async (answer) => done((await answer.setEncoding('utf8').toArray()).join(''))).on('error', fail);
  });
  const families = readOpenMetrics(text);
  return (family, labels = '') => {
    const value = families[`nightferry_${family}`].samples[labels];
    return value === undefined ? undefined : Number(value);
  };
}
