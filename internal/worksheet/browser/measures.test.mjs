// The outcome measures of a clinic's protocol on the worksheet. The protocol is invented.

import assert from 'node:assert/strict';
import { fileURLToPath } from 'node:url';
import { test } from 'node:test';
import { assertAccessible, bench, download, enter, field, problems, says, settled } from './steps.mjs';

const open = bench([`--protocol=${fileURLToPath(new URL('testdata/invented-protocol.yaml', import.meta.url))}`]);

const scores = (page) => page.locator('#scores .field');

test('are offered with title, range and direction, checked, sent, and taken back into their fields', async (t) => {
  const page = await open(t);
  await field(page, 'date').fill('2026-03-02');
  await field(page, 'involved-right').check();
  await enter(page, 'external', 'arm-at-side', [60, 60, 60], [80, 80, 80]);
  assert.equal(await field(page, 'scores').isVisible(), false, 'folded away');
  await page.locator('#more > summary').click();
  assert.deepEqual(await scores(page).evaluateAll((fields) => fields.map((each) => each.innerText.replace(/\s+/g, ' '))),
    ['Arm comfort score 0 to 100 points, higher is better', 'Nights with waking 0 to 7 nights, lower is better']);

  await field(page, 'score.night-waking').fill('8');
  await problems(page, 'score.night-waking').filter({ hasText: '0 to 7' }).waitFor();
  assert.equal(await field(page, 'score.night-waking').getAttribute('aria-invalid'), 'true');
  await says(page, 'Nights with waking', '#state');
  await assertAccessible(page, 'a score out of its range');
  await field(page, 'score.night-waking').fill('3');
  await field(page, 'score.arm-comfort').fill('61,5');
  await says(page, /arm comfort score/i);
  await settled(page);

  const file = await download(page, '#save-bundle');
  const [comfort] = JSON.parse(file.content).entry.map(({ resource }) => resource).filter(({ code }) => code?.coding?.[0].code === 'arm-comfort');
  assert.deepEqual(
    [comfort.code, comfort.valueQuantity, comfort.category[0].coding[0].code, comfort.effectiveDateTime],
    [{ coding: [{ system: 'https://clinic.example/codes', code: 'arm-comfort', display: 'Arm comfort' }] },
      { value: 61.5, unit: '{points}', system: 'http://unitsofmeasure.org', code: '{points}' }, 'survey', '2026-03-02']);

  await page.locator('#file').setInputFiles(file.path);
  await says(page, '1 earlier visit', '#history-summary');
  assert.equal(await field(page, 'score.arm-comfort').inputValue(), '');
  await field(page, 'date').fill('2026-03-09');
  await page.locator('#scores .last').filter({ hasText: '(61.5)' }).waitFor({ state: 'attached' });
  await page.locator('#history summary').click();
  await page.getByRole('button', { name: 'Correct the visit of 2026-03-02' }).click();
  await says(page, 'As of 2026-03-02');
  assert.deepEqual(await page.evaluate(() => ['score.arm-comfort', 'score.night-waking'].map((id) => document.getElementById(id).value)), ['61.5', '3']);
  assert.equal(await field(page, 'score.arm-comfort').isVisible(), true, 'what is filled in is not folded away');
  const urls = ({ entry }) => entry.map(({ fullUrl, resource }) => `${fullUrl} ${JSON.stringify(resource)}`).toSorted();
  assert.deepEqual(urls(JSON.parse((await download(page, '#save-bundle')).content)), urls(JSON.parse(file.content)), 'nothing changes by being taken back');
});

for (const [language, wanted] of [
  ['de', ['Armkomfort-Wert 0 bis 100 points, höher ist besser', 'Nächte mit Aufwachen 0 bis 7 nights, niedriger ist besser']],
  ['fr', ['Score de confort du bras 0 à 100 points, plus haut est mieux', 'Nights with waking 0 à 7 nights, plus bas est mieux']], // the protocol has no French title for it
]) {
  test(`are named in ${language}`, async (t) => {
    const page = await open(t);
    await field(page, 'language').selectOption(language);
    await page.locator('#more > summary').click();
    await scores(page).first().waitFor();
    assert.deepEqual(await scores(page).evaluateAll((fields) => fields.map((each) => each.innerText.replace(/\s+/g, ' '))), wanted);
    await assertAccessible(page, language);
  });
}

test('are asked for again once the service is reached', async (t) => {
  const page = await open(t);
  await scores(page).first().waitFor({ state: 'attached' });
  let reached = false;
  await page.route('**/worksheet/measures.json', (route) => (reached ? route.continue() : route.abort()));
  await page.reload();
  await field(page, 'involved-right').check();
  assert.equal(await scores(page).count(), 0);
  reached = true;
  await scores(page).first().waitFor({ state: 'attached' });
  assert.equal(await field(page, 'involved-right').isChecked(), true, 'nothing that was entered is lost');
});
