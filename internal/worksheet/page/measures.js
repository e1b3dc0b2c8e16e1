// The outcome measures of the protocol, such as scores that the patient reports. What they
// are is known to the service alone.

import { addFacts, fact } from './facts.js';
import { current } from './words.js';

const address = new URL('measures.json', import.meta.url);

const retryPause = 5000; // milliseconds, as for an answer

/** measures are the rows of the protocol, by the name of their field. */
export const measures = new Map();

/** loadMeasures asks for the measures until the service is reached, and says when they are known. */
export async function loadMeasures(loaded) {
  let rows;
  try {
    const response = await fetch(address, { credentials: 'omit', cache: 'no-store', redirect: 'error' });
    if (!response.ok) throw new TypeError(`status ${response.status}`);
    rows = await response.json();
  } catch {
    setTimeout(() => loadMeasures(loaded), retryPause);
    return;
  }
  for (const row of rows) measures.set(`score.${row.id}`, row);
  addFacts([...measures].map(([field, { codes: [code], unit }]) => fact(field, { coding: [code] }, { unit, category: 'survey' })));
  if (rows.length > 0) loaded();
}

/** measureTitle is the title of a measure's field in the language that is shown; undefined for another field. */
export function measureTitle(field) {
  const title = measures.get(field)?.title;
  return title && (title[current()] ?? title.en);
}
