// The recording page in a real browser, through the real programs: what a carer taps and types, what the clinic has of it in
// the end, and what the page does when the hub is away, when script is off, at night, on a narrow screen and enlarged. The
// pictures it leaves are for people to look at.

import assert from 'node:assert/strict';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import http from 'node:http';
import { createRequire } from 'node:module';
import test from 'node:test';

import { HtmlValidate } from 'html-validate';

import { artefact, startBrowser } from './browser.mjs';
import { codeFor, startHomeWithPage } from './phone.mjs';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const PHONE = { width: 390, height: 844 };
const FORMS = ['/dose', '/not-given', '/finding', '/vial'];

const address = (home, path = '/') => `https://127.0.0.1:${home.pagePort}${path}`;

/** A phone that is let in, as a browser context with one page, at the first page. */
async function pairedPhone(home, browser, carer = 'tove', options = {}) {
  const context = await browser.newContext({ ignoreHTTPSErrors: true, viewport: PHONE, locale: 'en-IE', timezoneId: 'Europe/Dublin', ...options });
  const page = await context.newPage();
  page.setDefaultTimeout(30_000);
  page.problems = [];
  page.on('console', (message) => message.type() === 'error' && page.problems.push(message.text()));
  page.on('pageerror', (error) => page.problems.push(String(error)));
  await page.goto(address(home));
  await page.getByLabel('Code').fill(await codeFor(home, carer, `${carer}'s phone`));
  await page.getByRole('button', { name: 'Let in' }).click();
  await page.getByRole('heading', { name: 'Record' }).waitFor();
  page.problems.length = 0; // Being refused at first is a complaint of the browser's.
  return page;
}

/** The demo household with an order that still holds, and a dose due in this very hour. */
function withOrderForNow(text) {
  const hour = Number(new Intl.DateTimeFormat('en', { hour: 'numeric', hourCycle: 'h23', timeZone: 'Europe/Dublin' }).format(new Date()));
  const [first, second] = [hour % 12, (hour % 12) + 12].map((at) => `${String(at).padStart(2, '0')}:00`);
  const changed = text.replace(/^end = .*$/m, '').replaceAll('08:00 0.20 mL, 20:00 0.20 mL', `${first} 0.20 mL, ${second} 0.20 mL`);
  assert.notEqual(changed, text);
  return changed;
}

const startWatchedPage = (t) => startHomeWithPage(t, { regimen: true, change: withOrderForNow });
const dosesOf = (home) => home.clinic.all('MedicationAdministration');
const entriesOf = async (home) => (await home.get('/v1/entries')).entries;

/** Taps through the form of a dose for the usual case; how often something was tapped. */
async function recordUsualDose(page, place = 'left thigh') {
  let taps = 0;
  const tap = async (what) => {
    await what.click();
    ++taps;
  };
  await tap(page.getByRole('link', { name: 'Dose given' }));
  await tap(page.getByRole('radio', { name: place }));
  await page.getByRole('checkbox', { name: /are as written here/ }).check(); // The confirmation.
  await tap(page.getByRole('button', { name: 'Record the dose' }));
  return taps;
}

test('a dose goes from the phone to the clinic in at most four taps and a confirmation', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  await page.screenshot({ path: artefact('page-start.png'), fullPage: true });
  const taps = await recordUsualDose(page);
  assert.ok(taps <= 4, `${taps} taps`);
  await page.getByText('Recorded.', { exact: true }).waitFor();
  await page.screenshot({ path: artefact('page-recorded.png'), fullPage: true });
  const queue = await home.pass();
  assert.deepEqual([queue.waiting, queue.set_aside], [0, 0]);
  const [dose, ...others] = await dosesOf(home);
  assert.deepEqual(others, []);
  assert.equal(dose.status, 'completed');
  assert.match(JSON.stringify(dose.dosage), /thigh/i);
  assert.ok(Math.abs(Date.parse(dose.effectiveDateTime) - Date.now()) < 120_000);
  await page.goto(address(home));
  await page.getByText(/has everything that it is to have/).waitFor();
  assert.deepEqual(page.problems, []);
});

