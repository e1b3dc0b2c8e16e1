// The fields of the worksheet: the tables of trials, what is typed, and the
// problems that are shown beside a field.

import { strengthField, trialField, trials } from './bundle.js';
import { rotations, sides, testedIn } from './codes.js';
import { confirmBox } from './confirm.js';
import { fieldName } from './problems.js';
import { capital, t } from './words.js';

/** buildTables fills each table of trials with its rows. */
export function buildTables() {
  for (const body of document.querySelectorAll('tbody[data-position]')) {
    const { position, motions } = body.dataset;
    for (const rotation of motions.split(' ').filter((motion) => testedIn[motion].includes(position))) {
      body.append(trialRow(rotation, rotations[rotation], position), slotRow(rotation, position));
    }
  }
}

function trialRow(rotation, name, position) {
  const row = document.createElement('tr');
  const head = document.createElement('th');
  head.scope = 'row';
  head.textContent = capital(name);
  row.append(head);
  for (const side of Object.keys(sides)) {
    for (let trial = 1; trial <= trials; trial++) {
      const cell = document.createElement('td');
      cell.dataset.label = trial === 1 ? t(side) : '';
      cell.append(numberField(trialField(rotation, position, side, trial)));
      row.append(cell);
    }
  }
  return row;
}

function numberField(field) {
  const input = document.createElement('input');
  Object.assign(input, { id: field, name: field, type: 'text', inputMode: 'decimal', autocomplete: 'off', maxLength: 12 });
  input.setAttribute('aria-label', fieldName(field));
  return input;
}

function slotRow(rotation, position) {
  const row = document.createElement('tr');
  row.className = 'slot-row';
  const cell = document.createElement('td');
  cell.colSpan = 1 + trials * Object.keys(sides).length;
  const confirm = Object.keys(sides).map((side) => confirmBox(strengthField(rotation, position, side), side));
  cell.append(slot(`trial.${rotation}.${position}`), ...confirm);
  row.append(cell);
  return row;
}

function slot(name) {
  const list = document.createElement('ul');
  list.className = 'problems';
  list.id = `${name}-problems`;
  return list;
}

/** nameFields names the fields of numbers and choices in the language. */
export function nameFields(form) {
  for (const field of form.querySelectorAll('[name][aria-label]')) {
    if (!field.name.startsWith('support.')) field.setAttribute('aria-label', fieldName(field.name));
  }
  for (const cell of form.querySelectorAll('td[data-label]')) if (cell.dataset.label) cell.dataset.label = t(sideOfCell(cell));
}

const sideOfCell = (cell) => (cell.querySelector('[name]').name.includes('.right') ? 'right' : 'left');

/** read gives what stands in the fields, by name. */
export function read(form) {
  const values = {};
  for (const field of form.elements) {
    if (!field.name) continue;
    values[field.name] ??= '';
    if (field.type === 'checkbox' || field.type === 'radio') {
      if (field.checked) values[field.name] = field.value;
    } else {
      values[field.name] = field.value;
    }
  }
  return values;
}

/** fill puts values into the fields; what is not named stays as it is. */
export function fill(form, values) {
  for (const field of form.elements) {
    if (!(field.name in values)) continue;
    if (field.type === 'checkbox' || field.type === 'radio') field.checked = field.value === values[field.name];
    else field.value = values[field.name];
  }
}

/** slotOf is the list in which the problems of a field are shown. */
function slotOf(field) {
  const parts = field.split('.');
  const ofTest = parts[0] === 'trial' || parts[0] === 'confirm' && parts.length > 2;
  const name = ofTest ? `trial.${parts[1]}.${parts[2]}` : field;
  return document.getElementById(`${name}-problems`);
}

/** showProblems shows each problem that has a field beside it. */
export function showProblems(form, problems) {
  for (const list of form.querySelectorAll('.problems')) list.replaceChildren();
  for (const field of form.querySelectorAll('.apart')) field.classList.remove('apart');
  for (const field of form.querySelectorAll('[aria-invalid], [aria-describedby]')) {
    field.removeAttribute('aria-invalid');
    if (field.getAttribute('aria-describedby')?.includes('-problems')) describe(field, []);
  }
  const notesLast = problems.toSorted((a, b) => Boolean(a.note) - Boolean(b.note));
  for (const problem of notesLast) if (problem.field) showProblem(form, problem);
}

