// The values of the last visit, in small print beside the fields.

import { fieldsOf } from './revisit.js';
import { visitsIn } from './history.js';

/** lastVisit gives the fields of the last visit before a day; {} without one. */
export function lastVisit(carried, day) {
  const earlier = visitsIn(carried).filter((visit) => day === '' || visit.day < day);
  return earlier.length === 0 ? {} : fieldsOf(earlier.at(-1).entries, carried).values;
}

const shown = /^(trial|range|passive|pain|painful|grade|score)\.|^(mass|height|lever)$/;

/** showLast writes the values of the last visit beside the fields. */
export function showLast(form, values) {
  for (const field of form.elements) {
    if (!shown.test(field.name)) continue;
    const text = values[field.name] ?? '';
    const note = field.parentElement.querySelector('.last') ?? made(field);
    note.textContent = text === '' ? '' : `(${text})`;
  }
}

function made(field) {
  const note = document.createElement('small');
  note.className = 'last';
  field.after(note);
  return note;
}

/** unlikeLast is a problem for a unit that is not that of the last visit; [] if it is. */
export function unlikeLast(values, last, t) {
  if (!last.unit || last.unit === values.unit) return [];
  const names = Object.fromEntries([...document.getElementById('unit').options].map(({ value, text }) => [value, text]));
  return [{ field: 'unit', severity: 'warning', note: true, text: t('The last visit was measured in {last}. Is {now} right?', { last: names[last.unit] ?? last.unit, now: names[values.unit] }) }];
}
