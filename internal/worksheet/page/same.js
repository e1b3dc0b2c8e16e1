// Whether a record has what is told already. A record adds elements, keeps them in its own
// order, and refers by addresses below its base.

import { Decimal } from './json.js';

/** relative is a reference without the base of the record that it is in. */
export const relative = (reference) => reference?.replace(/^https?:.*\/(?=[A-Z][A-Za-z]+\/[^/]+$)/, '');

// What a record says of its own, and the status, which follows from the rest.
const besides = new Set(['id', 'meta', 'status']);

/** tellsTheSame reports whether everything that a resource tells stands in the stored one. */
export const tellsTheSame = (stored, told) => stored.status !== 'entered-in-error'
  && Object.keys(told).every((name) => besides.has(name) || canonical(stored[name]) === canonical(told[name]));

function canonical(value) {
  if (value instanceof Decimal) return value.text;
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? '';
  const members = Object.entries(value).filter(([, member]) => member !== undefined).toSorted(([a], [b]) => (a < b ? -1 : 1));
  return `{${members.map(([name, member]) => `${name}:${canonical(name === 'reference' ? relative(member) : member)}`).join(',')}}`;
}
