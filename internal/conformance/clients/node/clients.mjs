// Usage: node clients.mjs FHIR GRPC CASES PROTO...
// Sends a Bundle to a running service by two clients, and prints what each reads.
// FHIR is the base address, GRPC host and port. CASES is a folder with good and bad
// Bundles (good.json, bad.json) and the same as encoded AssessRequests (good.binpb,
// bad.binpb). Each PROTO is a folder that .proto files are imported from. Prints a
// line for each client: its name, a tab, and what it read as JSON.
import { readFileSync } from 'node:fs';
import grpc from '@grpc/grpc-js';
import { loadSync } from '@grpc/proto-loader';
import { Client } from 'fhir-kit-client';
import protobuf from 'protobufjs';

const [base, target, cases, ...imports] = process.argv.slice(2);
const load = name => JSON.parse(readFileSync(`${cases}/${name}.json`, 'utf8'));

function say(name, types, plan, indices, diagnostics) {
  const counts = {};
  for (const type of types) counts[type] = (counts[type] ?? 0) + 1;
  console.log(`${name}\t${JSON.stringify({ types: counts, plan, indices: indices.map(Number).sort((a, b) => a - b), diagnostics })}`);
}

async function byFhirKitClient() {
  const client = new Client({ baseUrl: base });
  const send = name => client.operation({ name: 'assess-shoulder', input: load(name) });
  const resources = (await send('good')).entry.map(e => e.resource);
  const refused = await send('bad').then(() => { throw new Error('not refused'); }, error => error.response.data);
  say('fhir-kit-client', resources.map(r => r.resourceType), resources.find(r => r.resourceType === 'CarePlan').status,
    resources.filter(r => r.code?.coding?.[0].code === 'limb-symmetry-index').map(r => r.valueQuantity.value), refused.issue[0].diagnostics);
}

// What is in the details of a refusal, which grpc-js gives as bytes.
const { root: status } = protobuf.parse(`syntax = "proto3"; package google.rpc;
  message Any { string type_url = 1; bytes value = 2; }
  message Status { int32 code = 1; string message = 2; repeated Any details = 3; }`);

function outcome(error) {
  const root = new protobuf.Root();
  root.resolvePath = (_, file) => imports.map(f => `${f}/${file}`).find(f => { try { readFileSync(f); return true; } catch { return false; } }) ?? file;
  root.loadSync('proto/google/fhir/proto/r4/core/resources/operation_outcome.proto', { keepCase: true });
  const { details } = status.lookupType('google.rpc.Status').decode(error.metadata.get('grpc-status-details-bin')[0]);
  return root.lookupType('google.fhir.r4.core.OperationOutcome').decode(details[0].value);
}

async function byGrpc() {
  const definition = loadSync('evenreach/v1/assessment.proto', { includeDirs: imports, keepCase: true, enums: String, oneofs: true });
  const { AssessmentService } = grpc.loadPackageDefinition(definition).evenreach.v1;
  const client = new AssessmentService(target, grpc.credentials.createInsecure());
  // The request is there as bytes, which the method's own reader makes an object of.
  const { requestDeserialize } = definition['evenreach.v1.AssessmentService'].Assess;
  const send = name => new Promise((resolve, reject) =>
    client.Assess(requestDeserialize(readFileSync(`${cases}/${name}.binpb`)), (error, answer) => error ? reject(error) : resolve(answer)));
  const entries = (await send('good')).bundle.entry.map(e => [e.resource.oneof_resource, e.resource[e.resource.oneof_resource]]);
  const error = await send('bad').then(() => { throw new Error('not refused'); }, e => e);
  client.close();
  say('grpc-js', entries.map(([kind]) => kind.replace(/(^|_)([a-z])/g, (_, __, c) => c.toUpperCase())),
    entries.find(([kind]) => kind === 'care_plan')[1].status.value.toLowerCase(),
    entries.filter(([kind, r]) => kind === 'observation' && r.code.coding[0].code.value === 'limb-symmetry-index').map(([, r]) => r.value.quantity.value.value),
    outcome(error).issue[0].details.text.value);
}

await byFhirKitClient();
await byGrpc();
