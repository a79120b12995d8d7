// The report as one page, through the real programs: its numbers beside those worked out by hand from the demo's table of
// injections, its markup before an HTML checker and an accessibility checker by others, and its looks on screen and paper
// in a real browser. The pictures it leaves are for people to look at.

import assert from 'node:assert/strict';
import { readFileSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import test from 'node:test';
import { pathToFileURL } from 'node:url';

import { HtmlValidate } from 'html-validate';

import { artefact, startBrowser, tablesOf } from './browser.mjs';
import { startHome } from './hub.mjs';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const THREE_WEEKS = ['--from', '2026-10-12', '--to', '2026-11-01', '--known-at', '2026-11-01T23:59:59Z'];
const FORTNIGHT = ['--from', '2026-10-12', '--to', '2026-10-25', '--known-at', '2026-10-25T23:59:59Z'];
const YEAR = ['--from', '2026-01-01', '--to', '2026-12-31'];

/** The page as a file of the home. */
async function written(home, name, options) {
  const file = join(home.folder, `${name}.html`);
  const { code, stderr } = await home.command('report', '--html', file, ...options);
  assert.equal(code, 0, stderr);
  return file;
}

/** The page in the browser; it asks for nothing but itself. */
async function opened(browser, file, viewport = { width: 1000, height: 900 }) {
  const page = await browser.newPage({ viewport });
  const asked = [];
  page.on('request', (request) => asked.push(request.url()));
  page.on('console', (message) => assert.fail(`the page complains: ${message.text()}`));
  await page.goto(pathToFileURL(file).href);
  assert.deepEqual(asked, [pathToFileURL(file).href]);
  return page;
}

async function markupProblems(file, change = (markup) => markup) {
  const checker = new HtmlValidate({
    root: true,
    extends: ['html-validate:standard', 'html-validate:a11y', 'html-validate:document'],
  });
  const report = await checker.validateString(change(readFileSync(file, 'utf8')));
  return report.results.flatMap(({ messages }) =>
    messages.map(({ ruleId, message, line }) => `${line} ${ruleId}: ${message}`),
  );
}

async function accessProblems(page) {
  await page.evaluate(AXE);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run(document));
  assert.ok(passes.length > 20, 'the checker looked at hardly anything');
  return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
}

/** How many pages it prints on; each is an object of its own in the file. */
async function printed(page, name, format) {
  const bytes = await page.pdf({ format, printBackground: true, path: artefact(`${name}-${format}.pdf`) });
  return bytes.toString('latin1').match(/\/Type\s*\/Page\b/g).length;
}

