// The worksheet launched from a health record, in a real browser, against a record and an
// authorization server of our own.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, afterEach, before, beforeEach, describe, test } from 'node:test';
import { launch as startBrowser, startService } from './harness.mjs';
import { Launcher } from './launcher.mjs';

const axe = readFileSync(new URL('node_modules/axe-core/axe.min.js', import.meta.url), 'utf8');

const shoulder = 'https://evenreach.example/fhir/CodeSystem/shoulder';
const worksheet = 'https://evenreach.example/fhir/sid/worksheet';

let launcher, service, browser;

before(async () => {
  launcher = await Launcher.start();
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

const usual = new Launcher();

beforeEach(() => {
  for (const [name, value] of Object.entries(usual)) if (!['store', 'record', 'authorization', 'base'].includes(name)) launcher[name] = value;
  for (const name of ['denies', 'tamper', 'issuer', 'says', 'elsewhere']) delete launcher[name];
  launcher.asked = [];
  launcher.authorizations = [];
  launcher.refused = [];
  launcher.referrers = [];
});

afterEach(async () => {
  for (const context of browser?.contexts() ?? []) await context.close();
});

let patients = 0;

/** aPatient puts an invented patient into the record, with visits of the right shoulder, and gives the id. */
function aPatient(visits = [{ date: '2026-03-02', right: 60, left: 100 }], { repair } = {}) {
  const id = `p${++patients}`;
  const subject = { reference: `Patient/${id}` };
  const { store } = launcher;
  store.put({ resourceType: 'Patient', id, birthDate: '1980-05-17', name: [{ given: ['Invented'], family: `Person${patients}` }] });
  store.put({ resourceType: 'Encounter', id: `${id}-e`, status: 'in-progress', class: { system: 'http://terminology.hl7.org/CodeSystem/v3-ActCode', code: 'AMB' }, subject, period: { start: '2026-03-30' } });
  store.put({
    resourceType: 'Condition', id: `${id}-c`, subject, clinicalStatus: { coding: [{ system: 'http://terminology.hl7.org/CodeSystem/condition-clinical', code: 'active' }] },
    code: { text: 'Shoulder' }, bodySite: [{ coding: [{ system: 'http://snomed.info/sct', code: '91774008' }] }],
  });
  if (repair) {
    store.put({
      resourceType: 'Procedure', id: `${id}-s`, status: 'completed', subject, performedDateTime: repair,
      code: { coding: [{ system: 'http://snomed.info/sct', code: '56060000' }] }, bodySite: [{ coding: [{ system: 'http://snomed.info/sct', code: '91774008' }] }],
    });
  }
  for (const { date, right, left } of visits) {
    for (const [side, site, force] of [['right', '91774008', right], ['left', '91775009', left]]) {
      store.put({
        resourceType: 'Observation', id: `${id}-${date}-${side}`, status: 'final', subject, effectiveDateTime: date,
        code: { coding: [{ system: shoulder, code: 'isometric-external-rotation-strength' }] },
        bodySite: { coding: [{ system: 'http://snomed.info/sct', code: site }] },
        method: { coding: [{ system: shoulder, code: 'handheld-dynamometry' }] },
        component: [
          { code: { coding: [{ system: shoulder, code: 'arm-position' }] }, valueCodeableConcept: { coding: [{ system: shoulder, code: 'arm-at-side' }] } },
          { code: { coding: [{ system: shoulder, code: 'contraction-type' }] }, valueCodeableConcept: { coding: [{ system: shoulder, code: 'make' }] } },
          ...[0, 1, 2].map((more) => ({ code: { coding: [{ system: shoulder, code: 'trial' }] }, valueQuantity: { value: force + more / 10, unit: 'N', system: 'http://unitsofmeasure.org', code: 'N' } })),
        ],
      });
    }
  }
  return id;
}

/** open opens an address in a tab that fails the test if it does what it must not. */
async function open(t, address, { context, expected = /status of [45]\d\d|ERR_/, ...more } = {}) {
  const page = await (context ?? await browser.newContext({ viewport: { width: 1280, height: 900 }, ...more })).newPage();
  const wrong = [];
  const allowed = [service.url, launcher.record.origin, launcher.authorization.origin];
  page.on('pageerror', (error) => wrong.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error' && !expected.test(message.text())) wrong.push(message.text());
  });
  page.on('request', (request) => {
    const { protocol, origin } = new URL(request.url());
    if (!allowed.includes(origin) && !['data:', 'blob:'].includes(protocol)) wrong.push(`outside request: ${request.url()}`);
  });
  page.on('dialog', (dialog) => dialog.accept());
  t.after(() => assert.deepEqual([...wrong, ...launcher.referrers], []));
  await page.goto(address);
  return page;
}

/** launched opens the worksheet for a patient of the record. */
async function launched(t, patient, more = {}) {
  const page = await open(t, launcher.launch(service.url, { patient, encounter: `${patient}-e` }), more);
  await says(page, 'The history was read');
  return page;
}

const field = (page, name) => page.locator(`[id="${name}"]`);

const says = (page, text, within = '#record') => page.locator(within).filter({ hasText: text }).waitFor();

/** visit enters a visit of 30 March and waits for the answer. */
async function visit(page, right = 80) {
  await field(page, 'date').fill('2026-03-30');
  for (const [side, force] of [['right', right], ['left', 100]]) {
    for (const trial of [1, 2, 3]) await field(page, `trial.external.arm-at-side.${side}.${trial}`).fill(String(force));
  }
  await says(page, `${right}.0 N`, '#result');
  await page.locator('#send:enabled').waitFor();
}

/** send sends and waits for what the page says. */
async function send(page, text = 'Stored in the record at') {
  await page.locator('#send').click();
  await says(page, text);
  await page.locator('#worksheet:not([inert])').waitFor();
}

const ofPatient = (type, patient) => launcher.store.all(type).filter(({ subject }) => subject?.reference === `Patient/${patient}`);

const ofWorksheet = ({ identifier }) => [identifier ?? []].flat().some(({ system }) => system === worksheet);

/** kept is what the browser keeps of the page. */
const kept = (page) => page.evaluate(() => ({ session: { ...sessionStorage }, local: { ...localStorage }, cookie: document.cookie }));

async function assertAccessible(page, state) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document));
  assert.deepEqual(violations.map(({ id, nodes }) => `${state}: ${id}: ${nodes.map(({ html }) => html).join(' ')}`), []);
}

