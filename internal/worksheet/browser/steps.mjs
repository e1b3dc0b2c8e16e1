// What the tests of the worksheet do with it again and again.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, afterEach, before } from 'node:test';
import { launch, openWorksheet, startService } from './harness.mjs';

const axe = readFileSync(new URL('node_modules/axe-core/axe.min.js', import.meta.url), 'utf8');

/** operation is the address of the question for an answer. */
export const operation = '**/fhir/$assess-shoulder';

/**
 * bench starts the service and a browser for the tests of a file.
 * @param {string[]} options of the service
 * @returns {function} opens a page that fails the test if it does what it must not
 */
export function bench(options = []) {
  let service, browser;
  before(async () => {
    service = await startService(options);
    browser = await launch();
  });
  after(async () => {
    await browser?.close();
    await service?.stop();
  });
  afterEach(async () => {
    for (const context of browser?.contexts() ?? []) await context.close();
  });
  return async (t, size, expected = /status of 4\d\d|ERR_/) => guarded(t, await openWorksheet(browser, service.url, size), service.url, expected);
}

// guarded fails the test if the page does what it must not.
function guarded(t, page, url, expected) {
  const wrong = [];
  page.on('pageerror', (error) => wrong.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error' && !expected.test(message.text())) wrong.push(message.text());
  });
  page.on('request', (request) => {
    const { protocol, origin } = new URL(request.url());
    if (origin !== url && !['data:', 'blob:'].includes(protocol)) wrong.push(`outside request: ${request.url()}`);
  });
  page.on('dialog', (dialog) => dialog.accept());
  t.after(() => assert.deepEqual(wrong, []));
  return page;
}

export const field = (page, name) => page.locator(`[id="${name}"]`);

export const problems = (page, name) => page.locator(`[id="${name}-problems"] li`);

/** enter types trials of the right and the left side, one after the other. */
export async function enter(page, rotation, position, right, left) {
  await field(page, `trial.${rotation}.${position}.right.1`).focus();
  for (const number of right) await page.keyboard.type(`${number}\n`);
  await field(page, `trial.${rotation}.${position}.left.1`).focus();
  for (const number of left) await page.keyboard.type(`${number}\n`);
}

export const settled = (page) => page.waitForFunction(() =>
  document.querySelector('#result section') && !document.querySelector('#answer[aria-busy]') && !document.querySelector('#result.stale'));

/** says waits until the answer holds a text. */
export const says = (page, text, within = '#result') => page.locator(within).filter({ hasText: text }).waitFor();

export async function download(page, button) {
  const [file] = await Promise.all([page.waitForEvent('download'), page.locator(button).click()]);
  return { name: file.suggestedFilename(), path: await file.path(), content: readFileSync(await file.path(), 'utf8') };
}

export async function assertAccessible(page, state) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document));
  assert.deepEqual(violations.map(({ id, nodes }) => `${state}: ${id}: ${nodes.map(({ html }) => html).join(' ')}`), []);
}
