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

/** says waits until a part of the page holds a text. */
async function says(page, text, within = '#record') {
  await page.locator(within).filter({ hasText: text }).waitFor({ timeout: 20_000 }).catch(async () => {
    assert.fail(`${within} lacks ${text}: ${await page.locator(within).textContent()}`);
  });
}

/** visit enters a visit of 30 March and waits for the answer. */
async function visit(page, right = 80) {
  await field(page, 'date').fill('2026-03-30');
  for (const [side, force] of [['right', right], ['left', 100]]) {
    for (const trial of [1, 2, 3]) await field(page, `trial.external.arm-at-side.${side}.${trial}`).fill(String(force));
  }
  await says(page, new RegExp(`${right}[.,]0\\sN`), '#result');
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

  test('is stored once, however often it is sent, and changed in its place', async (t) => {
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    await send(page);
    const before = launcher.store.everything();
    await send(page);
    assert.deepEqual(launcher.store.everything(), before, 'the same again changes nothing');

    await visit(page, 85);
    await send(page);
    const indices = ofPatient('Observation', patient).filter(({ code, effectiveDateTime }) => code.coding[0].code === 'limb-symmetry-index' && effectiveDateTime.startsWith('2026-03-30'));
    assert.deepEqual(indices.map(({ valueQuantity }) => valueQuantity.value), [85], 'one index, corrected in its place');
    assert.equal(ofPatient('Observation', patient).filter(ofWorksheet).length, 2);
    assert.equal(ofPatient('CarePlan', patient).filter(({ status }) => status === 'draft').length, 1);

    await field(page, 'pain.at-rest').fill('2');
    await page.locator('#send:enabled').waitFor();
    await send(page);
    await field(page, 'pain.at-rest').fill('');
    await page.locator('#send:enabled').waitFor();
    await send(page);
    const pain = ofPatient('Observation', patient).filter(ofWorksheet).filter(({ code }) => code.coding[0].code === '72514-3');
    assert.deepEqual(pain.map(({ status }) => status), ['entered-in-error'], 'what was emptied after it was stored is retracted');
  });

  test('fills in what the next visit needs', async (t) => {
    const patient = aPatient([]);
    const first = await launched(t, patient);
    await visit(first, 70);
    await send(first);
    await first.close({ runBeforeUnload: false });
    const page = await launched(t, patient);
    await says(page, '1 earlier visit, 2026-03-30', '#history-summary');
    await field(page, 'date').fill('2026-04-13');
    await says(page, '(70)', '.trials >> nth=0');
    await page.locator('#history summary').click();
    await page.getByRole('button', { name: 'Correct the visit of 2026-03-30' }).click();
    await field(page, 'trial.external.arm-at-side.right.1').fill('71.5');
    await says(page, '70.5 N', '#result'); // by hand: (71.5 + 70 + 70) / 3
    await page.locator('#send:enabled').waitFor();
    await send(page);
    const corrected = ofPatient('Observation', patient).filter(ofWorksheet);
    assert.deepEqual(corrected.map(({ status }) => status).toSorted(), ['corrected', 'final'], 'the same two, one of them corrected');
  });

  test('reads every page, and nothing from elsewhere', async (t) => {
    const dates = Array.from({ length: 7 }, (_, i) => `2026-01-0${i + 1}`);
    const patient = aPatient(dates.map((date) => ({ date, right: 60, left: 100 })));
    launcher.pageSize = 2;
    const page = await launched(t, patient);
    await says(page, '7 earlier visits, 2026-01-01 to 2026-01-07', '#history-summary');
    await page.close();

    launcher.elsewhere = `${launcher.authorization.origin}/fhir`;
    const misled = await open(t, launcher.launch(service.url, { patient }));
    await says(misled, 'sends on to another server');
    assert.equal(await misled.locator('#send').isVisible(), false);
    await says(misled, 'Try again now');
    delete launcher.elsewhere;
    await misled.locator('#record-again').click();
    await says(misled, 'The history was read');
  });

  test('refuses what is of another patient', async (t) => {
    const [patient, other] = [aPatient(), aPatient()];
    launcher.fault = ({ path }) => path === '/fhir/Observation/_search' && {
      status: 200, body: { resourceType: 'Bundle', type: 'searchset', entry: ofPatient('Observation', other).map((resource) => ({ resource })) },
    };
    const page = await open(t, launcher.launch(service.url, { patient }));
    await says(page, 'something of another patient');
    assert.equal(await field(page, 'patient').inputValue(), '');
    assert.equal(await page.locator('#history').isVisible(), false);
  });
});

