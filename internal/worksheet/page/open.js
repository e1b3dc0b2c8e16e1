// Opening what was downloaded or exported before: measurements are kept as
// history, results are left out because they are computed anew, and what the
// worksheet itself wrote about the patient goes back into its fields.

import { otherShoulder, sideOf } from './bundle.js';
import { codes, repairs, strengths, systems } from './codes.js';
import { parse } from './json.js';
import { repairsIn } from './repair.js';
import { t } from './words.js';

const kept = new Set(['Patient', 'Condition', 'Procedure', 'Encounter', 'Observation', 'Practitioner', 'PractitionerRole']);

/**
 * read reads a Bundle, or Parameters that hold one.
 * @returns {{carried: Array, values: Object, names: Object, leftOut: number}}
 * It throws an Error with a sentence for the reader, and the reason for IT as its cause.
 */
export function read(text) {
  const opened = { carried: [], values: {}, names: {}, leftOut: 0, invented: false };
  for (const { fullUrl, resource } of bundleIn(text).entry ?? []) {
    if (!resource || !kept.has(resource.resourceType) || hasIdentifier(resource, systems.result)) {
      opened.leftOut++;
      continue;
    }
    opened.invented ||= isInvented(resource);
    if (!takeBack(resource, opened)) opened.carried.push({ fullUrl, resource });
  }
  if (opened.carried.length === 0) throw unreadable(t('The file holds no measurements of a shoulder.'), 'Bundle.entry: no Observation');
  opened.values = { ...howMeasured(opened.carried), ...opened.values };
  opened.values.involved ||= involvedIn(opened.carried);
  opened.values.patient ??= nameIn(opened.carried);
  return opened;
}

/** ofRecord is read for the entries of a record, all of which stay as the record has them. */
export function ofRecord(carried) {
  const involved = involvedIn(carried);
  const repair = repairsIn(carried).find(({ bodySite }) => [involved, ''].includes(sideOf(bodySite)));
  const values = { ...howMeasured(carried), involved, patient: nameIn(carried) };
  if (repair) Object.assign(values, { repaired: 'yes', 'repair-kind': repair.kind, 'repair-date': repair.date });
  return { carried, values, names: {}, invented: carried.some(({ resource }) => isInvented(resource)) };
}

const isInvented = (resource) => Boolean(resource.meta?.tag?.some((tag) => tag.code === 'HTEST'));

function bundleIn(text) {
  let resource;
  try {
    resource = parse(text);
  } catch (error) {
    throw unreadable(notOurs(), `JSON: ${error.message}`);
  }
  const found = resource?.resourceType;
  if (found === 'Parameters') resource = resource.parameter?.find((parameter) => parameter.name === 'bundle')?.resource;
  if (resource?.resourceType !== 'Bundle') throw unreadable(notOurs(), `resourceType: ${String(found).slice(0, 40)}, expected Bundle`);
  return resource;
}

const notOurs = () => t('This file cannot be read. Expected a visit that was saved here, or an export of the record.');

// unreadable is an error with a sentence for the reader, and the reason for IT as its cause.
const unreadable = (text, cause) => new Error(text, { cause });

/** takeBack puts what the worksheet wrote about the patient into its fields again. */
function takeBack(resource, opened) {
  const uuid = hasIdentifier(resource, systems.worksheet);
  if (!uuid) return false;
  switch (resource.resourceType) {
    case 'Patient':
      opened.values.patient = resource.name?.[0]?.text ?? '';
      opened.names.patient = uuid;
      return true;
    case 'Condition':
      if (resource.code?.text === otherShoulder) {
        opened.values['other-affected'] = 'yes';
        opened.names['other-affected'] = uuid;
        return true;
      }
      opened.values.involved = sideOf(resource.bodySite);
      opened.names.involved = uuid;
      return true;
    case 'Procedure':
      opened.values.repaired = 'yes';
      opened.values['repair-kind'] = Object.keys(repairs).find((kind) => repairs[kind] === resource.code?.coding?.[0]?.code) ?? '';
      opened.values['repair-date'] = resource.performedDateTime ?? '';
      opened.names['repair-date'] = uuid;
      return true;
  }
  return false;
}

function hasIdentifier(resource, system) {
  return [resource.identifier ?? []].flat().find((identifier) => identifier.system === system)?.value;
}

// howMeasured gives the unit, the instrument and the contraction of the latest strength.
function howMeasured(carried) {
  const tests = carried.map(({ resource }) => resource).filter(({ component, code }) => component && ownStrength(code));
  const latest = tests.toSorted((a, b) => dayOf(a).localeCompare(dayOf(b))).at(-1);
  if (!latest) return {};
  const codeIn = (concept) => concept?.coding?.[0]?.code;
  const trial = latest.component.find(({ code }) => codeIn(code) === codes.trial);
  const contraction = latest.component.find(({ code }) => codeIn(code) === codes.contraction)?.valueCodeableConcept;
  return { unit: trial?.valueQuantity?.code ?? 'N', instrument: codeIn(latest.method) ?? '', contraction: codeIn(contraction) ?? '' };
}

const ownStrength = (code) => Object.values(strengths).includes(code?.coding?.[0]?.code);

function involvedIn(carried) {
  const told = (type) => carried
    .filter(({ resource }) => resource.resourceType === type)
    .map(({ resource }) => sideOf(resource.bodySite))
    .filter(Boolean);
  const [side, other] = new Set(told('Condition').length ? told('Condition') : told('Procedure'));
  return other ? '' : side ?? '';
}

/** nameIn is the name of the patient of some entries, else the record number. */
export function nameIn(carried) {
  const patient = carried.find(({ resource }) => resource.resourceType === 'Patient')?.resource;
  const [name] = patient?.name ?? [];
  return name?.text ?? ([...name?.given ?? [], name?.family].filter(Boolean).join(' ') || (patient?.identifier?.[0]?.value ?? ''));
}

/** dayOf is the day of an Observation, "" if it has none. */
export function dayOf(resource) {
  const when = resource.effectiveDateTime ?? resource.effectiveInstant ?? resource.effectivePeriod?.start ?? '';
  return String(when).slice(0, 10);
}
