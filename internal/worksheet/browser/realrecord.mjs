// The worksheet launched from a whole record server that is there, at the address RECORD, which
// holds the invented patient demo-1 with ten visits: .ci/run record.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { launch as startBrowser, startService } from './harness.mjs';
import { Launcher } from './launcher.mjs';

const record = process.env.RECORD;

let launcher, service, browser;

before(async () => {
  launcher = await Launcher.start();
  launcher.upstream = record;
  service = await startService([
    '--launch-client=worksheet', `--launch-issuers=${launcher.base}`, `--launch-origins=${launcher.authorization.origin}`,
  ]);
  browser = await startBrowser();
});

after(async () => {
  await browser?.close();
  await service?.stop();
  await launcher?.stop();
});

/** count is how many resources a search finds. */
async function count(search) {
  const response = await fetch(`${record}/${search}&_summary=count`, { headers: { 'Cache-Control': 'no-cache' } });
  return (await response.json()).total;
}

test('a visit is read from a record, stored in it, corrected there, and never stored twice', async () => {
  const page = await browser.newPage();
  page.on('dialog', (dialog) => dialog.accept());
  const says = async (within, text) => page.locator(within).filter({ hasText: text }).waitFor({ timeout: 90_000 })
    .catch(async () => assert.fail(`${within} lacks ${text}: ${await page.locator(within).textContent()}`));
  const send = async () => {
    await page.locator('#send:enabled').click();
    await says('#record-state', 'Stored in the record');
    await page.locator('#worksheet:not([inert])').waitFor({ timeout: 90_000 });
  };
  await page.goto(launcher.launch(service.url, { patient: 'demo-1' }));
  await says('#record-state', 'The history was read');
  await says('#history-summary', '10 earlier visits');

  await page.locator('#date').fill('2026-11-02');
  const trial = (side) => page.locator(`[id="trial.external.arm-at-side.${side}.1"]`);
  await trial('right').fill('91.5');
  await trial('left').fill('100.0');
  await page.locator('#send:enabled').waitFor();
  await send();
  const own = 'Observation?identifier=https://evenreach.example/fhir/sid/worksheet|';
  const searches = [own, 'Observation?patient=demo-1', 'CarePlan?patient=demo-1', 'Goal?patient=demo-1', 'DiagnosticReport?patient=demo-1'];
  const counted = () => Promise.all(searches.map(count));
  const first = await counted();
  assert.equal(first[0], 2);
  assert.equal(first.every((n) => n > 0), true, String(first));
  await send();
  assert.deepEqual(await counted(), first, 'the same again');

  await trial('right').fill('92.5');
  await page.locator('#send[disabled]').waitFor({ timeout: 1000 }).catch(() => undefined);
  await page.locator('#send:enabled').waitFor();
  await says('#result', '92.5');
  await send();
  assert.deepEqual(await counted(), first, 'corrected in its place');
  assert.equal(await count(`${own}&status=corrected`), 1);
});