/** whyNot opens a launch that fails and gives what the page says. */
async function whyNot(t, address, within = '#record-state') {
  const page = await open(t, address);
  await page.locator(within).filter({ hasText: /./ }).filter({ hasNotText: '…' }).waitFor();
  return { page, text: await page.locator(within).textContent() };
}

const trace = () => launcher.asked.map(({ path }) => path);

describe('who may launch it, and how', () => {
  test('a record that is not configured is refused and never asked', async (t) => {
    const stranger = await Launcher.start();
    t.after(() => stranger.stop());
    const { page, text } = await whyNot(t, stranger.launch(service.url, { patient: 'p1' }), '#launch-state');
    assert.match(text, /not one of those that may launch this page/);
    assert.deepEqual(stranger.asked, []);
    assert.deepEqual(await kept(page), { session: {}, local: {}, cookie: '' });
    await assertAccessible(page, 'a record that is not configured');
  });

  for (const [name, setUp, says] of [
    ['an authorization server elsewhere', () => { launcher.says = { authorization_endpoint: 'https://evil.example/authorize' }; }, /an address for signing in that is not allowed/],
    ['a token endpoint elsewhere', () => { launcher.says = { token_endpoint: 'https://evil.example/token' }; }, /an address for signing in that is not allowed/],
    ['an endpoint that is no address', () => { launcher.says = { authorization_endpoint: 'javascript:alert(1)' }; }, /an address for signing in that is not allowed/],
    ['no PKCE by S256', () => { launcher.challenges = ['plain']; }, /PKCE S256/],
    ['no launch', () => { launcher.capabilities = ['launch-standalone', 'client-public']; }, /launch-ehr/],
    ['no public clients', () => { launcher.capabilities = ['launch-ehr', 'client-confidential-symmetric']; }, /client-public/],
    ['no answer', () => { launcher.fault = () => 'down'; }, /cannot be reached/],
    ['a failure', () => { launcher.fault = () => ({ status: 500 }); }, /cannot answer now/],
  ]) {
    test(`a record with ${name} is not signed in to`, async (t) => {
      setUp();
      const { page, text } = await whyNot(t, launcher.launch(service.url, { patient: aPatient() }), '#launch-state');
      assert.match(text, says);
      assert.deepEqual(launcher.authorizations, []);
      assert.deepEqual((await kept(page)).session, {});
    });
  }

  test('what is asked for is what the specification wants', async (t) => {
    const page = await launched(t, aPatient());
    const [asked] = launcher.authorizations;
    assert.equal(asked.redirect_uri, `${service.url}/worksheet/`);
    assert.equal(asked.aud, launcher.base);
    assert.match(asked.state, /^[\w-]{43}$/);
    assert.match(asked.code_challenge, /^[\w-]{43}$/);
    assert.equal(asked.scope.split(' ')[0], 'launch');
    assert.equal(asked.scope.includes('offline_access'), false);
    await page.close();
    await launched(t, aPatient());
    const [, again] = launcher.authorizations;
    assert.notEqual(again.state, asked.state);
    assert.notEqual(again.code_challenge, asked.code_challenge);
  });

  test('without a launch the reader chooses the record here and the patient there', async (t) => {
    launcher.chosen = { patient: aPatient() };
    const page = await open(t, `${service.url}/worksheet/launch.html`);
    await assertAccessible(page, 'choosing a record');
    await page.getByRole('button', { name: launcher.base }).click();
    await says(page, 'The history was read');
    const [asked] = launcher.authorizations;
    assert.equal(asked.scope.split(' ')[0], 'launch/patient');
    assert.equal('launch' in asked, false);
  });

  for (const [name, setUp, says] of [
    ['another state', () => { launcher.tamper = (state) => `x${state.slice(1)}`; }, /not begun in this tab/],
    ['a code that is too old', () => { launcher.codeLifetime = 0; }, /used already or is too old/],
    ['the answer of another server', () => { launcher.issuer = 'https://evil.example'; }, /from another server/],
    ['a refusal', () => { launcher.denies = true; }, /did not let this page in \(access_denied\)/],
  ]) {
    test(`${name} lets nobody in`, async (t) => {
      setUp();
      const { page, text } = await whyNot(t, launcher.launch(service.url, { patient: aPatient() }));
      assert.match(text, says);
      assert.equal(page.url(), `${service.url}/worksheet/`);
      assert.deepEqual((await kept(page)).session, {}, 'nothing is left of the attempt');
      assert.equal(launcher.asked.some(({ authorization }) => authorization), false);
      await assertAccessible(page, name);
      delete launcher.denies;
    });
  }

  test('no patient lets nobody in', async (t) => {
    const { text } = await whyNot(t, launcher.launch(service.url, {}));
    assert.match(text, /did not say which patient/);
  });

  test('a code is used once, by the tab that asked for it', async (t) => {
    const patient = aPatient();
    const page = await open(t, launcher.launch(service.url, { patient }));
    const landings = [];
    page.on('framenavigated', (frame) => landings.push(frame.url()));
    await says(page, 'The history was read');
    await page.reload();
    assert.equal(await page.locator('#record').isVisible(), false, 'after a reload the page has no part in the record any more');

    const address = new Promise((resolve) => {
      page.on('request', (request) => { if (request.url().includes('?code=')) resolve(request.url()); });
    });
    await page.goto(launcher.launch(service.url, { patient }));
    await says(page, 'The history was read');
    for (const { text } of [await whyNot(t, await address), await whyNot(t, await address)]) assert.match(text, /not begun in this tab/);
    assert.deepEqual(launcher.refused, [], 'a code is not even shown again');
  });
});