test('without script every form records all the same', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t), 'tove', { javaScriptEnabled: false });
  await recordUsualDose(page, 'right abdomen');
  await page.getByText('Recorded.', { exact: true }).waitFor();
  await page.goto(address(home, '/finding'));
  await page.getByLabel('What').selectOption('bruise');
  await page.getByRole('radio', { name: 'right abdomen' }).check();
  await page.getByLabel('Length (cm)').fill('2,5');
  await page.getByRole('button', { name: 'Record it' }).click();
  await page.getByText('Recorded.', { exact: true }).waitFor();
  await page.goto(address(home, '/vial'));
  await page.getByLabel("The family's label of the vial").fill('V9');
  await page.getByRole('button', { name: 'Record the vial' }).click();
  await page.getByText('Recorded.', { exact: true }).waitFor();
  const entries = await entriesOf(home);
  assert.deepEqual(entries.map(({ type }) => type).sort(), ['dose_given', 'finding', 'vial_opened']);
  assert.equal(String(entries.find(({ type }) => type === 'finding').length_cm), '2.5');
});

test('what is typed while the hub is away is kept on the phone, and recorded once when it is back', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  await page.getByRole('link', { name: 'Dose given' }).click();
  await page.waitForURL(/\/dose/, { waitUntil: 'load' }); // With its script.
  assert.equal(await home.endHub('SIGTERM'), 0);
  await page.getByRole('radio', { name: 'left thigh' }).check();
  await page.getByRole('checkbox', { name: /are as written here/ }).check();
  await page.getByRole('button', { name: 'Record the dose' }).click();
  await page.getByText('This is kept on this phone').waitFor();
  await page.screenshot({ path: artefact('page-kept.png') });
  // Tapped once more by somebody who is in doubt.
  await page.getByRole('button', { name: 'Record the dose' }).click();
  await home.startHub();
  await page.getByText('What was kept on this phone is recorded now.').waitFor({ timeout: 40_000 });
  const entries = await entriesOf(home);
  assert.equal(entries.length, 1);
  await page.reload();
  await home.rest();
  assert.equal((await entriesOf(home)).length, 1);
});

test('what was kept happened when it was typed, by the clock of the home, and is asked for where it cannot be sent as it is', async (t) => {
  const home = await startWatchedPage(t);
  const browser = await startBrowser(t);
  const page = await pairedPhone(home, browser, 'tove', { timezoneId: 'Asia/Tokyo' });
  const other = await pairedPhone(home, browser, 'marlow');
  await page.getByRole('link', { name: 'Dose given' }).click();
  await page.waitForURL(/\/dose/, { waitUntil: 'load' }); // With its script.
  assert.equal(await home.endHub('SIGTERM'), 0);
  await page.getByRole('radio', { name: 'left thigh' }).check();
  await page.getByRole('checkbox', { name: /are as written here/ }).check();
  await page.getByRole('button', { name: 'Record the dose' }).click();
  await page.getByText('This is kept on this phone').waitFor();
  const typed = Date.now();
  await home.startHub();
  // Before the phone tries again, somebody else records that dose.
  await page.context().setOffline(true);
  await other.goto(address(home));
  await recordUsualDose(other, 'right thigh');
  await other.getByText('Recorded.', { exact: true }).waitFor();
  await page.context().setOffline(false);
  await page.getByText('was not recorded').waitFor({ timeout: 40_000 });
  assert.equal((await entriesOf(home)).length, 1);
  await page.getByRole('button', { name: 'Look at it' }).click();
  await page.getByText(/was given at .* by Marlow/).waitFor();
  await page.getByRole('checkbox', { name: /This is another one/ }).check();
  await page.getByRole('checkbox', { name: /are as written here/ }).check();
  await page.getByRole('button', { name: 'Record the dose' }).click();
  await page.getByText('Recorded.', { exact: true }).waitFor();
  const mine = (await entriesOf(home)).find(({ by }) => by === 'tove');
  assert.ok(Math.abs(Date.parse(mine.time) - typed) < 90_000, `${mine.time}, not ${new Date(typed).toISOString()}`);
  await page.goto(address(home));
  assert.equal(await page.locator('#kept').innerText(), '');
});

