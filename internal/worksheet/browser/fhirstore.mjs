// A FHIR R4 record in memory, of what the worksheet asks of one: search by form with paging,
// read, and transactions that are stored whole or not at all. Written from the specification.
//
// Sources: FHIR R4 4.0.1, RESTful API (search, paging, transaction, conditional create, managing
// resource contention) and Bundle (resolving references).

import { randomUUID } from 'node:crypto';

/** What a transaction is refused with; nothing of it is stored. */
class Refusal extends Error {
  constructor(status, text) {
    super(text);
    this.status = status;
  }
}

export const outcome = (text, code = 'processing') => ({ resourceType: 'OperationOutcome', issue: [{ severity: 'error', code, diagnostics: text }] });

export class Store {
  #resources = new Map(); // versions by type/id, the newest last

  /** put stores a resource as a new version and returns it. */
  put(resource) {
    const key = `${resource.resourceType}/${resource.id}`;
    const versions = this.#resources.get(key) ?? [];
    const stored = { ...resource, meta: { ...resource.meta, versionId: String(versions.length + 1), lastUpdated: new Date().toISOString() } };
    this.#resources.set(key, [...versions, stored]);
    return stored;
  }

  read(key) {
    return this.#resources.get(key)?.at(-1);
  }

  remove(key) {
    this.#resources.delete(key);
  }

  /** all are the present versions of a type. */
  all(type) {
    return [...this.#resources.values()].map((versions) => versions.at(-1)).filter(({ resourceType }) => resourceType === type);
  }

  /** everything is each resource with its version, to tell whether anything changed. */
  everything() {
    return [...this.#resources].map(([key, versions]) => `${key} ${versions.length}`).toSorted();
  }

  search(type, parameters) {
    return this.all(type).filter((resource) => [...parameters].every(([name, value]) => matches(resource, name, value)));
  }

  /** transact stores a transaction and returns the answer to it. */
  transact(bundle) {
    const before = new Map(this.#resources);
    try {
      return { resourceType: 'Bundle', type: 'transaction-response', entry: this.#entries(bundle) };
    } catch (error) {
      this.#resources = before;
      throw error;
    }
  }

  #entries({ entry }) {
    const planned = entry.map((one) => this.#plan(one));
    const addresses = new Map(planned.filter(({ fullUrl }) => fullUrl).map(({ fullUrl, key }) => [fullUrl, key]));
    return planned.map(({ key, resource, exists }) => {
      if (exists) return { response: { status: '200 OK', location: `${key}/_history/${this.read(key).meta.versionId}` } };
      const linked = resolved(resource, addresses);
      assertStorable(linked);
      const isNew = !this.read(key);
      const stored = this.put({ ...linked, id: key.split('/')[1] });
      return { response: { status: isNew ? '201 Created' : '200 OK', etag: `W/"${stored.meta.versionId}"`, location: `${key}/_history/${stored.meta.versionId}` } };
    });
  }

  // plan tells where an entry goes, and whether it is there already.
  #plan({ fullUrl, resource, request: { method, url, ifNoneExist, ifMatch } }) {
    if (method === 'POST' && url === resource.resourceType) {
      const found = ifNoneExist ? this.search(url, new URLSearchParams(ifNoneExist)) : [];
      if (found.length > 1) throw new Refusal(412, 'several resources match ifNoneExist');
      return found.length === 1
        ? { fullUrl, key: `${url}/${found[0].id}`, exists: true }
        : { fullUrl, key: `${url}/${randomUUID()}`, resource };
    }
    if (method !== 'PUT' || url !== `${resource.resourceType}/${resource.id}`) throw new Refusal(400, `${method} ${url} is not done here`);
    const present = this.read(url);
    if (!present) throw new Refusal(404, `${url} is not there`);
    if (ifMatch !== undefined && ifMatch !== `W/"${present.meta.versionId}"`) throw new Refusal(412, `${url} is of version ${present.meta.versionId}`);
    return { fullUrl, key: url, resource };
  }
}

function matches(resource, name, value) {
  switch (name) {
    case '_count':
      return true;
    case '_id':
      return resource.id === value;
    case 'patient':
      return [resource.subject, resource.patient].some((reference) => reference?.reference === `Patient/${value}`);
    case 'identifier':
      return hasToken([resource.identifier ?? []].flat().map(({ system, value: code }) => ({ system, code })), value);
    case '_tag':
      return hasToken(resource.meta?.tag ?? [], value);
    case 'code':
      return hasToken(resource.code?.coding ?? [], value);
    default:
      throw new Refusal(400, `the search parameter ${name} is not known`);
  }
}

// hasToken is a search by token: system|code, or system| for any code of it; or by a comma.
const hasToken = (codings, value) => value.split(',').some((token) => {
  const [system, code] = token.split('|');
  return codings.some((coding) => coding.system === system && (code === '' || coding.code === code));
});

// resolved are the references to other entries as addresses.
function resolved(value, addresses) {
  if (Array.isArray(value)) return value.map((member) => resolved(member, addresses));
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([name, member]) =>
    [name, name === 'reference' && addresses.has(member) ? addresses.get(member) : resolved(member, addresses)]));
}

// assertStorable refuses what a record must not store: an address of nothing, and what is empty.
function assertStorable(value, path = value.resourceType) {
  if (value === null || value === '' || Array.isArray(value) && value.length === 0) throw new Refusal(422, `${path} is empty`);
  if (typeof value !== 'object') return;
  if (!Array.isArray(value) && Object.keys(value).length === 0) throw new Refusal(422, `${path} is empty`);
  if (typeof value.reference === 'string' && !/^([A-Z]\w+\/[A-Za-z0-9.-]+|#.+)$/.test(value.reference)) throw new Refusal(422, `${path} refers to ${value.reference}`);
  for (const [name, member] of Object.entries(value)) assertStorable(member, `${path}.${name}`);
}
