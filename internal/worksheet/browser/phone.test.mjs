// The worksheet on a phone and on a tablet: where the answer stands.

import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { showExample } from './harness.mjs';
import { assertAccessible, bench, field, settled } from './steps.mjs';

const open = bench();

const devices = {
  'a small phone': { width: 360, height: 740, hasTouch: true, isMobile: true },
  'a phone': { width: 390, height: 844, hasTouch: true, isMobile: true },
  'a tablet': { width: 820, height: 1180, hasTouch: true, isMobile: true },
};

// The last field of those that each visit has, and the last number.
const lastFields = ['steady.abduction-90', 'pain.worst-24h'];

/** onScreen puts a field at the upper edge and tells where the first three lines of what is looked for stand, and what covers them. */
const onScreen = (page, name, first) => page.evaluate(async ([id, selector]) => {
  const field = document.getElementById(id);
  scrollTo({ top: field.getBoundingClientRect().top + scrollY, behavior: 'instant' });
  await new Promise((resolve) => { setTimeout(() => requestAnimationFrame(resolve), 100); }); // the bar notices what is seen
  const bar = document.getElementById('bar');
  const covered = bar.hidden || getComputedStyle(bar).visibility === 'hidden' || getComputedStyle(bar).display === 'none' ? innerHeight : bar.getBoundingClientRect().top;
  const answer = document.querySelector(selector);
  const { top, bottom } = answer.getBoundingClientRect();
  const lines = 3 * Number.parseFloat(getComputedStyle(answer.querySelector('b') ?? answer).lineHeight);
  return { field: field.getBoundingClientRect().top, top, bottom: Math.min(bottom, top + lines), covered };
}, [name, first]);

async function assertWithinOneScreen(page, first, state) {
  for (const name of lastFields) {
    const { field: from, top, bottom, covered } = await onScreen(page, name, first);
    assert.equal(from > -2 && top > from && bottom <= covered, true, `${state}, after ${name}: from ${from}, the answer ${top} to ${bottom}, seen up to ${covered}`);
  }
}

for (const [device, size] of Object.entries(devices)) {
  describe(`on ${device}, within one screen after the last field`, () => {
    for (const language of ['en', 'de', 'fr']) {
      test(`the first lines of the answer stand, in ${language}`, async (t) => {
        const page = await open(t, size);
        await field(page, 'language').selectOption(language);
        await showExample(page, 5);
        await settled(page);
        await assertWithinOneScreen(page, '#result section:first-child b', 'an answer');
        assert.equal(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth), 0);
        await assertAccessible(page, `answered in ${language}`);

        for (const trial of [1, 2, 3]) await field(page, `trial.external.arm-at-side.right.${trial}`).fill('40');
        await page.locator('#alarms').filter({ hasText: /40[.,]0/ }).waitFor();
        await settled(page);
        await assertWithinOneScreen(page, '#alarms p:nth-child(2)', 'a red flag');
        await assertAccessible(page, `a red flag in ${language}`);
      });
    }
  });
}

test('while the fields fill the screen of a phone, the bar below says the decision', async (t) => {
  const page = await open(t, devices['a small phone']);
  await showExample(page, 5);
  await settled(page);
  const { covered } = await onScreen(page, 'trial.external.flexion-90.right.1', '#result b');
  const bar = await page.locator('#bar').boundingBox();
  assert.equal(bar.y, covered);
  assert.equal(bar.y + bar.height <= 740, true);
  assert.equal(await page.locator('#bar').textContent(), await page.locator('#result b').first().textContent());
});
