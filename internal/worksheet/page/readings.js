// The lines of a measuring instrument's file as readings of strength, and the worksheets
// that they go to. A line that cannot be read, or has no room, is refused with its reason;
// nothing that stands on a worksheet is overwritten.

import { trialField, trials } from './bundle.js';
import { positions, rotations, sides, testedIn } from './codes.js';
import { dayIn, markOf, motionIn, numberIn, orderOf, positionIn, sideIn, trialIn, unitIn, unitOfHeader } from './columns.js';
import { visitsIn } from './history.js';
import { t } from './words.js';

/**
 * readingsIn reads the rows by a mapping of their columns.
 * @param {Array} rows with their cells and line numbers
 * @param {string[]} header the columns' names, [] without any
 * @param {Object<string, number|string>} mapping a column, "=code" for all lines, or ''; by role
 * @returns {{readings: Array, refused: Array<{line: number, cells: string[], reason: string}>}}
 */
export function readingsIn(rows, header, mapping) {
  const cellsOf = (role) => rows.map(({ cells }) => cells[mapping[role]] ?? '');
  const how = { header, mapping, mark: markOf(cellsOf('value')), order: mapping.order || orderOf(cellsOf('date')) };
  const readings = [];
  const refused = [];
  for (const row of rows) {
    const { reason, ...reading } = readingIn(row, how);
    if (reason) refused.push({ ...row, reason });
    else readings.push({ ...row, ...reading });
  }
  return { readings, refused };
}

// readingIn reads one row; it gives a reason if it cannot.
function readingIn({ cells, problem }, { header, mapping, mark, order }) {
  if (problem) return { reason: problem };
  const cell = (role) => String(mapping[role]).startsWith('=') ? mapping[role].slice(1) : cells[mapping[role]] ?? '';
  const found = (role) => ({ found: shortly(cell(role)) });
  const [side, motion, position] = [sideIn(cell('side')), motionIn(cell('motion')), positionIn(cell('position'))];
  const value = numberIn(cell('value'), mark);
  const unit = unitIn(mapping.unit === mapping.value ? value?.unit ?? '' : cell('unit')) || (mapping.unit === '' ? '' : unitOfHeader(header[mapping.value] ?? ''));
  const day = cell('date') === '' ? '' : dayIn(cell('date'), order);
  const trial = cell('trial') === '' ? 0 : trialIn(cell('trial'));
  const reasons = [
    [!side, 'unknown side: found “{found}”, expected right or left', 'side'],
    [!motion, 'unknown motion: found “{found}”, expected external rotation, internal rotation or abduction', 'motion'],
    [!position, 'unknown position: found “{found}”, expected arm at the side, 90° of flexion, 90° of abduction or 90° in the plane of the scapula', 'position'],
    [motion && position && !testedIn[motion].includes(position), 'this motion is not tested in this position: “{found}”', 'position'],
    [mapping.patient !== '' && cell('patient').trim() === '', 'no record number', 'patient'],
    [cell('value') === '', 'no value', 'value'],
    [!value, 'not a number: “{found}”', 'value'],
    [!unit, 'unknown unit: found “{found}”, expected one such as N, kgf, lbf or N·m', 'unit'],
    [cell('date') !== '' && day === '', 'not a day: found “{found}”, expected one such as 2026-03-09', 'date'],
    [day === '?', 'day and month cannot be told apart: “{found}”; choose their order', 'date'],
    [trial === undefined || trial > trials, 'found trial “{found}”, expected 1 to 3', 'trial'],
  ];
  const [, text, role] = reasons.find(([wrong]) => wrong) ?? [];
  if (text) return { reason: t(text, found(role)) };
  return { side, motion, position, value: value.value, unit, day, trial, patient: cell('patient').trim() };
}

const shortly = (text) => text.trim().slice(0, 40);

/**
 * plan says which worksheet each reading goes to.
 * @param {Array} readings of readingsIn
 * @param {Array<{values: Object, carried: Array}>} sheets of the day, as they are now
 * @param {number} shown which of them is on the page
 * @returns {{sheets: Array, refused: Array}} a sheet of the plan has "at", its place among those of the
 *   day or undefined for a new one, the values to put into its fields, and earlier visits by day
 */
