// The engine with the rules, and FHIR R4 as its data.

import { createRequire } from 'node:module';
import cql from 'cql-execution';
import fhir from 'cql-exec-fhir';
import { rules } from './rules.mjs';

const require = createRequire(import.meta.url);
const version = (name) => `${name} ${require(`${name}/package.json`).version}`;
export const engine = version('cql-execution');
export const model = version('cql-exec-fhir');

// All is made beforehand that does not depend on the Bundle.
const executor = new cql.Executor(new cql.Library(rules));
const source = fhir.PatientSource.FHIRv401();

// load makes a Bundle the engine's data.
export function load(text) {
  source.reset();
  source.loadBundles([JSON.parse(text)]);
  return source;
}

// answer runs the rules on a Bundle and writes what they give.
export async function answer(text) {
  const { patientResults } = await executor.exec(load(text));
  const [{ Involved, Symmetry, Ratios, Gates }] = Object.values(patientResults);
  return JSON.stringify({ involved: Involved, symmetry: Symmetry, ratios: Ratios, gates: Gates });
}