describe('tokens', () => {
  test('are in no storage, address or file, and not with anybody else', async (t) => {
    const shown = [];
    const page = await open(t, launcher.launch(service.url, { patient: aPatient() }));
    page.on('request', (request) => shown.push({ to: new URL(request.url()).origin, address: request.url(), authorization: request.headers().authorization }));
    await says(page, 'The history was read');
    await visit(page);
    await send(page);
    const tokens = new Set(launcher.asked.map(({ authorization }) => authorization).filter(Boolean));
    assert.equal(tokens.size, 1);
    const token = [...tokens][0].replace('Bearer ', '');
    const { session, local, cookie } = await kept(page);
    assert.deepEqual([session, cookie], [{}, '']);
    assert.equal(JSON.stringify(local).includes(token), false);
    assert.equal(shown.some(({ address }) => address.includes(token)), false);
    assert.deepEqual([...new Set(shown.filter(({ authorization }) => authorization).map(({ to }) => to))], [launcher.record.origin], 'the service never sees it');
    assert.equal((await page.content()).includes(token), false);
  });

  test('are renewed while the page is open, where the record permits that', async (t) => {
    const page = await launched(t, aPatient());
    await visit(page);
    launcher.endTokens();
    await send(page);
    assert.deepEqual(launcher.refused, []);
  });

  test('that end lose nothing that was typed', async (t) => {
    launcher.renews = false;
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    launcher.endTokens();
    await send(page, 'lets this page in no longer');
    assert.equal(await field(page, 'trial.external.arm-at-side.right.1').inputValue(), '80');
    await assertAccessible(page, 'a token that ended');
    const [file] = await Promise.all([page.waitForEvent('download'), page.locator('#save-bundle').click()]);
    const path = await file.path();

    const other = await launched(t, aPatient());
    await other.locator('#file').setInputFiles(path);
    await says(other, 'not of the patient whose record is open', '#pasted-problems');
    assert.equal(await other.locator('#visits li').filter({ hasText: '2026-03-30' }).count(), 0);

    const again = await launched(t, patient);
    await again.locator('#file').setInputFiles(path);
    await says(again, '2 earlier visits, 2026-03-02 to 2026-03-30', '#history-summary');
    await field(again, 'date').fill('2026-03-30');
    await again.locator('#send:enabled').waitFor();
    await send(again);
    assert.equal(ofPatient('Observation', patient).filter(ofWorksheet).length, 2);
  });

  test('that end by themselves are told of before anything is sent', async (t) => {
    launcher.renews = false;
    launcher.lifetime = 3;
    const page = await launched(t, aPatient());
    await says(page, 'lets this page in no longer');
  });

  test('of another patient are not taken in place of the first', async (t) => {
    const [patient, other] = [aPatient(), aPatient()];
    const context = { patient };
    const page = await open(t, launcher.launch(service.url, context));
    await says(page, 'The history was read');
    await visit(page);
    const before = launcher.store.everything();
    context.patient = other;
    launcher.endTokens();
    await send(page, 'lets this page in no longer');
    assert.deepEqual(launcher.store.everything(), before);
  });
});

