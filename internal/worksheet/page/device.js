// What this device remembers from one visit to the next: how the clinic works, and nothing
// of a patient.

const key = 'worksheet-device';

/** remembered are the fields that are kept, beside the language. */
export const remembered = ['unit', 'instrument', 'contraction', 'clinician'];

/** recall gives what is remembered, by field; nothing where the browser keeps nothing. */
export function recall() {
  try {
    const kept = JSON.parse(localStorage.getItem(key)) ?? {};
    return Object.fromEntries([...remembered, 'language'].filter((field) => typeof kept[field] === 'string').map((field) => [field, kept[field]]));
  } catch {
    return {};
  }
}

/** remember keeps the value of a field, if it is one of those. */
export function remember(field, value) {
  if (field !== 'language' && !remembered.includes(field)) return;
  try {
    localStorage.setItem(key, JSON.stringify({ ...recall(), [field]: value }));
  } catch {
    // The browser keeps nothing for this page: it asks anew each time.
  }
}

// What the columns of a measuring instrument's file mean, by its header. Kept are the
// columns' names and places, never a line of the file.
const columnsKey = 'worksheet-columns';

// mostHeaders bounds what is kept. Ours: a clinic has fewer instruments.
const mostHeaders = 10;

const nameOf = (header, width) => (header.length > 0 ? header.join('\t') : `${width}`);

/** recallColumns gives the mapping for a header, or for so many columns without one; undefined for none. */
export function recallColumns(header, width) {
  const found = keptColumns().find(({ header: name }) => name === nameOf(header, width))?.mapping;
  const isKnown = (choice) => Number.isInteger(choice) ? choice < width : typeof choice === 'string';
  return found && Object.values(found).every(isKnown) ? found : undefined;
}

/** rememberColumns keeps a mapping. */
export function rememberColumns(header, width, mapping) {
  const name = nameOf(header, width);
  const others = keptColumns().filter((kept) => kept.header !== name);
  try {
    localStorage.setItem(columnsKey, JSON.stringify([{ header: name, mapping }, ...others].slice(0, mostHeaders)));
  } catch {
    // The browser keeps nothing for this page: it asks anew each time.
  }
}

function keptColumns() {
  try {
    const kept = JSON.parse(localStorage.getItem(columnsKey));
    return Array.isArray(kept) ? kept.filter((one) => typeof one?.header === 'string' && typeof one.mapping === 'object' && one.mapping) : [];
  } catch {
    return [];
  }
}
