// Taking an earlier visit back into the fields, to correct it. Only what the
// worksheet wrote fits into them.

import { sideOf, trialField } from './bundle.js';
import { codes, movements, strengths, systems } from './codes.js';

/** isOwn reports whether the worksheet wrote a resource. */
export const isOwn = (resource) => [resource.identifier ?? []].flat().some(({ system }) => system === systems.worksheet);

/** fieldsOf gives the fields that made Observations, and which made which. */
export function fieldsOf(observations) {
  const values = {};
  const originals = {};
  for (const observation of observations) {
    const field = tell(observation, values);
    if (field) originals[field] = observation;
    values.date = observation.effectiveDateTime ?? '';
  }
  return { values, originals };
}

// tell puts what an Observation says into its fields and names the first.
function tell(observation, values) {
  const code = codeOf(observation.code);
  const rotation = Object.keys(strengths).find((known) => strengths[known] === code);
  if (rotation) return tellTrials(observation, rotation, values);
  const movement = Object.keys(movements).find((known) => movements[known] === code);
  const field = movement ? `range.${movement}.${sideOf(observation.bodySite)}` : fieldFor[code]?.(observation);
  if (field) values[field] = amount(observation) ?? (observation.valueBoolean ? 'yes' : 'no');
  return field;
}

const fieldFor = {
  [codes.pain]: (observation) => `pain.${part(observation, codes.painContext)}`,
  [codes.heldSteady]: (observation) => `steady.${part(observation, codes.armPosition)}`,
  [codes.bodyWeight]: () => 'mass',
  [codes.clearance]: () => 'clearance',
  [codes.tearSize]: () => 'tear',
};

function tellTrials(observation, rotation, values) {
  const side = sideOf(observation.bodySite);
  const position = part(observation, codes.armPosition);
  values[`support.${position}`] = part(observation, codes.armSupport);
  values.contraction = part(observation, codes.contraction);
  values.instrument = codeOf(observation.method);
  const told = observation.component.filter(({ code }) => codeOf(code) === codes.trial);
  told.forEach((trial, i) => { values[trialField(rotation, position, side, i + 1)] = amount(trial); });
  values.unit = told[0]?.valueQuantity.code;
  return `trial.${rotation}.${position}.${side}`;
}

const codeOf = (concept) => concept?.coding?.[0]?.code ?? '';

const part = (observation, code) =>
  codeOf(observation.component?.find((component) => codeOf(component.code) === code)?.valueCodeableConcept);

const amount = ({ valueQuantity }) => valueQuantity && String(valueQuantity.value.text ?? valueQuantity.value);
