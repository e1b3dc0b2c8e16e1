// What the columns of a measuring instrument's file mean: which column tells what, and how
// the words and numbers in it are read. Nothing here is about one instrument: the words are
// those of the trade in the languages of the page.

/** What a column can tell. The unit, the motion and the position may also be the same for all lines. */
export const roles = ['side', 'motion', 'position', 'value', 'unit', 'date', 'trial', 'patient'];

/** needed are the roles without which no line can be read. */
export const needed = ['side', 'motion', 'position', 'value', 'unit'];

/** plain is a text in small letters without accents, marks and doubled spaces. */
const plain = (text) => text.replaceAll('°', ' deg ').normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().replace(/ß/g, 'ss').replace(/[^\p{L}\p{N}]+/gu, ' ').trim();

// named makes a reader of words: the first pattern that fits tells what is meant.
const named = (patterns) => (text) => {
  const found = plain(text);
  return Object.keys(patterns).find((name) => patterns[name].test(found)) ?? '';
};

/** sideIn reads a side. */
export const sideIn = named({
  right: /^((cote|bras|epaule) )?(r|re|right|rechts?|rechte|d|dr|droite?|dext(er|ra))( (side|arm|shoulder|seite|schulter))?$/,
  left: /^((cote|bras|epaule) )?(l|li|left|links?|linke|g|gauche|sin(ister|istra))( (side|arm|shoulder|seite|schulter))?$/,
});

/** motionIn reads the motion of a test. "ir" is internal rotation in English and German alike. */
export const motionIn = named({
  external: /(^| )(external|lateral|aussenrotation|aussen|externe|laterale|exorotation|er|ar|re)( |$)|^ext( |$)/,
  internal: /(^| )(internal|medial|innenrotation|innen|interne|mediale|endorotation|ir|ri)( |$)|^int( |$)/,
  abduction: /^(abduction|abduktion|abd)( |$)/,
});

/** positionIn reads the position of the arm. */
export const positionIn = named({
  'scaption-90': /(^| )(scaption|skaption|scapular?|skapula\w*|scapulaire)( |$)/,
  'flexion-90': /(^| )(90 ?(deg|grad|degres)? (of |de |d )?(flexion|flex)|(flexion|flex) (at |of |a |bei )?90)( |$)/,
  'abduction-90': /(^| )(90 ?(deg|grad|degres)? (of |de |d )?(abduction|abduktion|abd)|(abduction|abduktion|abd) (at |of |a |bei )?90)( |$)/,
  'arm-at-side': /(^| )((arm )?(at|by) (the )?side|neutral|korper|anliegend\w*|angelegt\w*|corps|neutre)( |$)|^(side|0 (deg|grad|degres)( of)?( abduction| abd| flexion)?)$/,
});

const units = {
  N: /^(n|newtons?)$/, kgf: /^(kg|kgf|kp|kilogramm? force|kilogram force)$/, '[lbf_av]': /^(lb|lbs|lbf|pounds?|pound force)$/,
  'N.m': /^(n ?m|newton ?met(er|re)s?)$/, 'kgf.m': /^(kgf?|kp) ?m$/, 'kgf.cm': /^(kgf?|kp) ?cm$/,
  '[lbf_av].[in_i]': /^((lbf?|lbs) in|in (lbf?|lbs))$/, '[lbf_av].[ft_i]': /^((lbf?|lbs) ft|ft (lbf?|lbs))$/,
};

/** unitIn reads a unit of force or torque; a kilogram is one of force here. */
export function unitIn(text) {
  const known = Object.keys(units).find((code) => code === text.trim());
  return known ?? named(units)(text);
}

/** unitOfHeader is the unit that a column's name has in brackets or after a stroke. */
export const unitOfHeader = (name) => unitIn(/[([/]\s*([^)\]]+)[)\]]?\s*$/.exec(name)?.[1] ?? '');

