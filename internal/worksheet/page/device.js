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
