// What can be taken away: the Bundle to send, and the transaction to store.

import { systems } from './codes.js';
import { Decimal, write } from './json.js';

/** save offers a value as a file. */
export function save(value, name) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([write(value)], { type: 'application/fhir+json' }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** fileName is a name without anything about the patient. */
export const fileName = (kind, day) => `re-check-${kind}-${day || 'undated'}.json`;

/**
 * transaction joins the measurements that were entered here with the answer's
 * transaction, so that a record stores both at once. A measurement is stored
 * under its identifier: sent again it is updated, not doubled. What an opened
 * file took from a record has its address there and is not sent again.
 */
export function transaction(bundle, answer) {
  const own = bundle.entry.filter(({ resource }) => worksheetIdentifier(resource));
  const sent = new Set(own.map(({ fullUrl }) => fullUrl));
  const entry = [
    ...own.map(({ fullUrl, resource }) => ({ fullUrl, resource, request: update(resource) })),
    ...answer.entry.map((result) => literal(result, sent)),
  ];
  return { ...answer, entry };
}

const worksheetIdentifier = (resource) =>
  [resource.identifier ?? []].flat().find(({ system }) => system === systems.worksheet)?.value;

const update = (resource) => ({
  method: 'PUT',
  url: `${resource.resourceType}?identifier=${encodeURIComponent(`${systems.worksheet}|${worksheetIdentifier(resource)}`)}`,
});

// literal makes of a logical reference to an entry that goes along a literal
// one, which the record resolves when it stores both.
function literal(value, sent) {
  if (Array.isArray(value)) return value.map((member) => literal(member, sent));
  if (value === null || typeof value !== 'object' || value instanceof Decimal) return value;
  const { identifier } = value;
  if (identifier?.system === systems.uri && sent.has(identifier.value)) {
    return { reference: identifier.value, type: value.type, display: value.display };
  }
  return Object.fromEntries(Object.entries(value).map(([name, member]) => [name, literal(member, sent)]));
}
