// A measuring instrument's file on the worksheet, in a real browser. The file is invented.

import assert from 'node:assert/strict';
import { fileURLToPath } from 'node:url';
import { test } from 'node:test';
import { assertAccessible, bench, download, enter, field, problems, says, settled } from './steps.mjs';

const open = bench();

const invented = fileURLToPath(new URL('testdata/invented-strength.csv', import.meta.url));

const csv = (text, name = 'strength.csv') => ({ name, mimeType: 'text/csv', buffer: Buffer.from(text) });

/** choose puts a file into the dialog, which the keyboard alone would do through the system's own. */
async function choose(page, file) {
  const chooser = page.waitForEvent('filechooser');
  await field(page, 'open-table').focus();
  await page.keyboard.press('Enter');
  await (await chooser).setFiles(file);
}

const kept = (page) => page.evaluate(() => JSON.stringify([{ ...localStorage }, { ...sessionStorage }, document.cookie]));

const trials = (page, rotation) => page.locator(`input[id^="trial.${rotation}.arm-at-side"]`).evaluateAll((inputs) => inputs.map(({ value }) => value));

test('by keyboard: the columns are mapped once, and several patients go to the list of the day', async (t) => {
  const page = await open(t);
  await choose(page, invented);
  await page.locator('#import[open]').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), 'import-take', 'nothing is left to choose');
  assert.equal(await page.locator('#import-said').textContent(), '24 of 26 lines are taken over, 2 refused.');
  assert.deepEqual(await page.locator('#import-preview .refused td').allTextContents(), [
    '5', 'invented-1 | 2026-03-09 | both | external rotation | arm at side | 1 | 70,0', 'unknown side: found “both”, expected right or left',
    '27', 'invented-2 | 2026-03-09 | left | external rotation | arm at side | 1 | 71,0', 'this trial has a value already']);
  await says(page, 'invented-1: the worksheet that is shown, 2026-03-09', '#import-preview');
  await says(page, 'invented-2: a new worksheet, 2026-03-09', '#import-preview');
  await assertAccessible(page, 'import');
  await page.keyboard.press('Enter');

  assert.equal(await page.locator('#import[open]').count(), 0);
  await says(page, '24 values are taken over. Refused lines: 5 (unknown side', '#pasted-problems');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'involved-right', 'the side under treatment is what the file does not tell');
  assert.deepEqual(await trials(page, 'external'), ['60.5', '62.5', '64.5', '80.5', '81.5', '82.5']);
  assert.deepEqual(await page.evaluate(() => ['patient', 'date', 'unit'].map((id) => document.getElementById(id).value)), ['invented-1', '2026-03-09', 'N']);
  await page.keyboard.press('Space');
  await says(page, 'As of 2026-03-09');
  assert.deepEqual(await field(page, 'patients').locator('option').allTextContents(), ['invented-1', 'invented-2', 'another patient…']);
  await field(page, 'patients').selectOption('1');
  assert.deepEqual(await trials(page, 'internal'), ['104.5', '103.5', '104.5', '115.5', '116.5', '114.5']);
});

test('what a column means is asked once, and remembered without a line of the file, also when the tab is closed', async (t) => {
  let page = await open(t);
  const text = 'who;a;b;c;e\ninvented-7;right;ER at 90° of flexion;82.5;x\ninvented-7;left;ER at 90° of flexion;90.5;x\n';
  await choose(page, csv(text));
  await says(page, 'Choose the columns of: Unit.', '#import-said');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'import-unit', 'what is lacking has the focus');
  assert.equal(await field(page, 'import-take').isDisabled(), true);
  await assertAccessible(page, 'a column is lacking');
  await field(page, 'import-unit').selectOption({ label: 'kgf' });
  await field(page, 'import-patient').selectOption({ label: 'who (invented-7)' });
  await says(page, '2 of 2 lines are taken over, 0 refused.', '#import-said');
  await field(page, 'import-cancel').click();
  assert.doesNotMatch(await kept(page), /who/, 'nothing is kept of what was not taken over');

  await choose(page, csv(text));
  await field(page, 'import-unit').selectOption({ label: 'kgf' });
  await field(page, 'import-patient').selectOption({ label: 'who (invented-7)' });
  await field(page, 'import-take').click();
  assert.equal(await field(page, 'unit').inputValue(), 'kgf');
  assert.match(await kept(page), /who/);
  assert.doesNotMatch(await kept(page), /invented-7|82\.5|90\.5/);

  const next = await page.context().newPage();
  await next.goto(page.url());
  await page.close();
  const left = await next.evaluate(async () => [{ ...localStorage }, { ...sessionStorage }, document.cookie, await indexedDB.databases(), await caches.keys()]);
  assert.deepEqual(left, [{ 'worksheet-columns': JSON.stringify([{ header: 'who\ta\tb\tc\te', mapping: { side: 1, motion: 2, position: 2, value: 3, unit: '=kgf', date: '', trial: '', patient: 0 } }]) }, {}, '', [], []],
    'the columns and what they mean are left, and nothing else');
  assert.equal(await field(next, 'patient').inputValue(), '');
  assert.equal(await field(next, 'patients').locator('option').count(), 2, 'one empty worksheet, and the choice of another');
  page = next;
  await choose(page, csv(text));
  await says(page, '2 of 2 lines are taken over, 0 refused.', '#import-said');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'import-take');
  assert.equal(await field(page, 'import-unit').inputValue(), '=kgf');
});

