// Usage: node living.mjs BASE REQUEST DAY...
// Lets a record live through the visits of a request: for each day it is sent all that was
// measured until then together with all that the record holds of earlier answers, by a
// running service at BASE, as a living transaction. The answer is posted twice, and then
// asked for and posted anew. Between the visits a clinician accepts the plan and a goal with
// a note, and a note is added to every measurement. Prints one line a check.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { startRecord } from './record.mjs';

const [base, requestFile, ...days] = process.argv.slice(2);
if (!days.length) {
  console.error('usage: node living.mjs BASE REQUEST DAY...');
  process.exit(2);
}
const request = JSON.parse(readFileSync(requestFile, 'utf8'));
const record = await startRecord();
const HEADERS = { 'Content-Type': 'application/fhir+json', Accept: 'application/fhir+json' };
const TYPES = ['CarePlan', 'DetectedIssue', 'DiagnosticReport', 'Goal', 'Observation', 'Provenance', 'Device'];
const OURS = /^https:\/\/evenreach\.example\/fhir\/sid\//;

async function call(method, url, body) {
  const response = await fetch(url, { method, headers: HEADERS, body: body && JSON.stringify(body), signal: AbortSignal.timeout(60_000) });
  return [response.status, await response.json()];
}

async function search(type) {
  const [, found] = await call('GET', `${record.base}/${type}?_count=1000`);
  return (found.entry ?? []).map(e => e.resource);
}

const isOurs = r => [...(r.identifier ?? []), ...(r.meta?.tag ?? [])].some(i => OURS.test(i.system));

async function stored() {
  const all = [];
  for (const type of TYPES) all.push(...(await search(type)).filter(isOurs));
  return all;
}

const versions = all => Object.fromEntries(all.map(r => [`${r.resourceType}/${r.id}`, r.meta.versionId]));

// until is what was measured until a day, each entry as the record has it.
async function until(day) {
  const entries = [];
  for (const { fullUrl, resource } of request.entry) {
    if ((resource.effectiveDateTime ?? '') > day + 'T99') continue;
    const [status, held] = await call('GET', `${record.base}/${resource.resourceType}/${resource.id}`);
    if (status !== 200) await call('PUT', `${record.base}/${resource.resourceType}/${resource.id}`, resource);
    entries.push({ fullUrl, resource: status === 200 ? held : resource });
  }
  return entries;
}

async function answer(day) {
  const bundle = { resourceType: 'Bundle', type: 'collection', entry: [...await until(day), ...(await stored()).map(resource => ({ resource }))] };
  const [status, body] = await call('POST', `${base}/$assess-shoulder`, {
    resourceType: 'Parameters', parameter: [{ name: 'bundle', resource: bundle }, { name: 'output', valueCode: 'living-transaction' }],
  });
  assert.equal(status, 200, JSON.stringify(body).slice(0, 500));
  return body;
}

const post = bundle => call('POST', record.base + '/', bundle);

async function change(resource, changes) {
  const [status] = await call('PUT', `${record.base}/${resource.resourceType}/${resource.id}`, { ...resource, ...changes });
  assert.equal(status, 200);
}

let failed = 0;
async function check(what, test) {
  try {
    await test();
    console.log(`ok\t${what}`);
  } catch (error) {
    failed++;
    console.log(`failed\t${what}\t${String(error.message).slice(0, 1000).replaceAll('\n', ' ')}`);
  }
}

function references(node, found = []) {
  if (!node || typeof node !== 'object') return found;
  if (typeof node.reference === 'string' && !node.reference.startsWith('#')) found.push(node.reference);
  for (const child of Object.values(node)) references(child, found);
  return found;
}

// kept is what a clinician had a hand in, by address, as it was left.
const kept = new Map();

async function clinician() {
  const [plan] = (await search('CarePlan')).filter(p => isOurs(p) && p.status === 'draft');
  const [goal] = (await search('Goal')).filter(g => isOurs(g) && g.lifecycleStatus === 'proposed');
  const note = [{ authorString: 'Invented Clinician', time: '2026-02-01T10:00:00Z', text: 'Invented: agreed with the patient.' }];
  await change(plan, { status: 'active', intent: 'plan', note: [...(plan.note ?? []), ...note] });
  await change(goal, { lifecycleStatus: 'active', note });
  for (const { resourceType, id } of [plan, goal]) kept.set(`${resourceType}/${id}`, (await call('GET', `${record.base}/${resourceType}/${id}`))[1]);
  for (const o of (await search('Observation')).filter(o => !isOurs(o))) await change(o, { note: [{ text: 'Invented: seated.' }] });
}

for (const [visit, day] of days.entries()) {
  const first = await answer(day);
  await check(`${day}: the record takes the answer`, async () => {
    const [status, body] = await post(first);
    assert.equal(status, 200, JSON.stringify(body).slice(0, 500));
    for (const { response } of body.entry) assert.match(response.status, /^20[01]/, JSON.stringify(response));
  });
  const before = versions(await stored());
  await check(`${day}: posted again it stores nothing`, async () => {
    await post(first);
    assert.deepEqual(versions(await stored()), before);
  });
  await check(`${day}: asked for and posted anew it stores nothing`, async () => {
    const [status] = await post(await answer(day));
    assert.equal(status, 200);
    assert.deepEqual(versions(await stored()), before);
  });
  await check(`${day}: what a clinician left is as it was`, async () => {
    for (const [address, resource] of kept) assert.deepEqual((await call('GET', `${record.base}/${address}`))[1], resource);
  });
  await check(`${day}: one draft, and no goal without a plan`, async () => {
    const drafts = (await search('CarePlan')).filter(p => p.status === 'draft');
    assert.equal(drafts.length, 1);
    const of = new Set(drafts[0].goal.map(g => g.reference));
    for (const goal of await search('Goal')) {
      if (['proposed', 'active'].includes(goal.lifecycleStatus)) assert.ok(of.has(`Goal/${goal.id}`), `Goal/${goal.id} is ${goal.lifecycleStatus}`);
    }
    const replaced = (drafts[0].replaces ?? []).map(r => r.reference);
    assert.deepEqual(replaced, [...kept.keys()].filter(k => k.startsWith('CarePlan/')));
  });
  await check(`${day}: one report, and one index a position`, async () => {
    const reports = (await search('DiagnosticReport')).filter(r => r.status === 'partial');
    assert.equal(reports.length, visit + 1);
    const seen = new Set();
    for (const o of (await search('Observation')).filter(o => o.status === 'preliminary' && o.code.coding[0].code === 'limb-symmetry-index')) {
      const key = o.effectiveDateTime + o.code.text;
      assert.ok(!seen.has(key), key);
      seen.add(key);
    }
  });
  await check(`${day}: every reference leads somewhere`, async () => {
    const known = new Set([...await stored(), ...await search('Observation'), ...await search('Patient')].map(r => `${r.resourceType}/${r.id}`));
    for (const r of await stored()) {
      for (const reference of references(r)) {
        if (/^(Observation|Goal|CarePlan|Device|DiagnosticReport|DetectedIssue)\//.test(reference)) assert.ok(known.has(reference), reference);
      }
    }
  });
  if (visit === 0) await clinician();
}
await check('a note changed no result', async () => {
  for (const type of ['Observation', 'DiagnosticReport']) {
    for (const r of (await search(type)).filter(isOurs)) {
      const [, history] = await call('GET', `${record.base}/${type}/${r.id}/_history`);
      assert.equal(history.entry.length, 1, `${type}/${r.id}`);
    }
  }
});
await record.close();
process.exit(failed ? 1 : 0);