/** trialIn reads the number of a trial, undefined for none. */
export function trialIn(text) {
  const [, number] = /^(?:[\p{L}#.]+\s*)?(\d{1,3})$/u.exec(text.trim()) ?? [];
  return number && Number(number);
}

// amount is a number and what stands behind it; the spaces are those that group thousands.
const amount = /^([+-]?[\d.,'’\u00a0\u2009\u202f ]*\d)\s*(\D*)$/u;

/**
 * numberIn reads a number with a decimal point or comma, groups of thousands, and a unit
 * behind it.
 * @param {string} mark the decimal mark of the column, '' if it is not known
 * @returns {?{value: string, unit: string}} the value with a decimal point; null for no number
 */
export function numberIn(text, mark = '') {
  const [digits, unit] = apart(text);
  const value = decimal(digits, mark);
  return value === '' ? null : { value, unit };
}

function apart(text) {
  const [, digits = '', unit = ''] = amount.exec(text.trim()) ?? [];
  return [digits.replace(/[ '’\u00a0\u2009\u202f](?=\d{3}(\D|$))/g, ''), unit.trim()];
}

// decimal writes digits with a decimal point; '' for no number. What stands twice, before
// another mark, or is not the column's mark, separates thousands.
function decimal(digits, mark) {
  const sign = digits.startsWith('-') ? '-' : '';
  const plainDigits = digits.replace(/^[+-]/, '');
  const found = markIn(plainDigits) || (mark && /^\d{1,3}([.,]\d{3})+$/.test(plainDigits) ? mark : plainDigits.match(/[.,]/)?.[0] ?? '');
  const [whole, places, more] = found ? plainDigits.split(found) : [plainDigits];
  const thousands = /^\d+$|^\d{1,3}([.,]\d{3})+$/;
  if (more !== undefined || !thousands.test(whole) || (places !== undefined && !/^\d+$/.test(places))) return '';
  return sign + whole.replace(/[.,]/g, '').replace(/^0+(?=\d)/, '') + (places === undefined ? '' : `.${places}`);
}

// markIn is the decimal mark that one number tells for certain: the last of two kinds, or
// one that no group of three digits follows; of a mark that stands twice, the other.
function markIn(digits) {
  const marks = digits.match(/[.,]/g) ?? [];
  if (new Set(marks).size === 2) return marks.at(-1);
  if (marks.length > 1) return marks[0] === '.' ? ',' : '.';
  if (marks.length === 1 && !/^\d{1,3}[.,]\d{3}$/.test(digits)) return marks[0];
  return '';
}

/** markOf is the decimal mark of a column, '' if its numbers do not tell it, or not all the same. */
export function markOf(cells) {
  const marks = new Set(cells.map((cell) => markIn(apart(cell)[0])).filter(Boolean));
  return marks.size === 1 ? [...marks][0] : '';
}

const date = /^(\d{1,4})([-./])(\d{1,2})\2(\d{1,4})(?:[T ,].*)?$/;

/**
 * dayIn reads a day, with or without a time after it.
 * @param {string} order 'day' or 'month', whichever comes first where strokes separate them
 * @returns {string} as 2026-03-09; '?' if the order is not known; '' for no day
 */
export function dayIn(text, order = '') {
  const [, a, mark, b, c] = date.exec(text.trim()) ?? [];
  if (!a) return '';
  if (a.length === 4) return written(a, b, c);
  if (c.length !== 4) return '';
  if (mark === '.' || a === b) return written(c, b, a);
  if (Number(a) > 12 || order === 'day') return written(c, b, a);
  if (Number(b) > 12 || order === 'month') return written(c, a, b);
  return '?';
}

function written(year, month, day) {
  const made = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  const text = `${year}-${month.padStart(2, '0')}-${day.padStart(2, '0')}`;
  return !Number.isNaN(made.getTime()) && made.toISOString().startsWith(text) ? text : '';
}

/** orderOf is what the dates of a column tell of their order, '' if they do not, or contradict each other. */
export function orderOf(cells) {
  const orders = new Set(cells.map((cell) => {
    const [, a, mark, b] = date.exec(cell.trim()) ?? [];
    if (!a || a.length === 4 || mark === '.') return '';
    return Number(a) > 12 ? 'day' : Number(b) > 12 ? 'month' : '';
  }).filter(Boolean));
  return orders.size === 1 ? [...orders][0] : '';
}

/** hasNames reports whether a row names columns, rather than being a measurement or a line above the table. */
export function hasNames({ cells }) {
  const said = cells.filter(Boolean);
  return said.length >= 3 && new Set(said).size === said.length && !said.some((cell) => numberIn(cell) || dayIn(cell) || sideIn(cell));
}

/** headerAt is the place of the row that names the columns, -1 for none. */
export function headerAt(rows) {
  const first = rows.findIndex(({ cells }) => cells.some((cell) => numberIn(cell)) && cells.some((cell) => sideIn(cell)));
  return rows.slice(0, first < 0 ? 1 : first).findLastIndex(hasNames);
}

// names are the words by which the columns are guessed.
const names = {
  side: /(^| )(side|limb|seite|cote)( |$)/,
  motion: /(^| )(motion|movement|rotation|test|bewegung|mouvement)( |$)/,
  position: /(^| )(position|armposition|stellung)( |$)/,
  value: /(^| )(value|force|strength|peak|max|maximum|torque|wert|messwert|kraft|drehmoment|valeur|couple)( |$)/,
  unit: /(^| )(unit|units|einheit|unite)( |$)/,
  date: /(^| )(date|day|datum|tag|jour|time|zeitpunkt)( |$)/,
  trial: /(^| )(trial|repetition|rep|attempt|versuch|wiederholung|essai)( |$)/,
  patient: /(^| )(patient|patientin|record|subject|client|id|number|nummer|akte|aktennummer|dossier|mrn)( |$)/,
};

// told says of a cell whether it tells something, for the columns whose name says nothing.
const told = { side: sideIn, motion: motionIn, position: positionIn, unit: unitIn, date: dayIn };

/**
 * guess proposes a mapping: for each role a column's index, or "=code" for all lines, or ''.
 * @param {string[]} header the columns' names; [] if the file has none
 * @param {Array} rows the measurements
 */
export function guess(header, rows) {
  const mapping = Object.fromEntries(roles.map((role) => [role, '']));
  const width = Math.max(0, ...rows.map(({ cells }) => cells.length));
  const taken = new Set();
  const take = (role, column) => { if (column >= 0 && mapping[role] === '') { mapping[role] = column; taken.add(column); } };
  for (const role of roles) take(role, header.findIndex((name, i) => !taken.has(i) && names[role].test(plain(name))));
  for (const [role, tells] of Object.entries(told)) take(role, columns(width).find((i) => !taken.has(i) && mostly(rows, i, tells)) ?? -1);
  take('value', columns(width).find((i) => !taken.has(i) && mostly(rows, i, (cell) => numberIn(cell) && !/^\d$/.test(cell))) ?? -1);
  // One column may name motion and position together.
  if (mapping.position === '' && mapping.motion !== '' && mostly(rows, mapping.motion, positionIn)) mapping.position = mapping.motion;
  if (mapping.unit === '' && (unitOfHeader(header[mapping.value] ?? '') || mostly(rows, mapping.value, (cell) => unitIn(numberIn(cell)?.unit ?? '')))) mapping.unit = mapping.value;
  return mapping;
}

const columns = (width) => Array.from({ length: width }, (_, i) => i);

const mostly = (rows, column, tells) => column !== '' && rows.filter(({ cells }) => tells(cells[column] ?? '')).length * 2 > rows.length;