function showProblem(form, { field, kind, text, severity, note }) {
  const list = slotOf(field);
  if (!list) return;
  const item = document.createElement('li');
  item.className = note ? 'note' : 'problem';
  const prefix = field.startsWith('trial.') ? `${fieldName(field).split(', ').slice(1).join(', ')}: ` : '';
  item.textContent = `${t(severity === 'error' ? 'Error' : note ? 'Note' : 'Check')} – ${prefix}${text}`;
  list.append(item);
  if (!note && list.closest('details')) list.closest('details').open = true;
  if (kindsApart.has(kind)) trialApart(form, field)?.classList.add('apart');
  for (const input of inputsOf(form, field)) {
    if (!note && input.type !== 'radio' && input.type !== 'checkbox') input.setAttribute('aria-invalid', 'true');
    describe(input, [list.id]);
  }
}

// kindsApart are the issues about a test of which a trial may stand apart. The service
// decides that; which one it is, is the one furthest from the middle of the others. Of two
// trials neither is picked.
const kindsApart = new Set(['trial-outlier', 'trials-disagree']);

function trialApart(form, field) {
  const test = field.split('.').slice(0, 4).join('.');
  const inputs = trialInputs(form).filter(({ name, value }) => name.startsWith(`${test}.`) && value !== '');
  if (inputs.length < trials) return undefined;
  const numbers = inputs.map(({ value }) => Number(value.replace(',', '.')));
  const distances = numbers.map((number, i) => {
    const middle = numbers.reduce((sum, other, k) => (k === i ? sum : sum + other), 0) / (numbers.length - 1);
    return Math.abs(number - middle) / middle;
  });
  return inputs[distances.indexOf(Math.max(...distances))];
}

// describe ties texts to a field, beside the hint that it may have.
function describe(field, ids) {
  const hint = document.getElementById(`${field.id}-hint`);
  const all = hint ? [...ids, hint.id] : ids;
  if (all.length > 0) field.setAttribute('aria-describedby', all.join(' '));
  else field.removeAttribute('aria-describedby');
}

// inputsOf are the inputs of a field; of a test its first trial.
function inputsOf(form, field) {
  const parts = field.split('.');
  const name = parts[0] === 'trial' && parts.length === 4 ? `${field}.1` : field;
  const found = form.elements.namedItem(name);
  if (!found) return [];
  return found instanceof RadioNodeList ? [...found] : [found];
}

/** labelSides says at the heads of the tables which side is the involved one. */
export function labelSides(involved) {
  for (const head of document.querySelectorAll('[data-side]')) {
    const role = involved === '' ? '' : `, ${t(head.dataset.side === involved ? 'involved' : 'comparison')}`;
    head.textContent = `${capital(t(head.dataset.side))}${role}`;
    head.classList.toggle('involved', head.dataset.side === involved);
  }
}

/**
 * spread puts several pasted numbers into a field and those after it, and
 * reports whether there were several.
 */
export function spread(form, first, text) {
  const numbers = text.trim().split(/[\t\n\r;]+|\s{2,}/).map((number) => number.trim()).filter(Boolean);
  if (numbers.length < 2) return false;
  const fields = trialInputs(form);
  const from = fields.indexOf(first);
  if (from < 0) return false;
  numbers.slice(0, fields.length - from).forEach((number, i) => {
    fields[from + i].value = number;
  });
  return true;
}

/**
 * repeat empties the trial that stands apart, in the test of a field, and goes there. It
 * reports whether the field is of a test with such a trial.
 */
export function repeat(form, field) {
  if (!field.name?.startsWith('trial.')) return false;
  const test = field.name.split('.').slice(0, 3).join('.');
  const apart = trialInputs(form).find((input) => input.name.startsWith(`${test}.`) && input.classList.contains('apart'));
  if (!apart) return false;
  apart.value = '';
  apart.focus();
  return true;
}

/** next goes from a field of a number to the one after it, and reports whether there is one. */
export function next(form, field) {
  const fields = unfolded(form.querySelectorAll('input[inputmode="decimal"]:not(#mass)'));
  const at = fields.indexOf(field);
  if (at < 0 || at + 1 === fields.length) return false;
  fields[at + 1].focus();
  return true;
}

const trialInputs = (form) => unfolded(form.querySelectorAll('input[name^="trial."]'));

const unfolded = (inputs) => [...inputs].filter((input) => !input.closest('details:not([open])'));
