// The manual pages and the completion beside what the programs themselves say: every option and command of --help is on
// the page and the other way round, and bash completes what the parser takes. mandoc and man judge the pages.
import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { describe, it } from 'node:test';

const build = path.resolve(process.env.NIGHTFERRY_BUILD ?? '../../build');
const manual = (name) => path.join(build, 'manual', name);
const run = (program, ...args) => execFileSync(path.join(build, program), args, { encoding: 'utf8' });

// Options as a text names them at the start of a line, and commands as a list of --help has them.
const optionsOf = (help) => new Set([...help.matchAll(/^ +(-\S+)/gm)].flatMap((match) => match[1].split(',')));
const commandsOf = (help) => [...(help.split('\nSubcommands:\n')[1]?.split('\n\n')[0] ?? '').matchAll(/^ {2}(\S+)/gm)]
    .map((match) => match[1]);

// The page as people read it, a section of it, or of a command in it.
const read = (name) => execFileSync('mandoc', ['-T', 'ascii', '-O', 'width=200', manual(name)], { encoding: 'utf8' })
    .replace(/.\x08/g, '');
const section = (page, name) => page.split(`\n${name}\n`)[1].split(/\n(?=[A-Z])/)[0];
const onPage = (text) => new Set([...text.matchAll(/^ +(-\S+?)(?:, (-\S+))?(?: |$)/gm)]
    .flatMap((match) => [match[1], match[2]]).filter(Boolean).map((name) => name.replace(/,$/, '')));

function partOfCommand(page, command) {
    const lines = section(page, 'COMMANDS').split('\n');
    const from = lines.findIndex((line) => line.startsWith(`   ${command}`) && /^ {3}\S/.test(line)
        && line.trim().split(' ')[0] === command);
    assert.notEqual(from, -1, `${command} is not on the page`);
    const after = lines.findIndex((line, at) => at > from && /^ {3}\S/.test(line));
    return lines.slice(from, after === -1 ? undefined : after).join('\n');
}

// What bash offers for the last word of a command line.
function completed(program, ...words) {
    const script = `compopt() { :; }; . ${manual(`${program}.bash`)}; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); `
        + `_${program}; printf '%s\\n' "\${COMPREPLY[@]}"`;
    return execFileSync('bash', ['-c', script, 'bash', program, ...words], { encoding: 'utf8' }).split('\n').filter(Boolean);
}

