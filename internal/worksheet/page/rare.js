// The fields that are rarely used, folded away below the others.

import { limitedField } from './bundle.js';
import { movementNames, movements, positions, rotations, sides, testedIn } from './codes.js';
import { measures, measureTitle } from './measures.js';
import { fieldName } from './problems.js';
import { capital, t } from './words.js';

// The grades of a manual muscle test, from the best.
//
// Source: the scale of the Medical Research Council with plus and minus, common practice;
// a test holds them against those that the service reads.
const muscleGrades = ['5', '5-', '4+', '4', '4-', '3+', '3', '3-', '2+', '2', '2-', '1', '0'];

/** buildRare fills the part that is folded away. The trials of abduction come by buildTables. */
export function buildRare() {
  const into = document.getElementById('more');
  into.append(...testedIn.abduction.map(abductionTest), rangeTable(), rotationPosition(), gradeTable(), limitedTable(), painByPosition(), ofPerson());
}

/** buildMeasures adds the fields of the outcome measures, before what is rarer. */
export function buildMeasures() {
  const made = group('Outcome measures');
  made.id = 'scores';
  made.append(...[...measures.keys()].map((field) => labelled(field, '', '')));
  document.querySelector('#more > summary').after(made);
}

/** nameMeasures says the title, the range and the direction of each measure in the language. */
export function nameMeasures() {
  for (const [field, { minimum, maximum, better, unit }] of measures) {
    const [label, range] = ['label', '.unit'].map((part) => document.getElementById(field).parentElement.querySelector(part));
    label.textContent = capital(measureTitle(field));
    range.textContent = `${t('{minimum} to {maximum}', { minimum, maximum })} ${plainUnit(unit)}, ${t(better === 'higher' ? 'higher is better' : 'lower is better')}`;
  }
}

// plainUnit is a unit of UCUM without the braces of an annotation.
const plainUnit = (unit) => (unit === '1' ? '' : unit.replace(/[{}]/g, ''));

function abductionTest(position) {
  const test = group(`Abduction strength ${positions[position]}`, 'test');
  if (position === 'scaption-90') test.append(choice(`support.${position}`, 'Arm', [['', 'not stated'], ['supported', 'supported'], ['unsupported', 'held free']]));
  const table = make('table', { className: 'trials' });
  const body = make('tbody');
  Object.assign(body.dataset, { position, motions: 'abduction' });
  table.append(sidesHead(3), body);
  test.append(table);
  return test;
}

function rangeTable() {
  const rows = Object.keys(movements).flatMap((movement) => ['range', 'passive']
    .filter((way) => way === 'passive' || movement.endsWith('rotation')) // the others stand above
    .map((way) => row(`${way === 'range' ? 'Active' : 'Passive'} ${movementNames[movement]}`, (side) => number(`${way}.${movement}.${side}`, '°'))));
  return table('Rotation and passive range', rows);
}

const rotationPosition = () => choice('rotation-position', 'Rotation range measured',
  [['', 'not stated'], ['arm-at-side', positions['arm-at-side']], ['abduction-90', positions['abduction-90']]]);

const tests = Object.keys(rotations).flatMap((rotation) => testedIn[rotation].map((position) => ({ rotation, position })));

const testName = ({ rotation, position }) => capital(`${rotations[rotation]} ${positions[position]}`);

const gradeTable = () => table('Manual muscle test, grade', tests.map((test) => row(testName(test), (side) =>
  select(`grade.${test.rotation}.${test.position}.${side}`, [['', '–'], ...muscleGrades.map((grade) => [grade, grade])]))));

const limitedTable = () => table('Strength test limited by pain', tests.map((test) => row(testName(test), (side) => [
  named(make('input', { type: 'checkbox', value: 'yes' }), limitedField(test.rotation, test.position, side))])));

function painByPosition() {
  const made = group('Pain during the resisted test, by position, involved side');
  made.append(...Object.keys(positions).map((position) => labelled(`painful.${position}`, capital(positions[position]), '/ 10')));
  return made;
}

function ofPerson() {
  const made = group('Person and test');
  made.append(
    choice('dominant', 'Dominant side', [['', 'not recorded'], ['right', 'right'], ['left', 'left'], ['both', 'both']]),
    labelled('height', 'Body height', 'cm'),
    labelled('lever', 'Lever arm: from the elbow to the pad', 'cm'));
  const label = make('label', { className: 'check' });
  label.append(Object.assign(make('input', { type: 'checkbox', value: 'yes' }), { id: 'other-affected', name: 'other-affected' }), ' The other shoulder is affected too');
  made.append(label);
  return made;
}

function table(caption, rows) {
  const made = make('table', { className: 'range' });
  const body = make('tbody');
  body.append(...rows);
  made.append(make('caption', { textContent: caption }), sidesHead(1), body);
  return made;
}

function sidesHead(columns) {
  const head = make('thead');
  const line = make('tr');
  line.append(make('td'), ...Object.keys(sides).map((side) => {
    const cell = make('th', { scope: columns > 1 ? 'colgroup' : 'col', colSpan: columns });
    cell.dataset.side = side;
    return cell;
  }));
  head.append(line);
  return head;
}

function row(name, controls) {
  const made = make('tr');
  made.append(make('th', { scope: 'row', textContent: name }), ...Object.keys(sides).map((side) => {
    const cell = make('td');
    cell.dataset.label = side;
    cell.append(...controls(side));
    return cell;
  }));
  return made;
}

function labelled(field, text, unit) {
  const made = make('div');
  const line = make('p', { className: 'field' });
  line.append(make('label', { htmlFor: field, textContent: text }), ' ', Object.assign(decimal(), { id: field, name: field }), ' ', make('span', { className: 'unit', textContent: unit }));
  made.append(line, problems(field));
  return made;
}

function choice(field, text, options) {
  const line = make('p', { className: 'field' });
  const [made] = select(field, options);
  made.removeAttribute('aria-label');
  line.append(make('label', { htmlFor: field, textContent: text }), ' ', made);
  return line;
}

const number = (field, unit) => [named(decimal(), field), ' ', make('span', { className: 'unit', textContent: unit }), problems(field)];

function select(field, options) {
  const made = named(make('select'), field);
  made.append(...options.map(([value, text]) => make('option', { value, textContent: text })));
  return [made, problems(field)];
}

const decimal = () => make('input', { type: 'text', inputMode: 'decimal', autocomplete: 'off', maxLength: 12 });

const problems = (field) => make('ul', { className: 'problems', id: `${field}-problems` });

function named(control, field) {
  Object.assign(control, { id: field, name: field });
  control.setAttribute('aria-label', fieldName(field));
  return control;
}

function group(name, className = '') {
  const made = make('fieldset', { className });
  made.append(make('legend', { textContent: name }));
  return made;
}

const make = (name, properties = {}) => Object.assign(document.createElement(name), properties);
