// What the clinician of the visit states: that resisted work is cleared, how much
// load the surgeon permits, that the shoulder was examined, and that doubtful
// measurements are right. Such a statement counts only with the clinician who makes it.

import { codes, ours } from './codes.js';
import { t } from './words.js';

/** wholeVisit is the field that confirms all strength of the visit. */
export const wholeVisit = 'confirm.visit';

/** confirmField names the field that confirms a test, told by its field or that of a trial. */
export const confirmField = (field) => field.split('.').slice(0, 4).join('.').replace('trial.', 'confirm.');

/** addStatements adds to a visit what its clinician states. */
export function addStatements(visit) {
  const { values } = visit;
  const { involved } = values;
  if (values.clearance) {
    state(visit, 'clearance', codes.clearance, involved, { valueBoolean: values.clearance === 'yes' });
  }
  if (values.permit) {
    state(visit, 'permit', codes.permittedLoad, involved, { valueCodeableConcept: ours(values.permit), ...on(values['permit-date']) });
  }
  if (values.examined) {
    state(visit, 'examined', codes.examined, involved, { valueBoolean: values.examined === 'yes', ...on(values['examined-date']) });
  }
  for (const { field, focus } of confirmations(visit)) {
    state(visit, field, codes.confirmed, '', { focus, valueBoolean: true });
  }
}

// on is another day than that of the visit, if one is told.
const on = (day) => (day ? { effectiveDateTime: day } : {});

// confirmations are the fields that confirm something, with what they confirm.
function confirmations({ values, places, entries }) {
  const strengths = places
    .map(({ field }, i) => ({ field, reference: entries[i].fullUrl }))
    .filter(({ field }) => field?.startsWith('trial.'));
  const told = (field, about) => ({ field, focus: values[field] ? about.map(({ reference }) => ({ reference })) : [] });
  return [told(wholeVisit, strengths), ...strengths.map((one) => told(confirmField(one.field), [one]))]
    .filter(({ focus }) => focus.length > 0);
}

function state(visit, field, code, side, told) {
  visit.observe(field, ours(code), side, { ...told, performer: performers(visit) });
}

// performers refers to the clinician who is named; undefined for none.
function performers(visit) {
  const name = visit.values.clinician.trim();
  if (name) return [clinicianOf(visit, name)];
  const field = 'clinician';
  if (!visit.problems.some((problem) => problem.field === field)) {
    visit.problems.push({
      field, severity: 'error',
      text: t('Enter the clinician who states this. Without the name no clearance, permitted load, cleared examination or confirmation counts.'),
    });
  }
  return undefined;
}

// clinicianOf finds the clinician of that name in the file, or makes one. A name
// that is changed makes another: what was stated before stays with who stated it.
function clinicianOf(visit, name) {
  const known = visit.entries.find(({ resource }) => nameOf(resource) === name);
  if (known) return { reference: referenceTo(known) };
  visit.names.keep('clinician', visit.names.of(`clinician ${name}`));
  visit.add('clinician', { resourceType: 'Practitioner', name: [{ text: name }] });
  return { reference: visit.entries.at(-1).fullUrl };
}

/** referenceTo refers to a clinician of the file. */
export const referenceTo = ({ fullUrl, resource }) => fullUrl ?? `Practitioner/${resource.id}`;

/** nameOf is the name of a clinician as it was entered, "" for other resources. */
export const nameOf = (resource) => (resource.resourceType === 'Practitioner' ? resource.name?.[0]?.text ?? '' : '');