describe('what the record does not let be done', () => {
  test('scopes without writing: the button says so', async (t) => {
    launcher.permit = (scope) => scope.replaceAll('.crus', '.rs');
    const page = await open(t, launcher.launch(service.url, { patient: aPatient() }));
    await says(page, 'The history was read');
    await field(page, 'date').fill('2026-03-30');
    await field(page, 'trial.external.arm-at-side.right.1').fill('80');
    await says(page, 'does not permit this page to store: CarePlan', '#record-denied');
    assert.equal(await page.locator('#send').isDisabled(), true);
    assert.equal(await page.locator('#save-transaction').isEnabled(), true);
    await assertAccessible(page, 'without writing');
  });

  test('scopes of version 1 count as well', async (t) => {
    launcher.permit = (scope) => scope.replaceAll('.crus', '.*').replaceAll('.rs', '.read');
    const page = await launched(t, aPatient());
    await visit(page);
    await send(page);
  });

  test('scopes without all that is read: nothing is read', async (t) => {
    launcher.permit = (scope) => scope.replace('patient/Procedure.crus', '');
    const { text } = await whyNot(t, launcher.launch(service.url, { patient: aPatient() }));
    assert.match(text, /Missing: Procedure\. Nothing was read/);
    assert.equal(trace().some((path) => path.includes('_search')), false);
  });

  for (const [name, fault, says] of [
    ['refuses the permission', () => ({ status: 401 }), 'lets this page in no longer'],
    ['forbids it', () => ({ status: 403 }), 'does not permit this'],
    ['is busy', () => ({ status: 429, headers: { 'Retry-After': '7' } }), 'try again in 7 seconds'],
    ['is in maintenance', () => ({ status: 503 }), 'is busy'],
    ['fails', () => ({ status: 500 }), 'cannot answer now'],
    ['finds fault with it', () => ({ status: 422 }), 'refused it: a fault'],
    ['answers with something else', () => ({ status: 200, body: { hello: 1 } }), 'did not confirm'],
    ['is gone', () => 'down', 'cannot be reached'],
  ]) {
    test(`a record that ${name} loses nothing, and is sent to again`, async (t) => {
      const patient = aPatient();
      const page = await launched(t, patient);
      await visit(page);
      const before = launcher.store.everything();
      launcher.fault = ({ method, path }) => method === 'POST' && path === '/fhir' && fault();
      await send(page, says);
      assert.deepEqual(launcher.store.everything(), before);
      assert.equal(await field(page, 'trial.external.arm-at-side.right.1').inputValue(), '80');
      launcher.fault = null;
      await page.locator('#send:enabled').waitFor();
      await send(page);
      assert.equal(ofPatient('Observation', patient).filter(ofWorksheet).length, 2);
    });
  }

  test('a record that stores, but whose answer is lost, stores nothing twice', async (t) => {
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    launcher.fault = ({ method, path, body }) => {
      if (method !== 'POST' || path !== '/fhir') return null;
      launcher.fault = null;
      launcher.store.transact(JSON.parse(body));
      return 'cut';
    };
    await send(page, 'cannot be reached');
    const before = launcher.store.everything().map((line) => line.split(' ')[0]);
    await send(page);
    assert.deepEqual(launcher.store.everything().map((line) => line.split(' ')[0]), before);
  });

  test('a record that goes down while it is read opens nothing', async (t) => {
    launcher.fault = ({ path }) => (path.startsWith('/fhir/Goal') ? 'down' : null);
    const page = await open(t, launcher.launch(service.url, { patient: aPatient() }));
    await says(page, 'cannot be reached');
    assert.equal(await page.locator('#history').isVisible(), false);
    launcher.fault = null;
    await page.locator('#record-again').click();
    await says(page, 'The history was read');
    await says(page, '1 earlier visit', '#history-summary');
  });

  test('a plan that is changed at that moment is read again, once, and not overwritten', async (t) => {
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    await send(page);
    await visit(page, 85);
    let posts = 0;
    launcher.fault = ({ method, path }) => {
      if (method !== 'POST' || path !== '/fhir' || ++posts > 1) return null;
      const [plan] = ofPatient('CarePlan', patient);
      launcher.store.put({ ...plan, status: 'active' }); // a clinician accepts it
      return null;
    };
    await send(page);
    assert.equal(posts, 2);
    const plans = ofPatient('CarePlan', patient).map(({ status }) => status);
    assert.deepEqual(plans.toSorted(), ['active', 'draft'], 'the accepted plan stays, and a new one is proposed');
  });

  test('a measurement that somebody changed is looked at first', async (t) => {
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    const changed = launcher.store.read(`Observation/${patient}-2026-03-02-right`);
    changed.component.at(-1).valueQuantity.value = 90;
    launcher.store.put(changed);
    const before = launcher.store.everything();
    await send(page, 'was changed since it was read');
    assert.deepEqual(launcher.store.everything(), before);
    await page.locator('#send:enabled').waitFor();
    await send(page);
  });
});

