// What refers to what in a transaction.

import { systems } from './codes.js';
import { Decimal } from './json.js';

/**
 * literal makes of a reference to something whose address is known a literal one, which the
 * record resolves as it stores. A logical reference names it by its urn.
 * @param {Map<string, string>} addresses by urn
 */
export function literal(value, addresses) {
  if (Array.isArray(value)) return value.map((member) => literal(member, addresses));
  if (value === null || typeof value !== 'object' || value instanceof Decimal) return value;
  const { identifier, reference } = value;
  if (identifier?.system === systems.uri && addresses.has(identifier.value)) {
    return { reference: addresses.get(identifier.value), type: value.type, display: value.display };
  }
  if (addresses.has(reference)) return { ...value, reference: addresses.get(reference) };
  return Object.fromEntries(Object.entries(value).map(([name, member]) => [name, literal(member, addresses)]));
}

/** below makes references to what is below a base relative to it. */
export function below(base, value) {
  if (Array.isArray(value)) return value.map((member) => below(base, member));
  if (value === null || typeof value !== 'object' || value instanceof Decimal) return value;
  const entries = Object.entries(value).map(([name, member]) =>
    [name, name === 'reference' && typeof member === 'string' && member.startsWith(`${base}/`) ? member.slice(base.length + 1) : below(base, member)]);
  return Object.fromEntries(entries);
}