test('what was kept and not taken can be discarded, and is never sent for another phone', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  const body = 'person=juniper&id=page-x&medicine=nothing&vial=V1&when=now&by=tove';
  const put = (of) =>
    page.evaluate(([of, body]) => localStorage.setItem('nightferry-kept', JSON.stringify([{ action: '/vial', id: 'page-x', of, body }])), [of, body]);
  await put('another phone');
  await page.reload();
  await page.getByText('was not recorded').waitFor();
  assert.equal(await page.getByRole('button', { name: 'Look at it' }).count(), 0);
  page.on('dialog', (dialog) => dialog.accept());
  await page.getByRole('button', { name: 'Discard it' }).click();
  assert.equal(await page.evaluate(() => localStorage.getItem('nightferry-kept')), '[]');
  await page.evaluate(() => localStorage.setItem('nightferry-kept', '{broken'));
  await page.reload();
  await recordUsualDose(page);
  await page.getByText('Recorded.', { exact: true }).waitFor();
  assert.equal((await entriesOf(home)).length, 1);
});

test('the second of two carers is told what the first one recorded', async (t) => {
  const home = await startWatchedPage(t);
  const browser = await startBrowser(t);
  const [tove, marlow] = [await pairedPhone(home, browser, 'tove'), await pairedPhone(home, browser, 'marlow')];
  await marlow.getByRole('link', { name: 'Dose given' }).click();
  await recordUsualDose(tove);
  await tove.getByText('Recorded.', { exact: true }).waitFor();
  await marlow.getByRole('radio', { name: 'right thigh' }).check();
  await marlow.getByRole('checkbox', { name: /are as written here/ }).check();
  await marlow.getByRole('button', { name: 'Record the dose' }).click();
  await marlow.getByText(/was given at .* by Tove/).waitFor();
  await marlow.screenshot({ path: artefact('page-already.png'), fullPage: true });
  assert.equal((await entriesOf(home)).length, 1);
});

test('an entry is amended and marked as recorded in error, with the clinic told', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  await recordUsualDose(page);
  await page.getByText('Recorded.', { exact: true }).waitFor();
  await home.pass();
  await page.getByRole('link', { name: 'Amend' }).click();
  await page.getByRole('radio', { name: 'right thigh' }).check();
  await page.getByLabel('Reason').fill('wrong side');
  await page.getByRole('button', { name: 'Record the change' }).click();
  await page.getByText('right thigh').waitFor();
  await page.getByRole('link', { name: 'Recorded in error' }).click();
  await page.getByLabel('Reason').fill('was a rehearsal');
  await page.getByRole('button', { name: 'Mark it as recorded in error' }).click();
  await page.getByText(/marked as recorded in error by/).waitFor();
  await home.pass();
  assert.equal((await dosesOf(home))[0].status, 'entered-in-error');
});

