// `nightferry fhir-check` as a person and as a program uses it: words with places, OperationOutcomes by line,
// files, folders and standard input, and the exit status.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

const program = path.join(process.env.NIGHTFERRY_BUILD ?? '../../build', 'nightferry');
const examples = path.resolve('node_modules/hl7.fhir.r4.examples');

const weight = { resourceType: 'Observation', status: 'final', code: { text: 'weight' },
    valueQuantity: { value: 18.9, unit: 'kg' } };
const unfinished = { ...weight, status: 'finished' };

function check(args, input = '') {
    const done = spawnSync(program, ['fhir-check', ...args], { input, encoding: 'utf8', maxBuffer: 1 << 28 });
    return { status: done.status, lines: done.stdout.split('\n').slice(0, -1), errors: done.stderr };
}

const outcomes = (lines) => lines.map((line) => JSON.parse(line));
const severities = (outcome) => outcome.issue.map((issue) => issue.severity);

describe('fhir-check', () => {
    let folder;
    const file = (name) => path.join(folder, name);
    before(() => {
        folder = fs.mkdtempSync(path.join(os.tmpdir(), 'fhir-check-'));
        fs.mkdirSync(file('inner/.hidden/deeper'), { recursive: true });
        fs.writeFileSync(file('good.json'), JSON.stringify(weight));
        fs.writeFileSync(file('inner/bad.json'), JSON.stringify(unfinished, null, 2));
        fs.writeFileSync(file('inner/.hidden/bad.json'), '{');
        fs.writeFileSync(file('notes.txt'), 'not looked at');
        fs.writeFileSync(file('two.ndjson'), `${JSON.stringify(weight)}\n\n${JSON.stringify(unfinished)}\n`);
    });
    after(() => fs.rmSync(folder, { recursive: true }));

    it('says where, what and by which rule', () => {
        const { status, lines } = check(['--no-warnings', file('inner/bad.json')]);
        assert.deepEqual(lines, [
            `${file('inner/bad.json')}:3:13: error: Observation.status: the code must be one of the value set ` +
                'http://hl7.org/fhir/ValueSet/observation-status [binding]',
            '1 resource checked against R4: 0 valid, 1 not',
        ]);
        assert.equal(status, 65);
    });

    it('warns of what is discouraged, and does not count it', () => {
        const { status, lines } = check([file('good.json')]);
        assert.equal(lines.length, 2);
        assert.match(lines[0], /:1:1: warning: Observation: .*\[dom-6\]$/);
        assert.equal(status, 0);
    });

    it('goes through a folder, but not through hidden ones', () => {
        const { status, lines } = check(['--no-warnings', folder]);
        assert.match(lines.at(-1), /^4 resources checked against R4: 2 valid, 2 not$/);
        assert.match(lines[1], /two\.ndjson:3:\d+: error: Observation\.status/);
        assert.equal(status, 65);
    });

    it('reads standard input, one resource or one per line', () => {
        assert.equal(check(['--no-warnings', '-'], JSON.stringify(weight)).status, 0);
        const { lines } = check(['--no-warnings', '--ndjson', '-'], `${JSON.stringify(unfinished)}\n{\n`);
        assert.match(lines[0], /^standard input:1:\d+: error: Observation\.status/);
        assert.match(lines[1], /^standard input:2:2: error: .*\[json\]$/);
    });

    it('answers programs with one OperationOutcome per resource', () => {
        const { status, lines } = check(['--outcome', '--no-warnings', '--ndjson', '-'],
            [JSON.stringify(weight), JSON.stringify(unfinished), '{"a":1,"a":2}'].join('\n'));
        const [good, bad, unreadable] = outcomes(lines);
        assert.deepEqual(severities(good), ['information']);
        assert.equal(bad.issue[0].code, 'code-invalid');
        assert.deepEqual(bad.issue[0].expression, ['Observation.status']);
        assert.equal(bad.issue[0].details.coding[0].code, 'binding');
        assert.match(bad.issue[0].diagnostics, /^standard input:2:\d+ \/status$/);
        assert.deepEqual(severities(unreadable), ['fatal']);
        assert.equal(status, 65);
    });

    it('gives outcomes that are valid in every release', () => {
        const { lines } = check(['--outcome', folder]);
        for (const release of ['R4', 'R4B', 'R5']) {
            const again = check(['--no-warnings', '--release', release, '--ndjson', '-'], lines.join('\n'));
            assert.deepEqual(again.lines, [`4 resources checked against ${release}: 4 valid, 0 not`]);
        }
    });

    it('judges by the release that is named', () => {
        const r5 = JSON.stringify({ ...weight, bodyStructure: { reference: 'BodyStructure/1' } });
        assert.equal(check(['--release', 'r5', '-'], r5).status, 0);
        assert.equal(check(['--release', 'R4', '-'], r5).status, 65);
        for (const release of ['R3', '2', '7', '4.0.1', '']) {
            const unknown = check(['--release', release, '-'], r5);
            assert.equal(unknown.status, 64, release);
            assert.match(unknown.errors, /--release.*R4,\s*R4B,\s*R5/);
        }
    });

    it('says what it could not look at, and why, and checks the rest', () => {
        const { status, lines, errors } = check(['--no-warnings', file('nowhere.json'), file('good.json')]);
        assert.equal(errors, `${file('nowhere.json')}: not looked at: No such file or directory\n`);
        assert.match(lines.at(-1), /^1 resource checked against R4: 1 valid, 0 not; 1 not looked at$/);
        assert.equal(status, 69);
        const empty = check([file('inner/.hidden/deeper')]);
        assert.match(empty.errors, /not looked at: no \.json or \.ndjson files below this folder/);
        assert.equal(empty.status, 69);
    });

    it('takes names in capitals, and reports links that lead nowhere', () => {
        const odd = path.join(folder, '..', `${path.basename(folder)}-odd`);
        fs.mkdirSync(odd);
        fs.writeFileSync(path.join(odd, 'UPPER.JSON'), JSON.stringify(weight));
        fs.symlinkSync('/nowhere/at/all.json', path.join(odd, 'link.json'));
        const { status, lines, errors } = check(['--no-warnings', odd]);
        fs.rmSync(odd, { recursive: true });
        assert.match(errors, /link\.json: not looked at: the link leads nowhere/);
        assert.match(lines.at(-1), /^1 resource checked .* 1 valid, 0 not; 1 not looked at$/);
        assert.equal(status, 69);
    });

    it('reads long lines whole and tells the last one without a line feed', () => {
        const long = JSON.stringify({ ...weight, note: [{ text: 'x'.repeat(200_000) }] });
        const { status, lines } = check(['--no-warnings', '--ndjson', '-'], `${long}\n${JSON.stringify(unfinished)}`);
        assert.match(lines[0], /^standard input:2:\d+: error/);
        assert.match(lines.at(-1), /^2 resources checked against R4: 1 valid, 1 not$/);
        assert.equal(status, 65);
    });

    it('does not call anything fine that could not be written down', () => {
        const full = fs.openSync('/dev/full', 'w');
        const done = spawnSync(program, ['fhir-check', file('good.json')], { stdio: ['ignore', full, 'ignore'] });
        fs.closeSync(full);
        assert.equal(done.status, 74);
    });

    // npm package hl7.fhir.r4.examples 4.0.1; the 35 MB bundle among them.
    it('takes the largest published bundle', () => {
        const { status, lines } = check(['--no-warnings', path.join(examples, 'Bundle-resources.json')]);
        assert.deepEqual(lines, ['1 resource checked against R4: 1 valid, 0 not']);
        assert.equal(status, 0);
    });
});