describe('manual pages', () => {
    for (const page of ['nightferryd.8', 'nightferry.1', 'nightferry.toml.5', 'nightferry-entry.5']) {
        it(`${page} is well formed`, () => {
            assert.equal(spawnSync('mandoc', ['-T', 'lint', '-W', 'warning', manual(page)], { encoding: 'utf8' }).stdout, '');
            const shown = spawnSync('man', ['--warnings', '-E', 'UTF-8', '-l', '-Tutf8', '-Z', manual(page)], { encoding: 'utf8' });
            assert.equal(shown.stderr, '');
            assert.equal(shown.status, 0);
        });
    }

    for (const [program, page] of [['nightferryd', 'nightferryd.8'], ['nightferry', 'nightferry.1']]) {
        it(`${page} has the options of --help, and no others`, () => {
            assert.deepEqual(onPage(section(read(page), 'OPTIONS')), optionsOf(run(program, '--help')));
        });
    }

    it('every command is on the page, with its options and no others', () => {
        const page = read('nightferry.1');
        const commands = commandsOf(run('nightferry', '--help'));
        assert.ok(commands.length > 20);
        for (const command of commands) {
            const own = optionsOf(run('nightferry', command, '--help'));
            ['-h', '--help'].forEach((name) => own.delete(name));
            assert.deepEqual(onPage(partOfCommand(page, command)), own, command);
            const example = new RegExp(`^Examples:\\n.*\\bnightferry ${command}\\b`, 'm');
            assert.match(run('nightferry', command, '--help'), example);
            assert.match(partOfCommand(page, command), new RegExp(`\\bnightferry ${command}\\b`));
        }
        const shown = [...section(page, 'COMMANDS').matchAll(/^ {3}(\S+)/gm)].map((match) => match[1]);
        assert.deepEqual(shown, commands);
    });

    it('the page of the settings has every key of the sample', () => {
        const page = read('nightferry.toml.5');
        const sample = fs.readFileSync('../../config/nightferry.sample.toml', 'utf8');
        const keys = [...sample.matchAll(/^#?(\[.*?\]+|[a-z_0-9-]+ = "[^"]*")/gm)].map((match) => match[1]);
        assert.ok(keys.length > 100);
        const shown = page.split('\n').map((line) => line.trim());
        assert.deepEqual(keys.filter((key) => !shown.includes(key)), []);
    });

    it('the page of the entry format has every row and heading of its description', () => {
        const page = read('nightferry-entry.5').replace(/\s+/g, ' ');
        const text = fs.readFileSync('../../config/entry-format.md', 'utf8');
        const rows = [...text.matchAll(/^\| ([^|]+?) \|/gm)].map((match) => match[1].replaceAll('`', ''));
        assert.ok(rows.length > 40);
        const heads = [...text.matchAll(/^\| .*\|\n\|-/gm)].map((match) => match[0].split(' |')[0].slice(2));
        assert.deepEqual(rows.filter((row) => !heads.includes(row) && !page.includes(row)), []);
        for (const [, heading] of text.matchAll(/^## (.*)$/gm)) assert.ok(page.includes(heading.toUpperCase()), heading);
    });
});

describe('completion in bash', () => {
    it('offers every command, and of what was begun what fits', () => {
        assert.deepEqual(completed('nightferry', ''), commandsOf(run('nightferry', '--help')));
        assert.deepEqual(completed('nightferry', 'fhir'), ['fhir-check']);
        assert.deepEqual(completed('nightferry', '--settings', 'mine.toml', 'fhir'), ['fhir-check']);
    });

    it('offers the options of each command, which are those that its --help names and those of the whole program', () => {
        const outer = optionsOf(run('nightferry', '--help'));
        for (const command of commandsOf(run('nightferry', '--help'))) {
            const own = optionsOf(run('nightferry', command, '--help'));
            assert.deepEqual(new Set(completed('nightferry', command, '-')), new Set([...own, ...outer]), command);
        }
        assert.deepEqual(new Set(completed('nightferryd', '-')), optionsOf(run('nightferryd', '--help')));
    });

    it('offers values that the parser lists, and files where it reads files', () => {
        assert.deepEqual(completed('nightferry', 'fhir-check', '--release', 'R4'), ['R4', 'R4B']);
        assert.deepEqual(completed('nightferry', 'new-key', '--algorithm', 'ES'), ['ES256', 'ES384']);
        assert.deepEqual(completed('nightferry', 'list', '--person', ''), []);
        assert.deepEqual(completed('nightferry', 'hand-in', '../../config/demo/do'), ['../../config/demo/doses.csv']);
        assert.deepEqual(completed('nightferryd', '--settings', '../../config/demo/ho'), ['../../config/demo/household.toml']);
    });

    it('says what a mistyped command may have meant', () => {
        const { status, stderr } = spawnSync(path.join(build, 'nightferry'), ['lst', '--json'], { encoding: 'utf8' });
        assert.equal(status, 64);
        assert.equal(stderr, "nightferry: 'lst' is no command. Did you mean 'list'? 'nightferry --help' lists them\n");
        assert.match(spawnSync(path.join(build, 'nightferry'), ['sheep'], { encoding: 'utf8' }).stderr, /^nightferry: 'sheep' is no command\. 'nightferry --help'/);
    });

    it('takes no value for a command', () => {
        assert.equal(spawnSync(path.join(build, 'nightferry'), ['--help-as', 'sheep']).status, 64);
    });
});