test('The three weeks are on the page as they were worked out by hand', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const browser = await startBrowser(t);
  const file = await written(home, 'weeks', THREE_WEEKS);
  const page = await opened(browser, file);
  const tables = await tablesOf(page);

  await t.test('The figures', () => {
    assert.deepEqual(tables['Shares of what was scheduled'], [
      ['scheduled and given', '37 / 39', '94.9 %'],
      ['given, extra ones too', '38 / 39', '97.4 %'],
      ['within the narrow window', '34 / 39', '87.2 %'],
      ['within the wide window', '36 / 39', '92.3 %'],
      ['given in the ordered amount', '36 / 37', '97.3 %'],
      ['days with as many as ordered', '18 / 21', '85.7 %'],
      ['days with at least as many', '19 / 21', '90.5 %'],
      ['intervals within limits', '30 / 35', '85.7 %'],
      ['content of enoxaparin-100', '726 / 746 mg', '97.3 %'],
    ]);
    assert.deepEqual(tables.Times, [
      ['longest gap between doses', '23 h 25 min'],
      ['beyond allowed gaps, in all', '17 h 0 min'],
      ['given minus due: sum', '453 min'],
      ['sum without signs', '743 min'],
      ['median', '5 min'],
    ]);
    assert.deepEqual(tables['Scheduled and given'].map(([, share, percent]) => [share, percent]), [
      ['11 / 12', '91.7 %'],
      ['14 / 14', '100.0 %'],
      ['12 / 13', '92.3 %'],
    ]);
    assert.deepEqual(tables['By carer'].map(([carer, given]) => [carer, given]), [['marlow', '30'], ['tove', '8']]);
  });

  await t.test('What was other than ordered', () => {
    assert.deepEqual(tables['Scheduled doses other than on time'].map(([when, what]) => `${when} ${what}`.slice(0, 34)), [
      'Tue 13 Oct, 20:00 late, by 2 h 15 m',
      'Thu 15 Oct, 20:00 left out, as the ',
      'Fri 16 Oct, 08:00 left out, as the ',
      'Sun 18 Oct, 20:00 not given: forgot',
      'Thu 22 Oct, 08:00 very late, by 3 h',
      'Sat 24 Oct, 20:00 early, by 1 h 30 ',
      'Tue 27 Oct, 08:00 no record',
      'Wed 28 Oct, 20:00 left out, as the ',
    ].map((words) => words.slice(0, 34)));
    const [extra] = tables['Doses that belong to no slot, or were given while held'];
    assert.deepEqual(extra, ['Wed 28 Oct, 09:20', '0.20 mL by tove, right abdomen (-6, 0)']);
    assert.match(tables['Doses close together'][0][1], /1 h 17 min after the one before; a person decided/);
    assert.match(tables['Amounts other than ordered'][0][1], /0\.18 mL, 90\.0 % of the order/);
    const notes = tables['Injection sites to note'].map(([, what]) => what);
    assert.equal(notes.length, 4);
    assert.equal(notes.join('; ').split(';').length, 7);
    for (const distance of ['1.414 cm', '2.000 cm', '3.606 cm']) assert.ok(notes.join().includes(distance), distance);
  });

  await t.test('Zones, lesions, vials and what they cover', async () => {
    assert.deepEqual(tables['Zones, at the end of the period or when this was known'].map(([zone, all]) => [zone, all]), [
      ['left abdomen', '15'],
      ['right abdomen', '10'],
      ['left thigh', '4'],
      ['right thigh', '9'],
    ]);
    const looks = tables['Looks at: bruise B1, right abdomen (-6, 2.5)'];
    assert.deepEqual(looks.map(([, , area]) => area), ['1.178', '3.927', '9.425', '13.744', '4.712', '0.785', '0.000']);
    assert.deepEqual(looks.map(([, , , ratio]) => ratio).slice(1, 6), ['× 3.33', '× 2.40', '× 1.46', '× 0.34', '× 0.17']);
    const vials = tables['Vials, as they stood when this was known; volumes in mL'];
    assert.deepEqual(vials.map(([vial, , draws, , , left, content, discard]) => [vial, draws, left, content, discard]), [
      ['V1', '15', '0.15', '270 mg', '9 Nov 2026'],
      ['V2', '14', '0.1', '276 mg', '18 Nov 2026'],
      ['V3', '9', '1.11', '180 mg', '25 Nov 2026'],
    ]);
    const words = await page.evaluate(() => document.body.innerText);
    for (const told of ['1 unresolved', '9 h 35 min after the injection it came from', '8 d 23 h 50 min', '36 h 50 min',
      'exampleton-home', '12 Oct 2026 to 1 Nov 2026', 'local emergency number']) {
      assert.ok(words.includes(told), `${told} is missing from\n${words}`);
    }
  });

  await t.test('Every mark has a shape of its own, and the legend its count', async () => {
    const shapes = await page.$$eval('.legend svg', (keys) =>
      keys.map((key) => [...key.querySelectorAll('path')].map((path) => path.getAttribute('class') + path.getAttribute('d')).join()),
    );
    assert.equal(new Set(shapes).size, 12);
    const legend = await page.$$eval('.legend li', (items) => items.map((item) => item.textContent.trim()));
    assert.deepEqual(legend, [
      'on time34', 'early1', 'late1', 'very late1', 'not given1', 'no record1', 'not decided yet0',
      'left out, as the clinic said3', 'still due0', 'extra1', 'provisional0', 'amount other than ordered1',
    ]);
  });

  await t.test('Others find nothing wrong with it', async () => {
    assert.deepEqual(await markupProblems(file), []);
    assert.deepEqual(await accessProblems(page), []);
    // They do find what is wrong.
    for (const [right, wrong] of [[' lang="en"', ''], ['</table>', ''], ['id="first"', 'id="figures"']]) {
      assert.notDeepEqual(await markupProblems(file, (markup) => markup.replace(right, wrong)), [], right);
    }
  });

  await t.test('In German', async () => {
    const german = await written(home, 'weeks-de', [...THREE_WEEKS, '--language', 'de']);
    assert.deepEqual(await markupProblems(german), []);
    const sheet = await opened(browser, german);
    assert.deepEqual(await accessProblems(sheet), []);
    const found = await tablesOf(sheet);
    assert.deepEqual(found['Anteile am Vorgesehenen'][0], ['vorgesehen und gegeben', '37 / 39', '94,9 %']);
    assert.equal(await sheet.evaluate(() => document.documentElement.lang), 'de');
    await sheet.screenshot({ path: artefact('report-de.png'), fullPage: true });
    assert.deepEqual([await printed(sheet, 'report-de', 'A4'), await printed(sheet, 'report-de', 'Letter')], [3, 3]);
  });

  await t.test('On paper', async () => {
    assert.deepEqual([await printed(page, 'report', 'A4'), await printed(page, 'report', 'Letter')], [3, 3]);
    const shorter = await opened(browser, await written(home, 'fortnight', FORTNIGHT));
    assert.deepEqual([await printed(shorter, 'fortnight', 'A4'), await printed(shorter, 'fortnight', 'Letter')], [3, 3]);
    // The first page holds everything of a fortnight down to the calendar: what a page is within its margins, in
    // millimetres, at 96 dots an inch.
    for (const [width, height] of [[210 - 24, 297 - 22], [215.9 - 24, 279.4 - 22]].map((size) => size.map((mm) => (mm / 25.4) * 96))) {
      await shorter.emulateMedia({ media: 'print' });
      await shorter.setViewportSize({ width: Math.floor(width), height: Math.floor(height) });
      const bottom = await shorter.$eval('.calendar', (calendar) => calendar.getBoundingClientRect().bottom);
      assert.ok(bottom <= height, `the calendar ends at ${bottom} of ${height}`);
    }
  });

  await t.test('On screens: in colour, in greys, and narrow', async () => {
    await page.screenshot({ path: artefact('report.png'), fullPage: true });
    const session = await page.context().newCDPSession(page);
    await session.send('Emulation.setEmulatedVisionDeficiency', { type: 'achromatopsia' });
    await page.screenshot({ path: artefact('report-grey.png'), fullPage: true });
    const narrow = await opened(browser, file, { width: 320, height: 700 });
    assert.equal(await narrow.evaluate(() => document.documentElement.scrollWidth), 320);
    assert.deepEqual(await accessProblems(narrow), []);
    await narrow.screenshot({ path: artefact('report-narrow.png'), fullPage: true });
  });

  await t.test('A year, and a day before anything was recorded', async () => {
    const year = await opened(browser, await written(home, 'year', YEAR));
    assert.equal(await year.$$eval('.calendar .scrolls > svg', (blocks) => blocks.length), 12);
    assert.deepEqual(await accessProblems(year), []);
    await year.screenshot({ path: artefact('report-year.png'), fullPage: true });
    const nothing = await written(home, 'nothing', ['--from', '2026-09-01', '--to', '2026-09-01']);
    assert.deepEqual(await markupProblems(nothing), []);
    assert.deepEqual(await accessProblems(await opened(browser, nothing)), []);
  });
});

