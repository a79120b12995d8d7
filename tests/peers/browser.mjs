// Debian's Chromium without a window, driven from outside; nothing is downloaded. Without it a test that needs it fails.

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';

import { chromium } from 'playwright-core';

import { BUILD } from './hub.mjs';

/** Starts a browser that ends with the test. */
export async function startBrowser(test) {
  const browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    // Its sandbox needs a user who is not root.
    args: process.getuid() === 0 ? ['--no-sandbox'] : [],
  });
  test.after(() => browser.close());
  return browser;
}

/** Where pictures for people to look at are left. */
export function artefact(name) {
  const folder = process.env.NIGHTFERRY_ARTEFACTS ?? join(BUILD, 'artefacts');
  mkdirSync(folder, { recursive: true });
  return join(folder, name);
}

/** The tables of a page: by caption, the texts of their rows, cell by cell. */
export function tablesOf(page) {
  return page.evaluate(() => {
    const text = (cell) => cell.textContent.replaceAll('\u00a0', ' ').trim();
    const tables = [...document.querySelectorAll('table')];
    return Object.fromEntries(
      tables.map((table) => [
        text(table.caption),
        [...table.tBodies[0].rows].map((row) => [...row.cells].map(text)),
      ]),
    );
  });
}
