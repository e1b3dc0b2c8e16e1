// From the fields of the worksheet to a FHIR Bundle. Beside the Bundle stands,
// for each of its entries, which field it came from, so that a problem that is
// found in the Bundle can be shown at the field.

import { codes, concept, ours, repairs, rotations, shoulders, sides, strengths, systems, testedIn } from './codes.js';
import { facts } from './facts.js';
import { readNumber } from './json.js';
import { repairsIn } from './repair.js';
import { tellsTheSame } from './same.js';
import { addStatements } from './statements.js';
import { current, t } from './words.js';

/** strengthField names what the trials of one test of one side tell together. */
export const strengthField = (rotation, position, side) => `trial.${rotation}.${position}.${side}`;

/** trialField names the field of one trial; trials count from 1. */
export const trialField = (rotation, position, side, trial) => `${strengthField(rotation, position, side)}.${trial}`;

/** limitedField names the field that says that pain limited a test of one side. */
export const limitedField = (rotation, position, side) => `limited.${rotation}.${position}.${side}`;

/** otherShoulder is how the Condition of the shoulder that is not treated is told apart. */
export const otherShoulder = 'Other shoulder, not under treatment: affected too';

export const otherSide = (side) => (side === 'right' ? 'left' : 'right');

/** trials is how many trials of one test there is room for. */
export const trials = 3;

/** names gives the resources of one visit identifiers that last while it is worked on. */
export class Names {
  #known = new Map();
  #originals = new Map();

  /** of is the identifier of what a field tells. */
  of(field) {
    if (!this.#known.has(field)) this.#known.set(field, randomUUID());
    return this.#known.get(field);
  }

  /** keep gives what a field tells the identifier that it had in a file. */
  keep(field, uuid) {
    this.#known.set(field, uuid);
  }

  /** keepOriginal remembers a resource that is being corrected. */
  keepOriginal(field, resource) {
    this.keep(field, resource.identifier[0].value);
    this.#originals.set(field, resource);
  }

  /** original is the resource that a field corrects, if any. */
  original(field) {
    return this.#originals.get(field);
  }

  /** isOwn reports whether an identifier is that of what a field tells, or told. */
  isOwn(uuid) {
    return [...this.#known.values()].includes(uuid);
  }

  /** has reports whether what a field tells has an identifier. */
  has(field) {
    return this.#known.has(field);
  }
}

// randomUUID is a UUID of version 4 (RFC 9562). The browser's own function is
// there only over TLS.
function randomUUID() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}

/**
 * build makes the Bundle of earlier entries and of the visit in the fields.
 * @param {Object<string, string>} values by field
 * @param {Array} carried entries of an opened file
 * @param {Names} names of the visit
 * @param {boolean} invented marks the data as test data
 * @returns {{bundle, places: Array, problems: Array, assessable: boolean}}
 */
export function build(values, carried, names, invented) {
  const visit = new Visit(values, carried, names, invented);
  visit.addPatient();
  visit.addCondition();
  visit.addOtherCondition();
  visit.addRepair();
  visit.addStrength();
  visit.addFacts();
  addStatements(visit);
  return {
    bundle: { resourceType: 'Bundle', type: 'collection', entry: visit.entries },
    places: visit.places,
    problems: visit.problems,
    assessable: visit.assessable || carried.some((entry) => entry.resource.resourceType === 'Observation'),
  };
}

class Visit {
  constructor(values, carried, names, invented) {
    this.values = values;
    this.names = names;
    this.invented = invented;
    this.carried = carried;
    this.entries = [...carried];
    this.places = carried.map((entry) => ({ carried: entry }));
    this.problems = [];
    this.assessable = false;
  }

  /** add adds a resource that a field tells, and where its components came from. */
  add(field, resource, components = {}) {
    const uuid = this.names.of(field);
    const made = {
      resourceType: resource.resourceType,
      meta: this.invented ? { tag: [{ system: systems.reason, code: 'HTEST', display: 'test health data' }] } : undefined,
      identifier: [{ system: systems.worksheet, value: uuid }],
      ...resource,
    };
    const original = this.names.original(field);
    if (original && (original.status === 'corrected' || !tellsTheSame(original, made))) made.status = 'corrected';
    this.entries.push({ fullUrl: `urn:uuid:${uuid}`, resource: made });
    this.places.push({ field, components });
  }