test('nothing that was entered is lost or overwritten, and doubtful values are marked as when typed', async (t) => {
  const page = await open(t);
  await field(page, 'patient').fill('Invented person');
  await field(page, 'date').fill('2026-03-09');
  await field(page, 'involved-right').check();
  await enter(page, 'external', 'arm-at-side', [60, 61], []);
  await settled(page);
  await choose(page, csv('side,motion,arm,trial,force,unit\nR,ER,side,1,70,N\nR,ER,side,,160,N\nL,ER,side,1,82,N\nL,ER,side,2,82,N\nL,ER,side,3,8200,N\n'));
  await says(page, '4 of 5 lines are taken over, 1 refused.', '#import-said');
  await says(page, 'this trial has a value already', '#import-preview');
  await says(page, 'Invented person: the worksheet that is shown, 2026-03-09', '#import-preview');
  await field(page, 'import-take').click();
  assert.deepEqual(await trials(page, 'external'), ['60', '61', '160', '82', '82', '8200']);
  assert.equal(await field(page, 'involved-right').isChecked(), true);
  await page.locator('[id="trial.external.arm-at-side.right.3"].apart').waitFor();
  await problems(page, 'trial.external.arm-at-side').filter({ hasText: 'expected 0 to 700 N' }).waitFor();
  assert.equal(await field(page, 'trial.external.arm-at-side.left.3').getAttribute('aria-invalid'), 'true');
});

test('earlier days of a file are earlier visits of the patient', async (t) => {
  const page = await open(t);
  const line = (day, side, value) => `${day};${side};ER;arm at side;${value} N\n`;
  const days = ['2026-02-02', '2026-02-16', '2026-03-02'];
  await choose(page, csv(`${days.flatMap((day, i) => [1, 2, 3].flatMap(() => [line(day, 'R', `${60 + 5 * i},5`), line(day, 'L', '90,5')])).join('')}`));
  await says(page, '18 of 18 lines are taken over, 0 refused.', '#import-said');
  await field(page, 'import-take').click();
  await field(page, 'involved-right').check();
  await says(page, '3 sessions together');
  assert.equal(await page.locator('#history-summary').textContent(), '2 earlier visits, 2026-02-02 to 2026-02-16');
  await settled(page);
  const { entry } = JSON.parse((await download(page, '#save-bundle')).content);
  const subjects = new Set(entry.map(({ resource }) => resource.subject?.reference).filter(Boolean));
  assert.deepEqual([...subjects], [entry.find(({ resource }) => resource.resourceType === 'Patient').fullUrl], 'all of one patient');
});

test('a wrong file is refused with a reason, and nothing is lost', async (t) => {
  const page = await open(t);
  await field(page, 'trial.external.arm-at-side.right.1').fill('60');
  for (const [file, reason] of [
    [csv('Dear colleague\nthank you\n'), 'Found no columns'],
    [csv(''), 'Found no columns'],
    [{ name: 'x.xlsx', mimeType: 'application/zip', buffer: Buffer.from([0x50, 0x4b, 3, 4, 0, 0, 8, 0]) }, 'This is not a text file'],
  ]) {
    await choose(page, file);
    await says(page, reason, '#pasted-problems');
    assert.equal(await page.locator('#import[open]').count(), 0);
  }
  await choose(page, csv('name,size\nfoot,42\nhand,18\n'));
  await says(page, 'Choose the columns of: Side, Motion, Position of the arm, Unit.', '#import-said');
  await page.keyboard.press('Escape');
  assert.equal(await page.locator('#import[open]').count(), 0);
  assert.equal(await field(page, 'trial.external.arm-at-side.right.1').inputValue(), '60');
});

for (const [language, said] of [['de', /Zeilen werden übernommen/], ['fr', /lignes sur/]]) {
  test(`the dialog is in ${language}`, async (t) => {
    const page = await open(t, { width: 390, height: 844 });
    await field(page, 'language').selectOption(language);
    await choose(page, invented);
    await page.locator('#import[open]').waitFor();
    assert.match(await page.locator('#import-said').textContent(), said);
    assert.doesNotMatch(await page.locator('#import').innerText(), /\b(the|which|line|found|column)\b/i);
    assert.equal(await page.locator('#import').evaluate((dialog) => dialog.scrollWidth - dialog.clientWidth), 0, 'nothing is cut at the side');
    await assertAccessible(page, language);
  });
}

test('the invented file of the examples is read, and marked', async (t) => {
  const page = await open(t);
  await page.locator('.start summary').click();
  await field(page, 'example-table').click();
  await says(page, '24 of 24 lines are taken over, 0 refused.', '#import-said');
  await page.keyboard.press('Enter');
  assert.equal(await page.locator('#invented').isVisible(), true);
  assert.equal(await field(page, 'patient').inputValue(), 'invented-1');
});