describe('a launch from the record', () => {
  test('reads the history, fills the page, and stores the visit with its answer', async (t) => {
    const patient = aPatient([{ date: '2026-03-02', right: 60, left: 100 }, { date: '2026-03-16', right: 70, left: 100 }], { repair: '2025-06-02' });
    const page = await launched(t, patient);
    assert.equal(page.url(), `${service.url}/worksheet/`, 'no code stays in the address');
    await says(page, 'Invented Person1 · 1980-05-17', '#record-patient');
    assert.equal(await field(page, 'patient').inputValue(), 'Invented Person1');
    assert.equal(await field(page, 'involved-right').isChecked(), true);
    assert.equal(await field(page, 'repaired').isChecked(), true);
    assert.equal(await field(page, 'repair-date').inputValue(), '2025-06-02');
    assert.equal(await field(page, 'clinician').inputValue(), 'Invented Clinician');
    await says(page, '2 earlier visits, 2026-03-02 to 2026-03-16', '#history-summary');
    await field(page, 'date').fill('2026-03-30');
    await says(page, '(70)', '.trials >> nth=0');
    assert.equal(launcher.asked.some(({ method, path }) => method === 'POST' && path === '/fhir'), false, 'nothing is sent before the button');
    await assertAccessible(page, 'launched');

    await visit(page);
    await send(page);
    await assertAccessible(page, 'stored');
    const observations = ofPatient('Observation', patient);
    const measured = observations.filter(ofWorksheet);
    assert.deepEqual(measured.map(({ effectiveDateTime, encounter }) => [effectiveDateTime, encounter.reference]), Array(2).fill(['2026-03-30', `Encounter/${patient}-e`]));
    const index = observations.find(({ code, effectiveDateTime }) => code.coding[0].code === 'limb-symmetry-index' && effectiveDateTime.startsWith('2026-03-30'));
    assert.equal(index.valueQuantity.value, 80); // by hand: 80 / 100
    assert.equal(index.derivedFrom.filter(({ reference }) => measured.some(({ id }) => reference === `Observation/${id}`)).length, 2, 'the index leads to what was measured');
    for (const type of ['CarePlan', 'Goal', 'DiagnosticReport']) assert.equal(ofPatient(type, patient).length > 0, true, type);
    assert.equal(ofPatient('Condition', patient).length, 1, 'the side under treatment stands in the record already');
    assert.equal(ofPatient('Procedure', patient).length, 1, 'so does the operation');
  });
});