  /** addPatient finds the patient of a record's file, or makes one. */
  addPatient() {
    this.subject = this.names.has('patient') ? null : subjectOf(this.carried);
    if (this.subject) return;
    const name = this.values.patient.trim();
    this.subject = { reference: `urn:uuid:${this.names.of('patient')}` };
    this.add('patient', { resourceType: 'Patient', name: name ? [{ text: name }] : undefined });
  }

  /** addCondition says which shoulder is treated, unless the file does. */
  addCondition() {
    const { involved } = this.values;
    const told = this.carried.some(({ resource }) => resource.resourceType === 'Condition' && sideOf(resource.bodySite) === involved);
    if (!involved || told) return;
    this.add('involved', {
      resourceType: 'Condition',
      clinicalStatus: concept(systems.conditionClinical, 'active'),
      code: { text: 'Shoulder under treatment for a rotator cuff problem' },
      bodySite: [this.shoulder(involved)],
      subject: this.subject,
    });
  }

  /** addOtherCondition says that the other shoulder is no yardstick either. */
  addOtherCondition() {
    const { involved } = this.values;
    if (!involved || !this.values['other-affected']) return;
    this.add('other-affected', {
      resourceType: 'Condition',
      clinicalStatus: concept(systems.conditionClinical, 'active'),
      code: { text: otherShoulder },
      bodySite: [this.shoulder(otherSide(involved))],
      subject: this.subject,
    });
  }

  addRepair() {
    const { involved } = this.values;
    if (this.values.repaired) {
      if (!this.tellsRepair()) this.add('repair-date', {
        resourceType: 'Procedure',
        status: 'completed',
        code: concept(systems.snomed, repairs[this.values['repair-kind']] ?? codes.cuffRepair),
        subject: this.subject,
        performedDateTime: this.values['repair-date'] || undefined,
        bodySite: involved ? [this.shoulder(involved)] : undefined,
      });
      this.observe('tear', ours(codes.tearSize), involved, this.quantity('tear', 'cm'));
    }
  }

  /** tellsRepair reports whether the file tells the repair in the fields; another one is asked about. */
  tellsRepair() {
    const told = repairsIn(this.carried);
    const same = told.some(({ kind, date }) => kind === this.values['repair-kind'] && date === this.values['repair-date']);
    if (told.length > 0 && !same) {
      this.problems.push({
        field: 'repair-date', severity: 'warning', note: true,
        text: t('The record has an operation of {date}. If this is not another one, leave it as it is there and have it corrected there.', { date: told[0].date }),
      });
    }
    return same;
  }

  addStrength() {
    for (const rotation of Object.keys(rotations)) {
      for (const position of testedIn[rotation]) {
        for (const side of Object.keys(sides)) this.addTrials(rotation, position, side);
      }
    }
  }

  /** addTrials adds the trials of one test as components of one Observation. */
  addTrials(rotation, position, side) {
    const { unit, contraction, instrument } = this.values;
    const component = [this.coded(codes.armPosition, position)];
    const support = this.values[`support.${position}`];
    if (support) component.push(this.coded(codes.armSupport, support));
    if (contraction) component.push(this.coded(codes.contraction, contraction));
    if (this.values[limitedField(rotation, position, side)]) component.push({ code: ours(codes.painDuringTest), valueBoolean: true });
    const from = {};
    for (let trial = 1; trial <= trials; trial++) {
      const field = trialField(rotation, position, side, trial);
      const value = this.quantity(field, unit);
      if (!value) continue;
      from[component.length] = field;
      component.push({ code: ours(codes.trial), ...value });
    }
    if (Object.keys(from).length === 0) return;
    this.assessable = true;
    this.observe(strengthField(rotation, position, side), ours(strengths[rotation]), side, {
      method: instrument ? ours(instrument) : undefined,
      component,
    }, from);
  }

