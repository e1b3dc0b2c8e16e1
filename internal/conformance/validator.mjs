// An offline FHIR R4 validator of several engines, each independent of the
// others, and all of them of the service:
//   medplum   @medplum/core: structure, cardinality and FHIRPath invariants
//   schema    the official R4 JSON schema through ajv
//   fhirpath  every invariant of the R4 definitions, evaluated by fhirpath.js
//   ucum      the UCUM library of the NLM on every coded Quantity
//   defs      elements.mjs: what the others leave out
//   profile   profiles.mjs: the project's own profiles
import { createRequire } from 'node:module';
import fhirpath from 'fhirpath';
import r4model from 'fhirpath/fhir-context/r4/index.js';
import { bundleFaults } from './bundle.mjs';
import { types } from './definitions.mjs';
import { walkElements } from './elements.mjs';
import { indexMedplum, medplumIssues } from './medplum.mjs';
import { narrativeFaults } from './narrative.mjs';
import { checkProfiles } from './profiles.mjs';

const require = createRequire(import.meta.url);
const JSONSchema = require('@asymmetrik/fhir-json-schema-validator');

// makeValidator returns a function from a resource to its issues, each with
// severity, engine, path and message.
export function makeValidator() {
  indexMedplum();
  const schema = new JSONSchema(schemaOf401());
  return root => {
    const issues = [];
    const say = (severity, engine, path, message) => issues.push({ severity, engine, path, message });
    if (types[root?.resourceType]?.kind !== 'resource') {
      say('error', 'defs', '', `not an R4 resource: ${root?.resourceType}`);
      return issues;
    }
    for (const i of medplumIssues(root)) say(i.severity, 'medplum', i.path, i.text);
    bySchema(root, root.resourceType, schema, say);
    walkElements(root, say, (...place) => byInvariants(...place, say));
    if (root.resourceType === 'Bundle') bundleFaults(root, say);
    checkProfiles(root, say);
    return issues;
  };
}

// The schema that the package ships is that of 4.0.0, which refuses the version
// that a 4.0.1 server states.
function schemaOf401() {
  const schema = structuredClone(require('@asymmetrik/fhir-json-schema-validator/fhir.schema.json'));
  for (const { properties } of Object.values(schema.definitions)) {
    const versions = properties?.fhirVersion?.enum;
    if (versions && !versions.includes('4.0.1')) versions.push('4.0.1');
  }
  return schema;
}

// Resources in a Bundle are checked one by one: of one within the Bundle ajv
// reports how it differs from every type that there is.
function bySchema(resource, path, schema, say) {
  let shell = resource;
  if (resource.resourceType === 'Bundle' && Array.isArray(resource.entry)) {
    resource.entry.forEach((e, i) => {
      if (types[e?.resource?.resourceType]) bySchema(e.resource, `${path}.entry[${i}].resource`, schema, say);
    });
    const placeholder = { resourceType: 'Basic', code: { text: 'x' } };
    shell = { ...resource, entry: resource.entry.map(e => (e?.resource ? { ...e, resource: placeholder } : e)) };
  }
  for (const e of schema.validate(shell)) {
    if (!/oneOf$/.test(e.message)) say('error', 'schema', path + e.dataPath, e.message.slice(0, 120));
  }
}

const compiled = new Map();

function evaluate(node, type, expression, env) {
  const key = `${type}\n${expression}`;
  if (!compiled.has(key)) {
    const htmlChecks = { fn: nodes => nodes.every(n => !narrativeFaults(String(n?.data ?? n)).length), arity: { 0: [] } };
    compiled.set(key, fhirpath.compile({ base: type, expression }, r4model, { traceFn: () => {}, userInvocationTable: { htmlChecks } }));
  }
  return compiled.get(key)(node, env);
}

// byInvariants evaluates the invariants of one element. Those that every element
// has, and those about contained resources where there are none, are left out.
function byInvariants(node, definition, type, path, context, say) {
  for (const rule of definition?.constraint ?? []) {
    if (!rule.expression || rule.key === 'ele-1' || rule.key === 'ext-1') continue;
    if (rule.key.startsWith('dom-') && rule.key !== 'dom-6' && !node.contained) continue;
    try {
      const [verdict] = evaluate(node, type, rule.expression, { resource: context.resource, rootResource: context.container });
      if (verdict !== undefined && verdict !== true) say(rule.severity, 'fhirpath', path, `${rule.key}: ${rule.human}`);
    } catch (e) {
      say('information', 'fhirpath', path, `${rule.key} not evaluated: ${e.message.slice(0, 80)}`);
    }
  }
}
