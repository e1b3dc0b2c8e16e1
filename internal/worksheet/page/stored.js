// What is sent to a record that was read: each measurement under its identifier, created where
// the record has none and else as a new version of the one that was read; and the answer as the
// service wrote it. The record stores all of it or nothing, and nothing twice.

import { identifierOf } from './files.js';
import { below, literal } from './references.js';
import { tellsTheSame } from './same.js';

/** byIdentifier finds what the worksheet wrote among what was read, by its identifier. */
export const byIdentifier = (entries) =>
  new Map(entries.filter(({ resource }) => identifierOf(resource)).map((entry) => [identifierOf(entry.resource), entry]));

/** isRetracted reports whether a record says of a resource that it was an error. */
export const isRetracted = ({ status, verificationStatus }) =>
  [status, ...(verificationStatus?.coding ?? []).map(({ code }) => code)].includes('entered-in-error');

/** versions tells the version of each entry of a record, by its address. */
export const versions = (entries) =>
  new Map(entries.filter(({ fullUrl }) => fullUrl).map(({ fullUrl, resource }) => [fullUrl, resource.meta?.versionId]));

/**
 * joined are the earlier entries of a worksheet after its record was read again. What was left
 * out of the worksheet, or taken into its fields, stays away; what was opened besides stays
 * until the record has it.
 * @param {Map} before versions of what was read the last time
 */
export function joined(carried, read, before) {
  const here = new Set(carried.map(({ fullUrl }) => fullUrl));
  const stored = byIdentifier(read);
  const isBesides = ({ fullUrl, resource }) => fullUrl && !before.has(fullUrl) && !stored.has(identifierOf(resource));
  return [...read.filter(({ fullUrl }) => !before.has(fullUrl) || here.has(fullUrl)), ...carried.filter(isBesides)];
}

/** neededIn are the types of what an answer stores, each with the least permission for it. */
export function neededIn({ bundle, answer }, base) {
  const own = bundle.entry.filter(({ fullUrl, resource }) => identifierOf(resource) && !fullUrl?.startsWith(`${base}/`));
  return [...own, ...answer.entry].map(({ resource }) => [resource.resourceType, 'c']).filter(([type]) => type !== 'OperationOutcome');
}

/** addressOf is where a record has a resource. */
const addressOf = ({ resource }) => `${resource.resourceType}/${resource.id}`;

/**
 * toStore makes the transaction.
 * @param {{bundle, places: Array}} asked what the answer was computed from
 * @param {{entry: Array}} answer the service's transaction
 * @param {Object} read of the record: entries by identifier, those that no field tells any
 *   more, the record's base, and the Encounter
 */
export function toStore({ bundle, places }, answer, { stored, withdrawn, base, encounter }) {
  const own = bundle.entry
    .map((entry, i) => ({ ...entry, carried: Boolean(places[i].carried), found: stored.get(identifierOf(entry.resource)) }))
    .filter(({ resource, fullUrl }) => identifierOf(resource) && !fullUrl?.startsWith(`${base}/`));
  const isThere = ({ found, carried, resource }) => found && (carried || tellsTheSame(found.resource, resource));
  const addresses = new Map(own.map(({ fullUrl, found }) => [fullUrl, found ? addressOf(found) : fullUrl]));
  const entry = [
    ...own.filter((one) => !isThere(one)).map((one) => ofVisit(one, encounter)),
    ...withdrawn.map(withdrawal),
    ...answer.entry,
  ];
  return below(base, literal({ ...answer, entry }, addresses));
}

function ofVisit({ fullUrl, resource, found }, encounter) {
  const type = resource.resourceType;
  const made = type === 'Observation' && encounter ? { encounter: { reference: encounter }, ...resource } : resource;
  if (found) return update(found, { ...found.resource, ...made, ...changed(found.resource) });
  const { system, value } = resource.identifier[0];
  return { fullUrl, resource: made, request: { method: 'POST', url: type, ifNoneExist: `identifier=${encodeURIComponent(`${system}|${value}`)}` } };
}

// changed is what a new version has of the stored one, and how it is marked as one.
const changed = ({ resourceType, id, meta }) => ({ id, meta, ...(resourceType === 'Observation' && { status: 'corrected' }) });

const update = (found, resource) => ({
  fullUrl: found.fullUrl,
  resource,
  request: { method: 'PUT', url: addressOf(found), ifMatch: `W/"${found.resource.meta?.versionId}"` },
});

// withdrawal says of what was stored and then emptied that it was an error.
// Source: FHIR R4, Condition: con-5, with such a verification there is no clinical status.
function withdrawal(found) {
  const { resource } = found;
  const retracted = resource.resourceType === 'Condition'
    ? { clinicalStatus: undefined, verificationStatus: { coding: [{ system: 'http://terminology.hl7.org/CodeSystem/condition-ver-status', code: 'entered-in-error' }] } }
    : { status: 'entered-in-error' };
  return update(found, { ...resource, ...retracted });
}
