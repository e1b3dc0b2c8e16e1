// Which field an issue of the service belongs to, and what to say there.

import { trialField } from './bundle.js';
import { movementNames, painContexts, positions, rotations, sides } from './codes.js';
import { measureTitle } from './measures.js';
import { confirmField, wholeVisit } from './statements.js';
import { t } from './words.js';

const place = /Parameters\.parameter\[\d+\]\.resource(?:\.entry\[(\d+)\](?:\.resource)?(?:\.component\[(\d+)\])?[\w.[\]]*)?/;

/** placeIn finds the place that a FHIRPath names; null if it is none of ours. */
function placeIn(path, places) {
  const [, entry, component] = place.exec(path) ?? [];
  const at = places[Number(entry)];
  if (!at) return null;
  if (at.carried) return { carried: at.carried };
  return { field: at.components[component] ?? at.field };
}

// Kinds of issues about a measurement that was used all the same, or that is
// still to come.
const noted = new Set(['single-trial', 'trials-scattered', 'trial-outlier', 'not-comparable', 'not-measured', 'stale', 'unit-alias', 'comparison-affected', 'comparison-side-declined', 'clearance-missing']);

// Doubts that a clinician can settle, in words for the page: about one test, and
// about the whole visit.
const doubts = {
  'trials-disagree': 'The trials cannot all be right, so this test decides nothing. Repeat it, correct it, or confirm it here.',
  'sides-may-be-swapped': 'The two sides look exchanged, so no strength of this visit decides anything. Correct it, or confirm it here.',
  'unit-may-be-wrong': 'The strengths look like those of another unit, so none of this visit decides anything. Correct the unit, or confirm it here.',
};

/**
 * placed turns the issues of an OperationOutcome into problems: each with the
 * field, or the earlier entry, that it is about, or with neither.
 */
export function placed(issues, places) {
  return issues.filter(({ severity }) => severity !== 'information').flatMap(ofEachPlace).map((issue) => {
    const kind = kindOf(issue);
    const note = noted.has(kind);
    const at = placeIn(issue.expression?.[0] ?? '', places) ?? aboutParameter(issue);
    return { ...at, ...settledBy(kind, at.field), kind, severity: issue.severity, note, text: doubtIn(issue, at.field) ?? sentence(issue, note) };
  }).filter(({ kind, field }) => !(kind === 'performer-missing' && field)); // said at the name of the clinician
}

// ofEachPlace takes apart an issue that says the same of several places, with one thing
// to be known of each.
function ofEachPlace(issue) {
  const { expression = [], diagnostics = '' } = issue;
  const known = diagnostics.split('; ');
  if (expression.length < 2 || known.length !== expression.length) return [issue];
  return expression.map((at, i) => ({ ...issue, expression: [at], diagnostics: known[i] }));
}

const kindOf = ({ details }) => details?.coding?.[0]?.code;

// settledBy is where a doubt about a visit in the fields is shown and confirmed.
function settledBy(kind, field) {
  if (!(kind in doubts) || !field) return {};
  if (kind !== 'trials-disagree') return { field: wholeVisit, confirm: wholeVisit };
  return { confirm: confirmField(field) };
}

// doubtIn words a doubt about what is in the fields.
const doubtIn = (issue, field) => field && doubts[kindOf(issue)] && t(doubts[kindOf(issue)]);

// aboutParameter finds the field of a parameter, which the service names.
function aboutParameter(issue) {
  const text = `${issue.expression?.[0] ?? ''} ${issue.details?.text ?? ''}`;
  if (text.includes('involvedSide')) return { field: 'involved' };
  if (text.includes('asOf')) return { field: 'date' };
  return {};
}

// sentence leaves out what is said twice: the kind where the detail begins with
// it, and the name of the test where a note stands beside it.
function sentence({ details, diagnostics = '', code }, note) {
  const [kind, detail] = [details?.coding?.[0]?.display ?? '', details?.text ?? ''];
  const repeats = detail.toLowerCase().startsWith(kind.toLowerCase());
  const said = (repeats ? [detail] : [kind, detail]).filter(Boolean).join(': ') || diagnostics || code;
  const found = note ? withoutNames(diagnostics) : diagnostics;
  return `${said[0].toUpperCase()}${said.slice(1)}${found && found !== said ? ` (${found})` : ''}.`;
}

// withoutNames leaves the numbers of what was found.
const withoutNames = (diagnostics) => diagnostics.split('; ').map((part) => part.split(': ')[1]).filter(Boolean).join('; ');

/** readable replaces the FHIRPaths in a text by the names of the fields. */
export function readable(text, places) {
  return text.replace(new RegExp(place, 'g'), (path) => {
    const at = placeIn(path, places);
    if (at?.field) return fieldName(at.field);
    return t(at?.carried ? 'a measurement of an earlier visit' : 'the worksheet');
  });
}

const plainNames = {
  unit: 'unit',
  patient: 'patient',
  involved: 'involved side',
  date: 'date of the visit',
  mass: 'body mass',
  height: 'body height',
  lever: 'lever arm',
  dominant: 'dominant side',
  'other-affected': 'other shoulder',
  tear: 'size of the tear',
  clearance: 'clearance for resisted work',
  'repair-date': 'date of repair',
  permit: 'load that the surgeon permits',
  examined: 'examination',
  clinician: 'clinician',
  [wholeVisit]: 'strength of this visit',
};

const ofTest = (rotation, position, side) => `${t(rotations[rotation])} ${t(positions[position])}, ${t(sides[side])}`;

/** fieldName is what a person calls a field. */
export function fieldName(field) {
  const [kind, ...parts] = field.split('.');
  switch (kind) {
    case 'trial': {
      const [rotation, position, side, trial] = parts;
      return `${ofTest(rotation, position, side)}${trial ? `, ${t('trial {number}', { number: trial })}` : ''}`;
    }
    case 'confirm':
      if (parts.length > 1) return t('confirmation of {what}', { what: fieldName(['trial', ...parts].join('.')) });
      break;
    case 'range':
      return `${t(`active ${movementNames[parts[0]]}`)}, ${t(sides[parts[1]])}`;
    case 'passive':
      return `${t(`passive ${movementNames[parts[0]]}`)}, ${t(sides[parts[1]])}`;
    case 'grade':
      return t('muscle grade: {what}', { what: ofTest(...parts) });
    case 'limited':
      return t('limited by pain: {what}', { what: ofTest(...parts) });
    case 'painful':
      return `${t('pain during the resisted test')} ${t(positions[parts[0]])}`;
    case 'pain':
      return t(painContexts[parts[0]]);
    case 'steady':
      return `${t('arm held steady')} ${t(positions[parts[0]])}`;
  }
  return plainNames[field] ? t(plainNames[field]) : measureTitle(field) ?? field;
}

/** inputOf is the id of the element to go to for a field. */
export function inputOf(field) {
  const parts = field.split('.');
  if (parts[0] === 'trial' && parts.length === 4) return trialField(parts[1], parts[2], parts[3], 1);
  return field === 'involved' ? 'involved-right' : field;
}
