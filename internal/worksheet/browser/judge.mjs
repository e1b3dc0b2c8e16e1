// A foreign client of SMART App Launch, the npm package fhirclient, against the record of the
// tests: that it is let in, reads and finds the patient shows that this record is one; that it
// asks for the same shows that the worksheet asks as it should. FHIRCLIENT is its build for
// browsers: .ci/run launch.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { after, before, test } from 'node:test';
import { launch as startBrowser, startService } from './harness.mjs';
import { Launcher } from './launcher.mjs';

const code = readFileSync(process.env.FHIRCLIENT, 'utf8');
const scope = 'launch openid fhirUser online_access patient/Patient.rs patient/Observation.crus';

let launcher, service, browser, pages, home;

before(async () => {
  launcher = await Launcher.start();
  launcher.store.put({ resourceType: 'Patient', id: 'p1', name: [{ text: 'Invented Person' }] });
  service = await startService([
    '--launch-client=worksheet', `--launch-issuers=${launcher.base}`, `--launch-origins=${launcher.authorization.origin}`,
  ]);
  browser = await startBrowser();
  pages = createServer((request, response) => {
    const isCode = request.url === '/client.js';
    response.writeHead(200, { 'Content-Type': isCode ? 'text/javascript' : 'text/html' })
      .end(isCode ? code : '<!DOCTYPE html><title>Judge</title><link rel="icon" href="data:,"><script src="/client.js"></script>');
  });
  await new Promise((resolve) => { pages.listen(0, '127.0.0.1', resolve); });
  home = `http://127.0.0.1:${pages.address().port}/`;
});

after(async () => {
  await browser?.close();
  await service?.stop();
  await launcher?.stop();
  pages?.closeAllConnections();
  pages?.close();
});

test('a foreign client is launched as the worksheet is', async () => {
  const context = await browser.newContext();
  const page = await context.newPage();
  const launch = new URL(launcher.launch('http://other', { patient: 'p1' })).searchParams.get('launch');
  await page.goto(home);
  await Promise.all([
    page.waitForURL(/state=/),
    page.evaluate(([iss, given, scopes, redirectUri]) => globalThis.FHIR.oauth2.authorize({
      iss, launch: given, clientId: 'worksheet', scope: scopes, redirectUri, pkceMode: 'required',
    }), [launcher.base, launch, scope, home]),
  ]);
  const found = await page.evaluate(async () => {
    const client = await globalThis.FHIR.oauth2.ready();
    return { patient: client.patient.id, user: client.getFhirUser(), scope: client.state.tokenResponse.scope, keys: Object.keys(sessionStorage).length };
  });
  assert.deepEqual([found.patient, found.scope], ['p1', scope]);
  assert.match(found.user, /Practitioner\/c1$/);
  assert.equal(found.keys > 0, true, 'it keeps its tokens in the storage of the tab, which is why the worksheet has code of its own');

  const ours = await context.newPage();
  await ours.goto(launcher.launch(service.url, { patient: 'p1' }));
  await ours.locator('#record').filter({ hasText: 'The history was read' }).waitFor();
  const [foreign, own] = launcher.authorizations;
  assert.deepEqual(Object.keys(own).toSorted(), Object.keys(foreign).toSorted());
  for (const name of ['response_type', 'client_id', 'aud', 'code_challenge_method']) assert.equal(own[name], foreign[name], name);
  assert.deepEqual(launcher.refused, []);
});