describe('several patients', () => {
  test('in two tabs of a browser do not mix', async (t) => {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
    const patients = [aPatient(), aPatient()];
    const pages = [];
    for (const patient of patients) pages.push(await open(t, launcher.launch(service.url, { patient }), { context }));
    for (const page of pages) await says(page, 'The history was read');
    for (const [i, page] of pages.entries()) await visit(page, 70 + i);
    for (const page of pages.toReversed()) await send(page);
    for (const [i, patient] of patients.entries()) {
      const measured = ofPatient('Observation', patient).filter(ofWorksheet);
      assert.deepEqual(measured.map(({ component }) => component.at(-1).valueQuantity.value).toSorted(), [100, 70 + i]);
    }
  });

  test('of the day: only the worksheet of the record is sent', async (t) => {
    const patient = aPatient();
    const page = await launched(t, patient);
    await visit(page);
    await page.locator('#patients').selectOption('another');
    await says(page, 'is not that of the patient whose record is open');
    assert.equal(await page.locator('#send').isVisible(), false);
    assert.equal(await page.locator('#record-patient').isVisible(), false);
    await page.locator('#patients').selectOption('0');
    await page.locator('#send:enabled').waitFor();
    await send(page);
    await page.locator('#new').click();
    await says(page, 'is not that of the patient whose record is open');
    assert.equal(await page.locator('#send').isVisible(), false);
  });

  test('nothing of a patient is kept when the tab is closed', async (t) => {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
    const page = await open(t, launcher.launch(service.url, { patient: aPatient() }), { context });
    await says(page, 'The history was read');
    await visit(page);
    await send(page);
    await page.close();
    const next = await open(t, `${service.url}/worksheet/`, { context });
    assert.deepEqual(await kept(next), { session: {}, local: {}, cookie: '' });
    assert.equal(await next.locator('#record').isVisible(), false);
    assert.deepEqual(await next.evaluate(() => indexedDB.databases()), []);
    assert.deepEqual(await next.evaluate(() => caches.keys()), []);
  });
});

for (const [language, words] of [['de', ['Der Verlauf wurde aus der Akte gelesen', 'An die Akte senden', 'in der Akte gespeichert']], ['fr', ['L’historique a été lu dans le dossier', 'Envoyer au dossier', 'Enregistré dans le dossier']]]) {
  test(`in ${language} the launch is in ${language}`, async (t) => {
    const page = await open(t, launcher.launch(service.url, { patient: aPatient() }), { locale: language });
    await says(page, words[0]);
    assert.equal(await page.locator('#send').textContent(), words[1]);
    await visit(page);
    await page.locator('#send:enabled').waitFor();
    await send(page, words[2]);
    await assertAccessible(page, language);
  });
}