async function accessProblems(page) {
  await page.evaluate(AXE);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run(document));
  assert.ok(passes.length > 12, 'the checker looked at hardly anything');
  return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`);
}

async function markupProblems(markup) {
  const checker = new HtmlValidate({ root: true, extends: ['html-validate:standard', 'html-validate:a11y', 'html-validate:document'], rules: { 'require-sri': 'off' } }); // All comes from one place.
  const { results } = await checker.validateString(markup);
  return results.flatMap(({ messages }) => messages.map(({ ruleId, message, line }) => `${line} ${ruleId}: ${message}`));
}

for (const [name, options] of [
  ['by day', {}],
  ['at night', { colorScheme: 'dark' }],
  ['at 320 pixels', { viewport: { width: 320, height: 640 } }],
  // A browser that enlarges to 200 % shows half as many pixels.
  ['enlarged to 200 %', { viewport: { width: 195, height: 422 }, deviceScaleFactor: 2 }],
]) {
  test(`every page can be read and used ${name}`, async (t) => {
    const home = await startWatchedPage(t);
    const page = await pairedPhone(home, await startBrowser(t), 'tove', { bypassCSP: true, ...options });
    await recordUsualDose(page);
    await page.getByText('Recorded.', { exact: true }).waitFor();
    for (const path of ['/', ...FORMS, new URL(page.url()).pathname]) {
      await page.goto(address(home, path));
      assert.deepEqual(await accessProblems(page), [], path);
      const overflow = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      assert.ok(overflow <= 0, `${path} is ${overflow} pixels too wide`);
      const picture = `page${path.split('/').slice(0, 2).join('-')}-${name.replaceAll(/\W+/g, '-')}.png`;
      await page.screenshot({ path: artefact(picture), fullPage: true });
    }
  });
}

test('the markup of every page is good', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  for (const path of ['/', ...FORMS]) {
    const response = await page.goto(address(home, path));
    assert.deepEqual(await markupProblems(await response.text()), [], path);
  }
});

test('with the keyboard alone a dose is recorded, and focus is always seen', async (t) => {
  const home = await startWatchedPage(t);
  const page = await pairedPhone(home, await startBrowser(t));
  await page.goto(address(home, '/dose'));
  const focused = () => page.evaluate(() => ({ name: document.activeElement.name ?? '', type: document.activeElement.type ?? '', outline: getComputedStyle(document.activeElement).outlineStyle }));
  for (let i = 0; i < 40; ++i) {
    await page.keyboard.press('Tab');
    const { name, type, outline } = await focused();
    assert.notEqual(outline, 'none', `${name} ${type}`);
    if (name === 'place' || name === 'confirmed') await page.keyboard.press('Space');
    if (type === 'submit') break;
  }
  await page.keyboard.press('Enter');
  await page.getByText('Recorded.', { exact: true }).waitFor();
});

test('another site can neither send forms nor show the page in a frame, and runs nothing in it', async (t) => {
  const home = await startWatchedPage(t);
  const browser = await startBrowser(t);
  const page = await pairedPhone(home, browser);
  const vial = { person: 'juniper', id: 'page-x', medicine: 'enoxaparin-100', vial: 'V1', when: 'now', by: 'tove' };
  const fields = Object.entries(vial).map(([name, value]) => `<input name="${name}" value="${value}">`).join('');
  const markup = `<form method="post" action="${address(home, '/vial')}">${fields}<button>x</button></form><iframe src="${address(home)}"></iframe>`;
  // Another port of the same machine: the same site, so that the cookie goes along, and another origin.
  const elsewhere = http.createServer((_, answer) => answer.setHeader('Content-Type', 'text/html').end(markup));
  elsewhere.listen(0, '127.0.0.1');
  t.after(() => elsewhere.close());
  await once(elsewhere, 'listening');
  const stranger = await page.context().newPage();
  await stranger.goto(`http://127.0.0.1:${elsewhere.address().port}/`);
  assert.equal(await stranger.frameLocator('iframe').getByRole('heading', { name: 'Record' }).count(), 0);
  await stranger.getByRole('button').click();
  await stranger.getByText('This did not come from this page').waitFor();
  assert.equal((await entriesOf(home)).length, 0);
  // The same form from the page itself would have been taken.
  const sent = await page.evaluate(([path, body]) => fetch(path, { method: 'POST', body: new URLSearchParams(body) }).then(({ status }) => status), ['/vial', vial]);
  assert.equal(sent, 200);
  assert.equal((await entriesOf(home)).length, 1);
  const headers = (await page.goto(address(home))).headers();
  assert.match(headers['content-security-policy'], /default-src 'none';.*frame-ancestors 'none'/);
  const ran = await page.evaluate(() => {
    const script = document.createElement('script');
    script.textContent = 'globalThis.ran = true';
    document.body.append(script);
    return globalThis.ran ?? false;
  });
  assert.equal(ran, false);
});
