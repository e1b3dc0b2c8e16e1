// The dialog in which a measuring instrument's file is read: which column tells what, and
// what goes where. The device remembers what the columns of a header mean.

import { build, Names, subjectOf } from './bundle.js';
import { positions, rotations } from './codes.js';
import { guess, hasNames, headerAt, needed, roles } from './columns.js';
import { rowsIn } from './delimited.js';
import { recallColumns, rememberColumns } from './device.js';
import { plan, readingsIn, testName } from './readings.js';
import { capital, t } from './words.js';

const at = (id) => document.getElementById(id);

const roleNames = {
  side: 'Side', motion: 'Motion', position: 'Position of the arm', value: 'Value', unit: 'Unit',
  date: 'Day', trial: 'Trial', patient: 'Record number of the patient', order: 'Order of the date',
};

// mostShown bounds the lines of the preview. Ours: nobody reads on.
const mostShown = 200;

/** Importing is a file that is being read, until its values are taken over. */
export class Importing {
  #page;
  #rows = [];
  #top = 0; // the row of the columns' names, if there is one
  #mapping = {};
  #invented = false;
  #plan = { sheets: [], refused: [] };

  /** @param {{sheets: function, shown: function, take: function}} page gives the worksheets of the day, and takes what is planned */
  constructor(page) {
    this.#page = page;
    at('import-names').addEventListener('change', () => this.#readNames(at('import-names').checked));
    at('import-take').addEventListener('click', () => this.#take());
    at('import-cancel').addEventListener('click', () => at('import').close());
  }

  /** open shows what is in a file, which may be invented. It throws an Error with a sentence for the reader. */
  open(bytes, name, invented = false) {
    this.#rows = rowsIn(bytes);
    this.#invented = invented;
    at('import-file').textContent = name;
    at('import').showModal();
    const top = headerAt(this.#rows);
    this.#top = Math.max(top, 0);
    this.#readNames(top >= 0);
    (at('import-columns').querySelector('[aria-invalid]') ?? at('import-take')).focus();
  }

  get #header() {
    return at('import-names').checked ? this.#rows[this.#top].cells : [];
  }

  get #measured() {
    return at('import-names').checked ? this.#rows.slice(this.#top + 1) : this.#rows;
  }

  #readNames(named) {
    at('import-names').checked = named;
    this.#mapping = recallColumns(this.#header, this.#width) ?? guess(this.#header, this.#measured);
    at('import-columns').replaceChildren(...[...roles, 'order'].map((role) => this.#choice(role)));
    this.#preview();
  }

  get #width() {
    return Math.max(...this.#rows.map(({ cells }) => cells.length));
  }

  #choice(role) {
    const field = make('p', { className: 'field' });
    const choice = make('select', { id: `import-${role}` });
    choice.append(...(role === 'order' ? orders() : this.#columns(role)));
    choice.value = String(this.#mapping[role] ?? '');
    choice.addEventListener('change', () => {
      this.#mapping[role] = /^\d+$/.test(choice.value) ? Number(choice.value) : choice.value;
      this.#preview();
    });
    field.append(make('label', { htmlFor: choice.id, textContent: t(roleNames[role]) }), ' ', choice);
    return field;
  }

  // columns are the options of a role: the columns, each with its first value, then what may
  // be the same for all lines.
  #columns(role) {
    const first = this.#measured[0]?.cells ?? [];
    const options = Array.from({ length: this.#width }, (_, i) => {
      const name = this.#header[i] || t('column {number}', { number: i + 1 });
      return new Option(first[i] ? `${name} (${first[i].slice(0, 20)})` : name, i);
    });
    const all = sameForAll[role]?.() ?? [];
    const group = make('optgroup', { label: t('the same for all lines') });
    group.append(...all.map(([code, text]) => new Option(text, `=${code}`)));
    return [new Option(needed.includes(role) ? t('choose…') : t('none'), ''), ...options, ...(all.length > 0 ? [group] : [])];
  }

  #preview() {
    const lacking = needed.filter((role) => this.#mapping[role] === '' || this.#mapping[role] === undefined);
    for (const role of roles) mark(at(`import-${role}`), lacking.includes(role));
    at('import-order').parentElement.hidden = this.#mapping.date === '';
    this.#plan = lacking.length > 0 ? { sheets: [], refused: [] } : this.#planned();
    const { sheets, refused } = this.#plan;
    const taken = sheets.reduce((sum, { lines }) => sum + lines.length, 0);
    at('import-take').disabled = taken === 0;
    at('import-said').textContent = lacking.length > 0
      ? t('Choose the columns of: {roles}.', { roles: lacking.map((role) => t(roleNames[role])).join(', ') })
      : t('{taken} of {all} lines are taken over, {refused} refused.', { taken, all: this.#measured.length, refused: refused.length });
    at('import-preview').replaceChildren(...refusedPart(refused), ...sheets.map((sheet) => this.#sheetPart(sheet)));
  }

  #planned() {
    const { readings, refused } = readingsIn(this.#measured, this.#header, this.#mapping);
    const above = at('import-names').checked ? this.#rows.slice(0, this.#top).map((row) => ({ ...row, reason: t('above the table') })) : [];
    const made = plan(readings, this.#page.sheets(), this.#page.shown());
    return { sheets: made.sheets, refused: [...above, ...refused, ...made.refused].toSorted((a, b) => a.line - b.line) };
  }

  #sheetPart({ patient, at: place, day, lines }) {
    const where = place === undefined ? t('a new worksheet') : place === this.#page.shown() ? t('the worksheet that is shown') : t('the worksheet of this patient');
    const name = patient || this.#page.sheets()[place]?.values.patient.trim() || '';
    const title = `${name === '' ? '' : `${name}: `}${where}${day === '' ? '' : `, ${day}`}`;
    const rows = lines.toSorted((a, b) => a.line - b.line).map((reading) => [
      reading.line, reading.now ? reading.at : t('{day}, an earlier visit', { day: reading.at }), capital(testName(reading)),
      reading.field.split('.').at(-1), `${reading.value} ${unitName(reading.unit)}`]);
    return table(title, [t('Line'), t('Day'), t('Test'), t('Trial'), t('Value')], rows);
  }

  #take() {
    const { sheets, refused } = this.#plan;
    if (this.#header.length === 0 || hasNames({ cells: this.#header })) rememberColumns(this.#header, this.#width, this.#mapping);
    at('import').close();
    const taken = sheets.reduce((sum, { lines }) => sum + lines.length, 0);
    this.#page.take(sheets, takenText(taken, refused), this.#invented);
    this.#rows = [];
    at('import-preview').replaceChildren();
    at('import-columns').replaceChildren();
  }
}

const takenText = (taken, refused) => {
  const said = t('{taken} values are taken over.', { taken });
  if (refused.length === 0) return said;
  const lines = refused.slice(0, 20).map(({ line, reason }) => `${line} (${reason})`).join('; ');
  return `${said} ${t('Refused lines: {lines}', { lines })}${refused.length > 20 ? ' …' : ''}.`;
};

const unitOptions = () => [...at('unit').options].map(({ value, text }) => [value, text]);

const unitName = (code) => unitOptions().find(([value]) => value === code)?.[1] ?? code;

const sameForAll = {
  unit: unitOptions,
  motion: () => Object.entries(rotations).map(([code, name]) => [code, t(name)]),
  position: () => Object.entries(positions).map(([code, name]) => [code, t(name)]),
};

const orders = () => [new Option(t('as the dates tell'), ''), new Option(t('the day first'), 'day'), new Option(t('the month first'), 'month')];

function mark(field, invalid) {
  if (invalid) field.setAttribute('aria-invalid', 'true');
  else field.removeAttribute('aria-invalid');
}

function refusedPart(refused) {
  if (refused.length === 0) return [];
  const rows = refused.map(({ line, last, cells, reason }) => [last > line ? `${line}–${last}` : line, cells.join(' | ').slice(0, 80), reason]);
  return [table(t('Refused lines'), [t('Line'), t('What stands there'), t('Why')], rows, 'refused')];
}

function table(title, head, rows, className = '') {
  const made = make('table', { className });
  const line = (cells, name) => {
    const row = make('tr');
    row.append(...cells.map((text) => make(name, { textContent: text })));
    return row;
  };
  const top = line(head, 'th');
  for (const cell of top.cells) cell.scope = 'col';
  const body = make('tbody');
  body.append(...rows.slice(0, mostShown).map((cells) => line(cells, 'td')));
  const part = make('thead');
  part.append(top);
  const more = rows.length > mostShown ? ` ${t('(the first {count})', { count: mostShown })}` : '';
  made.append(make('caption', { textContent: `${title}${more}` }), part, body);
  return made;
}

const make = (name, properties = {}) => Object.assign(document.createElement(name), properties);

/**
 * filled is a worksheet with what is planned for it.
 * @param {Object} planned a sheet of the plan
 * @param {?Object} sheet as it is, undefined for a new one
 * @param {Object} how values of the fields that say how strength is measured
 * @param {boolean} isInvented marks the data as test data
 */
export function filled(planned, sheet, how, isInvented) {
  const { carried, names, values, ...is } = sheet ?? { carried: [], names: new Names(), invented: false, values: howMeasured(how) };
  const invented = is.invented || isInvented;
  const unconfirmed = Object.fromEntries(Object.keys(values).filter((field) => field.startsWith('confirm.')).map((field) => [field, '']));
  const earlier = [...planned.earlier.values()].flatMap((visit) => measurements({ ...howMeasured(values), ...visit }, carried, names, invented));
  return { carried: [...carried, ...earlier], names, invented, unsaved: true, values: { ...values, ...unconfirmed, ...planned.values } };
}

const howMeasured = (values) => ({
  patient: '',
  ...Object.fromEntries(Object.entries(values).filter(([field]) => /^(support\.|contraction$|instrument$)/.test(field))),
});

// measurements are the Observations of an earlier visit, of the patient of the worksheet.
function measurements(values, carried, names, invented) {
  const own = new Names();
  if (names.has('patient') || !subjectOf(carried)) own.keep('patient', names.of('patient'));
  return build(values, carried, own, invented).bundle.entry.slice(carried.length).filter(({ resource }) => resource.resourceType === 'Observation');
}