test('The page goes where it is told to, and nowhere else', async (t) => {
  const home = await startHome(t, { regimen: true });
  await home.handInFortnight();
  const file = await written(home, 'page', THREE_WEEKS);
  assert.equal(statSync(file).mode & 0o777, 0o600, 'others may read it');
  const before = readFileSync(file);
  const again = await home.command('report', '--html', file, ...THREE_WEEKS);
  assert.notEqual(again.code, 0);
  assert.match(again.stderr, /is there already/);
  assert.deepEqual(readFileSync(file), before);
  const { code, stdout } = await home.command('report', '--html', '-', ...THREE_WEEKS);
  assert.equal(code, 0);
  assert.match(stdout, /^<!doctype html>[^]*<\/html>\n$/);
  for (const options of [['--html', '-', '--json'], ['--html', '-', '--language', 'tlh'], ['--language', 'de']]) {
    assert.notEqual((await home.command('report', ...options)).code, 0, options.join(' '));
  }
  const refused = await home.command('report', '--html', join(home.folder, 'none.html'), '--from', 'yesterday');
  assert.equal(refused.code, 64);
  assert.match(refused.stderr, /from is not a day like 2026-10-12/);
  assert.throws(() => statSync(join(home.folder, 'none.html')), { code: 'ENOENT' });
});
