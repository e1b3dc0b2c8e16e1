// The boxes that confirm doubtful measurements. One is shown only while there is
// a doubt to settle, or while it is ticked.

import { fieldName } from './problems.js';
import { confirmField, wholeVisit } from './statements.js';
import { capital } from './words.js';

// How long to wait, in milliseconds, before a box appears, so that a number that
// is half typed puts none in the way of the next key.
const pause = 800;

let waiting;

/** confirmBox is the box for what a field of strength tells. */
export function confirmBox(strength, side) {
  const label = document.createElement('label');
  label.className = 'check confirm';
  label.hidden = true;
  const box = document.createElement('input');
  const name = confirmField(strength);
  Object.assign(box, { type: 'checkbox', id: name, name, value: 'yes' });
  const text = `${capital(side)} side: checked, the trials were read correctly`;
  box.setAttribute('aria-label', fieldName(name));
  label.append(box, ` ${text}`);
  return label;
}

/** showConfirmations shows the boxes that the problems ask for. */
export function showConfirmations(form, problems) {
  const wanted = new Set(problems.map(({ confirm }) => confirm));
  clearTimeout(waiting);
  for (const box of boxes(form)) if (!isNeeded(box, wanted)) box.closest('.confirm').hidden = true;
  waiting = setTimeout(() => {
    for (const box of boxes(form)) box.closest('.confirm').hidden = !isNeeded(box, wanted);
  }, pause);
}

const isNeeded = (box, wanted) => box.checked || wanted.has(box.name) || box === document.activeElement;

/**
 * withdraw takes back what was confirmed about a field that has changed: the
 * number that is there now is another one.
 */
export function withdraw(form, changed) {
  const kind = changed.split('.')[0];
  if (kind === 'unit') withdrawAll(form);
  if (kind !== 'trial' && kind !== 'involved') return;
  const own = confirmField(changed);
  for (const box of boxes(form)) if (box.name === wholeVisit || box.name === own) box.checked = false;
}

/** withdrawAll takes back all that was confirmed. */
export function withdrawAll(form) {
  for (const box of boxes(form)) box.checked = false;
}

const boxes = (form) => form.querySelectorAll('input[name^="confirm."]');