  addFacts() {
    for (const fact of facts) {
      const told = this.told(fact);
      if (!told) continue;
      this.assessable ||= fact.assessable;
      const component = fact.components
        .map(({ code, value, from }) => ({ code, value: value ?? this.values[from] }))
        .filter(({ value }) => value)
        .map(({ code, value }) => this.coded(code, value));
      const side = fact.side === 'involved' ? this.values.involved : fact.side;
      this.observe(fact.field, fact.code, side, { category: [concept(systems.category, fact.category)], ...told, component: component.length > 0 ? component : undefined });
    }
  }

  /** told is the value of a fact; null if its field is empty. */
  told({ field, unit, choices }) {
    if (unit) return this.quantity(field, unit);
    const said = this.values[field];
    if (!said) return null;
    return choices ? { valueCodeableConcept: choices(said) } : { valueBoolean: said === 'yes' };
  }

  /** observe adds an Observation of the day, if there is anything to tell. */
  observe(field, code, side, told, components) {
    if (!told) return;
    this.add(field, {
      resourceType: 'Observation',
      status: 'final',
      category: [concept(systems.category, 'exam')],
      code,
      subject: this.subject,
      effectiveDateTime: this.values.date || undefined,
      bodySite: side ? this.shoulder(side) : undefined,
      ...told,
    }, components);
  }

  /** quantity reads a number in a field; null if there is none. */
  quantity(field, unit) {
    const typed = this.values[field] ?? '';
    if (typed.trim() === '') return null;
    const value = readNumber(typed);
    if (!value) {
      this.problems.push({ field, severity: 'error', text: t('Not a number: found “{found}”, expected one such as 82.5. Not used.', { found: typed.trim().slice(0, 20) }) });
      return null;
    }
    return { valueQuantity: { value, unit, system: systems.ucum, code: unit } };
  }

  coded(code, value) {
    return { code: ours(code), valueCodeableConcept: ours(value) };
  }

  shoulder(side) {
    return concept(systems.snomed, shoulders[side]);
  }
}

/** sideOf is the side that body sites tell, if they are of one shoulder. */
export function sideOf(bodySites = []) {
  const told = [bodySites].flat().flatMap((site) => site.coding ?? []).map((coding) => coding.code);
  const found = Object.keys(sides).filter((side) => told.includes(shoulders[side]));
  return found.length === 1 ? found[0] : '';
}

/** subjectOf refers to the patient of the entries as they do; null for none. */
export function subjectOf(entries) {
  const patient = entries.find(({ resource }) => resource.resourceType === 'Patient');
  if (patient?.fullUrl) return { reference: patient.fullUrl };
  if (patient?.resource.id) return { reference: `Patient/${patient.resource.id}` };
  return entries.find(({ resource }) => resource.subject)?.resource.subject ?? null;
}

// forceUnits are the units of force that the service writes, by that of the fields.
const forceUnits = { N: 'N', 'N.m': 'N', kgf: 'kgf', 'kgf.m': 'kgf', 'kgf.cm': 'kgf', '[lbf_av]': 'lbf', '[lbf_av].[in_i]': 'lbf', '[lbf_av].[ft_i]': 'lbf' };

/**
 * parameters asks the operation about a Bundle, and for one sheet to print if it is
 * named. The Bundle is the first parameter.
 */
export function parameters(bundle, values, output, sheet) {
  const parameter = [{ name: 'bundle', resource: bundle }, { name: 'output', valueCode: output }];
  if (values.involved) parameter.push({ name: 'involvedSide', valueCode: values.involved });
  parameter.push({ name: 'language', valueCode: current() });
  const forceUnit = forceUnits[values.unit];
  if (forceUnit) parameter.push({ name: 'forceUnit', valueCode: forceUnit });
  if (sheet) parameter.push({ name: 'sheet', valueCode: sheet });
  if (values.date) parameter.push({ name: 'asOf', valueDate: values.date });
  return { resourceType: 'Parameters', parameter };
}
