// A receiving R4 record in memory: Medplum's router on 127.0.0.1. Medplum's
// repository in memory neither checks what it stores nor undoes a transaction
// that fails half way, so each body is validated first and refused with 422, and so
// is, with 412, a transaction that updates another version than the present one. Nor
// does it keep two transactions apart, so that both could create what neither
// found: they are taken one after the other, as FHIR asks of a transaction.
import { createServer } from 'node:http';
import './websocket.mjs';
import { getStatus, OperationOutcomeError, preconditionFailed, serverError } from '@medplum/core';
import { FhirRouter, MemoryRepository } from '@medplum/fhir-router';
import { indexMedplum } from './medplum.mjs';
import { makeValidator } from './validator.mjs';

const LIMIT = 16 << 20;
const router = new FhirRouter();
let indexed = false, validate;

// startRecord starts a record and returns its base address and how to stop it.
// One that trusts its callers does not validate.
export async function startRecord({ trusting = false } = {}) {
  if (!indexed) indexMedplum({ search: true });
  indexed = true;
  if (!trusting) validate ??= makeValidator();
  const repository = new MemoryRepository();
  let turn = Promise.resolve();
  const inTurn = handle => (turn = turn.then(handle, handle));
  const server = createServer(async (req, res) => {
    const send = (status, body) => {
      res.writeHead(status, { 'Content-Type': 'application/fhir+json' });
      res.end(JSON.stringify(body));
    };
    try {
      const body = await bodyOf(req);
      const faults = body && !trusting ? validate(body).filter(i => i.severity === 'error') : [];
      if (faults.length) return send(422, refusal(faults));
      const [outcome, resource] = await inTurn(async () => {
        await refuseOldVersions(body, repository);
        return router.handleRequest(requestOf(req, body), repository);
      });
      send(getStatus(outcome), resource ?? outcome);
    } catch (e) {
      const outcome = e.outcome ?? serverError(e);
      send(getStatus(outcome), outcome);
    }
  });
  await new Promise((resolve, reject) => server.once('error', reject).listen(0, '127.0.0.1', resolve));
  return {
    base: `http://127.0.0.1:${server.address().port}`,
    close: () => new Promise(resolve => { server.closeAllConnections(); server.close(resolve); }),
  };
}

// refuseOldVersions throws if an update of a transaction is not of the present version.
async function refuseOldVersions(body, repository) {
  if (body?.resourceType !== 'Bundle' || body.type !== 'transaction') return;
  for (const { request, resource } of body.entry) {
    if (!request.ifMatch) continue;
    const { meta } = await repository.readResource(resource.resourceType, resource.id);
    if (`W/"${meta.versionId}"` !== request.ifMatch) throw new OperationOutcomeError(preconditionFailed);
  }
}

async function bodyOf(req) {
  const chunks = [];
  let size = 0;
  for await (const chunk of req) {
    size += chunk.length;
    if (size > LIMIT) throw new Error('body over the limit');
    chunks.push(chunk);
  }
  return size ? JSON.parse(Buffer.concat(chunks).toString('utf8')) : undefined;
}

function requestOf(req, body) {
  const url = new URL(req.url, 'http://record.invalid'), query = {};
  for (const name of url.searchParams.keys()) {
    const values = url.searchParams.getAll(name);
    query[name] = values.length > 1 ? values : values[0];
  }
  // Not config.transactions: with it the router takes at most 8 entries with a
  // condition at once, a limit of its own that FHIR does not have.
  return { method: req.method, url: url.pathname + url.search, pathname: '', params: {}, query, body, headers: req.headers, config: {} };
}

function refusal(faults) {
  return {
    resourceType: 'OperationOutcome',
    issue: faults.map(({ engine, message, path }) => ({ severity: 'error', code: 'invalid', details: { text: `${engine}: ${message}` }, expression: [path] })),
  };
}
