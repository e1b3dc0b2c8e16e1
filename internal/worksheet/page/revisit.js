// Taking an earlier visit back into the fields, to correct it. Only what the
// worksheet wrote fits into them.

import { limitedField, sideOf, strengthField, trialField, trials } from './bundle.js';
import { codes, hands, strengths, systems } from './codes.js';
import { facts } from './facts.js';
import { relative } from './same.js';
import { confirmField, nameOf, referenceTo, wholeVisit } from './statements.js';

// isOwn reports whether the worksheet wrote a resource.
const isOwn = (resource) => [resource.identifier ?? []].flat().some(({ system }) => system === systems.worksheet);

/**
 * fieldsOf gives the fields that made the entries of a visit, and which made
 * which. The others are those of the file, among them its clinicians.
 */
export function fieldsOf(entries, others) {
  const values = {};
  const originals = {};
  const confirmed = confirmedIn(entries);
  for (const { resource } of entries) {
    const field = confirmed(resource) ?? tell(resource, values);
    if (!field) continue;
    originals[field] = resource;
    if (field.startsWith('confirm.')) values[field] = 'yes';
    values.date = resource.effectiveDateTime ?? '';
    values.clinician ||= clinicianOf(resource, others);
  }
  return { values, originals };
}

/**
 * fits reports whether the worksheet has a field of its own for each entry, and
 * one clinician stated what is stated.
 */
export function fits(entries) {
  const clinicians = new Set(entries.filter(({ resource }) => statements.has(codeOf(resource.code))).map(({ resource }) => performerOf(resource)));
  return entries.every(({ resource }) => isOwn(resource)) && clinicians.size <= 1
    && Object.keys(fieldsOf(entries, []).originals).length === entries.length;
}

const statements = new Set([codes.clearance, codes.examined, codes.permittedLoad, codes.confirmed]);

const performerOf = ({ performer }) => performer?.[0]?.reference;

// confirmedIn tells of a confirmation which field made it: that of the whole visit
// if it is about several tests.
function confirmedIn(entries) {
  const fieldAt = new Map(entries.map(({ fullUrl, resource }) => [fullUrl, tell(resource, {})]));
  return (resource) => {
    if (codeOf(resource.code) !== codes.confirmed) return undefined;
    const fields = (resource.focus ?? []).map(({ reference }) => fieldAt.get(reference));
    if (!fields.every((field) => field?.startsWith('trial.'))) return undefined;
    return fields.length === 1 ? confirmField(fields[0]) : wholeVisit;
  };
}

// clinicianOf is the name of who stated something, "" if it is not in the file.
function clinicianOf(resource, others) {
  const reference = performerOf(resource);
  const found = reference && others.find((other) => relative(reference) === relative(referenceTo(other)));
  return found ? nameOf(found.resource) : '';
}

// tell puts what an Observation says into its fields and names the first.
function tell(observation, values) {
  const code = codeOf(observation.code);
  const rotation = Object.keys(strengths).find((known) => strengths[known] === code);
  if (rotation) return tellTrials(observation, rotation, values);
  const fact = facts.find((known) => isOf(known, observation));
  const field = fact?.field ?? stated[code];
  if (!field) return undefined;
  values[field] = amount(observation) ?? (chosen(observation) || (observation.valueBoolean ? 'yes' : 'no'));
  for (const { code: component, from } of fact?.components ?? []) if (from) values[from] = part(observation, component);
  return field;
}

// isOf reports whether an Observation tells a fact.
const isOf = (fact, observation) => isCoded(fact.code, observation.code)
  && (['', 'involved'].includes(fact.side) || fact.side === sideOf(observation.bodySite))
  && fact.components.every(({ code, value, from }) => from || part(observation, code) === value)
  && (observation.component ?? []).length <= fact.components.length;

const chosen = ({ valueCodeableConcept }) => {
  const code = codeOf(valueCodeableConcept);
  return Object.keys(hands).find((hand) => hands[hand] === code) ?? code;
};

const stated = {
  [codes.clearance]: 'clearance',
  [codes.tearSize]: 'tear',
  [codes.examined]: 'examined',
  [codes.permittedLoad]: 'permit',
};

function tellTrials(observation, rotation, values) {
  const side = sideOf(observation.bodySite);
  const position = part(observation, codes.armPosition);
  values[`support.${position}`] = part(observation, codes.armSupport);
  values.contraction = part(observation, codes.contraction);
  values.instrument = codeOf(observation.method);
  const components = observation.component ?? [];
  if (components.some(({ code }) => codeOf(code) === codes.painDuringTest)) values[limitedField(rotation, position, side)] = 'yes';
  // A record may have an Observation for each trial.
  const told = [observation, ...components.filter(({ code }) => codeOf(code) === codes.trial)].filter(amount);
  const free = () => trialNumbers.find((trial) => !(trialField(rotation, position, side, trial) in values));
  for (const trial of told) if (free()) values[trialField(rotation, position, side, free())] = amount(trial);
  values.unit = told[0]?.valueQuantity.code;
  return strengthField(rotation, position, side);
}

const trialNumbers = Array.from({ length: trials }, (_, i) => i + 1);

const codeOf = (concept) => concept?.coding?.[0]?.code ?? '';

const isCoded = (a, b) => codeOf(a) === codeOf(b) && a.coding[0].system === b?.coding?.[0]?.system;

const part = (observation, code) =>
  codeOf(observation.component?.find((component) => codeOf(component.code) === code)?.valueCodeableConcept);

const amount = ({ valueQuantity }) => (valueQuantity?.value === undefined ? undefined : String(valueQuantity.value.text ?? valueQuantity.value));
