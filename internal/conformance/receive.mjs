// Usage: node receive.mjs FILE...
// Posts each transaction Bundle twice to a record of its own and prints one
// JSON object a line: file, entries, the rounds with their HTTP status and how
// many entries were created, found, updated or failed; how many resources and
// versions the record then holds; and the references that lead nowhere.
// References to what the record held before, such as the patient, are followed
// too: --held FILE names, for the file behind it, the request that was
// answered, whose resources are put into the record first.
import { readFileSync } from 'node:fs';
import { startRecord } from './record.mjs';

const JSON_TYPE = { 'Content-Type': 'application/fhir+json', Accept: 'application/fhir+json' };

async function call(base, method, path, body) {
  const response = await fetch(base + path, { method, headers: JSON_TYPE, body: body && JSON.stringify(body), signal: AbortSignal.timeout(30_000) });
  return [response.status, await response.json()];
}

// hold puts the resources of a request into the record under their own ids.
async function hold(base, request) {
  const bundle = request.resourceType === 'Parameters' ? request.parameter.find(p => p.resource).resource : request;
  for (const { resource } of bundle.entry) {
    if (resource.id) await call(base, 'PUT', `/${resource.resourceType}/${resource.id}`, resource);
  }
}

const OUTCOMES = { 201: 'created', 200: 'found', 304: 'found' };

async function post(base, bundle) {
  const [status, answer] = await call(base, 'POST', '/', bundle);
  const round = { status, created: 0, found: 0, failed: 0 };
  for (const { response } of answer.entry ?? []) round[OUTCOMES[response?.status?.slice(0, 3)] ?? 'failed']++;
  if (status !== 200) round.issues = answer.issue?.map(i => i.details?.text);
  return round;
}

// inventory follows every reference of what was stored.
async function inventory(base, bundle) {
  const types = [...new Set(bundle.entry.map(e => e.resource.resourceType))].sort();
  const result = { resources: 0, versions: 0, links: 0, dangling: [] };
  for (const type of types) {
    const [, found] = await call(base, 'GET', `/${type}?_count=1000`);
    for (const { resource } of found.entry ?? []) {
      if (!ours(resource)) continue;
      result.resources++;
      result.versions += (await call(base, 'GET', `/${type}/${resource.id}/_history`))[1].entry.length;
      for (const reference of references(resource)) {
        result.links++;
        const [status] = /^[A-Z]\w+\/[A-Za-z0-9\-.]+$/.test(reference) ? await call(base, 'GET', `/${reference}`) : [0];
        if (status !== 200) result.dangling.push(`${type}/${resource.id} -> ${reference}`);
      }
    }
  }
  return result;
}

const OURS = /^https:\/\/evenreach\.example\/fhir\/sid\//;
const ours = r => [...(r.identifier ?? []), ...(r.meta?.tag ?? [])].some(i => OURS.test(i.system));

function references(node, found = []) {
  if (!node || typeof node !== 'object') return found;
  if (typeof node.reference === 'string' && !node.reference.startsWith('#')) found.push(node.reference);
  for (const child of Object.values(node)) references(child, found);
  return found;
}

let held;
const args = process.argv.slice(2);
if (!args.length) {
  console.error('usage: node receive.mjs [--held FILE] FILE...');
  process.exit(2);
}
while (args.length) {
  const arg = args.shift();
  if (arg === '--held') {
    held = JSON.parse(readFileSync(args.shift(), 'utf8'));
    continue;
  }
  const bundle = JSON.parse(readFileSync(arg, 'utf8'));
  const record = await startRecord();
  if (held) await hold(record.base, held);
  const rounds = [await post(record.base, bundle), await post(record.base, bundle)];
  console.log(JSON.stringify({ file: arg, entries: bundle.entry.length, rounds, ...(await inventory(record.base, bundle)) }));
  await record.close();
  held = undefined;
}
