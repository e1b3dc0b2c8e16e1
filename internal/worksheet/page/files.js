// What can be taken away: the Bundle to send, and the transaction to store.

import { systems } from './codes.js';
import { write } from './json.js';
import { literal } from './references.js';

/** save offers a value as a file. */
export const save = (value, name) => offer(new Blob([write(value)], { type: 'application/fhir+json' }), name);

/** savePDF offers the last form of the report in an answer, which is the sheet, as a file. */
export function savePDF(answer, name) {
  const { resource } = answer.entry.find((entry) => entry.resource.resourceType === 'DiagnosticReport');
  const { data } = resource.presentedForm.at(-1);
  offer(new Blob([Uint8Array.from(atob(data), (character) => character.charCodeAt(0))], { type: 'application/pdf' }), name);
}

function offer(content, name) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** fileName tells the kind and day of a file, and the patient by record number or initials. */
export const fileName = (kind, { date, patient }, extension = 'json') =>
  ['re-check', kind, shortly(patient), date || 'undated'].filter(Boolean).join('-') + `.${extension}`;

// shortly is the record number in what was entered for the patient, else the initials.
function shortly(patient) {
  const words = patient.match(/[\p{L}\p{N}]+/gu) ?? [];
  return words.find((word) => /\p{N}/u.test(word)) ?? words.map((word) => [...word][0].toUpperCase()).join('').slice(0, 4);
}

/**
 * transaction joins the measurements that were entered here with the answer's
 * transaction, so that a record stores both at once. A measurement is stored
 * under its identifier and never twice: what is in the fields, or was
 * corrected, is updated; what an earlier visit told is created unless it is
 * there. What an opened file took from a record is there and not sent again.
 */
export function transaction(bundle, places, answer) {
  const own = bundle.entry.map((entry, i) => ({ ...entry, earlier: Boolean(places[i].carried) })).filter(({ resource }) => identifierOf(resource));
  const sent = new Map(own.map(({ fullUrl }) => [fullUrl, fullUrl]));
  const entry = [
    ...own.map(({ fullUrl, resource, earlier }) => ({ fullUrl, resource, request: request(resource, earlier) })),
    ...answer.entry.map((result) => literal(result, sent)),
  ];
  return { ...answer, entry };
}

/** identifierOf is the identifier that the worksheet gave a resource; undefined for none. */
export const identifierOf = (resource) =>
  [resource.identifier ?? []].flat().find(({ system }) => system === systems.worksheet)?.value;

function request(resource, earlier) {
  const type = resource.resourceType;
  const query = `identifier=${encodeURIComponent(`${systems.worksheet}|${identifierOf(resource)}`)}`;
  if (earlier && resource.status !== 'corrected') return { method: 'POST', url: type, ifNoneExist: query };
  return { method: 'PUT', url: `${type}?${query}` };
}
