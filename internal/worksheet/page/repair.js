// The repairs of a cuff that the entries of a record tell.

import { repairs } from './codes.js';

/**
 * repairsIn gives them with their kind and day as the fields have them, and their body site,
 * the latest first. One without a day is left out: the field would be empty.
 */
export function repairsIn(carried) {
  return carried.map(({ resource }) => resource)
    .filter(({ resourceType, status }) => resourceType === 'Procedure' && status === 'completed')
    .map((resource) => ({ kind: kindOf(resource), date: String(resource.performedDateTime ?? resource.performedPeriod?.start ?? '').slice(0, 10), bodySite: resource.bodySite }))
    .filter(({ kind, date }) => kind !== undefined && date.length === 10)
    .toSorted((a, b) => b.date.localeCompare(a.date));
}

// kindOf is the value of the field; undefined for another operation.
function kindOf({ code }) {
  const kind = Object.keys(repairs).find((known) => code?.coding?.some((coding) => coding.code === repairs[known]));
  return kind === 'cuff' ? '' : kind;
}
