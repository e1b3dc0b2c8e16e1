// Usage: node client.mjs BASE REQUEST PUBLISHED...
// Calls a running service with fhir-kit-client, a client library that knows
// nothing of it: the operation with both shapes of body, its refusals, the
// CapabilityStatement, and what it says can be read. REQUEST is a file with a
// Bundle; each PUBLISHED one with a resource that must be readable as it is.
// Prints one line a check and exits 1 if any fails.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { Client } from 'fhir-kit-client';

const [base, requestFile, ...publishedFiles] = process.argv.slice(2);
if (!publishedFiles.length) {
  console.error('usage: node client.mjs BASE REQUEST PUBLISHED...');
  process.exit(2);
}
const load = file => JSON.parse(readFileSync(file, 'utf8'));
const client = new Client({ baseUrl: base });
const bundle = load(requestFile);
const published = publishedFiles.map(load);
const name = 'assess-shoulder';

const parameters = output => ({
  resourceType: 'Parameters',
  parameter: [{ name: 'bundle', resource: bundle }, { name: 'involvedSide', valueCode: 'right' }, { name: 'output', valueCode: output }],
});

async function refused(call) {
  try {
    await call();
  } catch (error) {
    assert.equal(error.response.data.resourceType, 'OperationOutcome');
    return error.response.status;
  }
  throw new Error('not refused');
}

let failed = 0;

async function check(what, test) {
  try {
    await test();
    console.log(`ok\t${what}`);
  } catch (error) {
    failed++;
    console.log(`failed\t${what}\t${String(error.message).split('\n')[0]}`);
  }
}

await check('a Bundle as the body', async () => {
  const answer = await client.operation({ name, input: bundle });
  assert.deepEqual([answer.resourceType, answer.type], ['Bundle', 'transaction']);
});
await check('Parameters as the body', async () => {
  const answer = await client.operation({ name, input: parameters('collection') });
  assert.deepEqual([answer.resourceType, answer.type], ['Bundle', 'collection']);
});
await check('a check', async () => {
  const answer = await client.operation({ name, input: parameters('check') });
  assert.equal(answer.resourceType, 'OperationOutcome');
});
await check('a refusal of another resource', async () => {
  assert.equal(await refused(() => client.operation({ name, input: { resourceType: 'Patient' } })), 400);
});
await check('a refusal of GET', async () => {
  assert.equal(await refused(() => client.operation({ name, method: 'GET' })), 405);
});

let statement;
await check('the CapabilityStatement', async () => {
  statement = await client.capabilityStatement();
  assert.deepEqual([statement.resourceType, statement.kind, statement.fhirVersion], ['CapabilityStatement', 'instance', '4.0.1']);
  assert.equal(statement.implementation.url, base);
  assert.ok(statement.rest[0].operation.some(o => o.name === name));
});
await check('its entity tag', async () => {
  const tag = Client.httpFor(statement).response.headers.get('etag');
  assert.match(tag, /^W\/"\w+"$/);
  const again = await fetch(`${base}/metadata`, { headers: { 'If-None-Match': tag } });
  assert.equal(again.status, 304);
});
await check('the definition of the operation', async () => {
  const [id] = statement.rest[0].operation[0].definition.split('/').slice(-1);
  assert.equal((await client.read({ resourceType: 'OperationDefinition', id })).code, name);
});
// Of some types there are operations alone, and nothing to read.
const readable = (statement?.rest[0].resource ?? []).filter(r => r.interaction);
for (const { type, interaction } of readable) {
  await check(`reading every ${type}`, async () => {
    assert.deepEqual(interaction.map(i => i.code), ['read', 'search-type']);
    const own = published.filter(r => r.resourceType === type);
    assert.ok(own.length > 0, 'claimed and not published');
    for (const resource of own) assert.deepEqual(await client.read({ resourceType: type, id: resource.id }), resource);
  });
}
for (const { type, searchParam } of readable) {
  await check(`searching every ${type} by each parameter`, async () => {
    for (const own of published.filter(r => r.resourceType === type)) {
      for (const { name } of searchParam) {
        const value = own[name === '_id' ? 'id' : name];
        if (value === undefined) continue; // a Bundle has none but an id
        const found = await client.search({ resourceType: type, searchParams: { [name]: value, _count: 50 } });
        assert.ok(found.entry?.some(e => e.resource.id === own.id), `${own.id} by ${name}`);
      }
    }
  });
}
await check('every published type is claimed', async () => {
  const claimed = readable.map(r => r.type);
  assert.deepEqual([...new Set(published.map(r => r.resourceType))].sort(), claimed);
});
await check('a refusal of what is not published', async () => {
  assert.equal(await refused(() => client.read({ resourceType: 'CodeSystem', id: 'nothing' })), 404);
});
process.exitCode = failed ? 1 : 0;