export function plan(readings, sheets, shown) {
  const planned = [];
  const refused = [];
  for (const [patient, own] of byPatient(readings)) {
    const at = placeOf(patient, sheets, shown, planned.some((other) => other.at === shown));
    const sheet = new Planned(own[0].patient, at, sheets[at]);
    sheet.takeAll(own, refused);
    if (sheet.lines.length > 0) planned.push(sheet);
  }
  return { sheets: planned, refused: refused.toSorted((a, b) => a.line - b.line) };
}

function byPatient(readings) {
  const groups = new Map();
  for (const reading of readings) {
    const patient = reading.patient.toLowerCase();
    groups.set(patient, (groups.get(patient) ?? []).concat(reading));
  }
  return groups;
}

// placeOf is the worksheet of a patient: that with the same record number, else the one that
// is shown if nothing is on it and no other patient takes it. Without a record number it is the one that is shown.
function placeOf(patient, sheets, shown, isTaken) {
  if (patient === '') return shown;
  const same = sheets.findIndex(({ values }) => values.patient.trim().toLowerCase() === patient);
  if (same >= 0) return same;
  const { values, carried } = sheets[shown];
  return !isTaken && values.patient.trim() === '' && carried.length === 0 && !isMeasured(values) ? shown : undefined;
}

const isMeasured = (values) => Object.keys(values).some((field) => field.startsWith('trial.') && values[field].trim() !== '');

// Planned is what one worksheet is to take.
class Planned {
  constructor(patient, at, sheet) {
    this.patient = patient;
    this.at = at;
    this.lines = [];
    this.values = {};
    this.earlier = new Map(); // fields by day
    this.known = sheet?.values ?? {};
    this.days = new Set(sheet ? visitsIn(sheet.carried).map(({ day }) => day) : []);
    this.isMeasured = isMeasured(this.known);
  }

  takeAll(readings, refused) {
    const days = readings.map(({ day }) => day).filter(Boolean).toSorted();
    this.day = this.isMeasured ? this.known.date : days.at(-1) ?? this.known.date ?? '';
    if (!this.isMeasured && days.length > 0) this.values.date = this.day;
    if (this.patient !== '') this.values.patient = this.patient;
    for (const reading of numbered(readings)) {
      const reason = this.take(reading);
      if (reason) refused.push({ ...reading, reason });
      else this.lines.push(reading);
    }
  }

  // take puts a reading into its field; it gives a reason if there is no room.
  take(reading) {
    const day = reading.day || this.day;
    if (day > this.day) return t('later than the visit on the worksheet, {day}', { day: this.day });
    if (this.days.has(day)) return t('the visit of {day} is on the worksheet already', { day });
    const now = day === this.day;
    const into = now ? this.values : this.earlierOf(day);
    const known = now ? this.known : {};
    const unit = into.unit ?? (now && this.isMeasured ? known.unit : reading.unit);
    if (unit !== reading.unit) return t('another unit than the other values of this visit');
    const field = free(reading, (name) => into[name] ?? known[name] ?? '');
    if (!field) return reading.trial ? t('this trial has a value already') : t('there is room for three trials of a test');
    into.unit = unit;
    into[field] = reading.value;
    Object.assign(reading, { field, now, at: day });
    return '';
  }

  earlierOf(day) {
    if (!this.earlier.has(day)) this.earlier.set(day, { date: day });
    return this.earlier.get(day);
  }
}

// numbered puts the readings that tell their trial first, so that the others take what is left.
const numbered = (readings) => readings.toSorted((a, b) => Number(b.trial > 0) - Number(a.trial > 0) || a.line - b.line);

// free is the field of a reading, '' if it has none: its trial's, or the first that is empty.
function free({ motion, position, side, trial }, valueOf) {
  const wanted = trial ? [trial] : Array.from({ length: trials }, (_, i) => i + 1);
  return wanted.map((number) => trialField(motion, position, side, number)).find((field) => valueOf(field).trim() === '') ?? '';
}

/** testName names the test of a reading. */
export const testName = ({ motion, position, side }) => `${t(rotations[motion])} ${t(positions[position])}, ${t(sides[side])}`;
