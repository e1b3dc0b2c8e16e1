// A walk over the elements of a resource along the R4 definitions: names,
// cardinality, primitive formats, code bindings, references, units, narrative.
import { createRequire } from 'node:module';
import { codeSystems, expand, types } from './definitions.mjs';
import { narrativeFaults } from './narrative.mjs';

const { UcumLhcUtils } = createRequire(import.meta.url)('@lhncbc/ucum-lhc');
const ucum = UcumLhcUtils.getInstance();

const JSON_TYPE = { boolean: 'boolean', integer: 'number', decimal: 'number', positiveInt: 'number', unsignedInt: 'number' };
const QUANTITY = /^(Quantity|Age|Count|Distance|Duration|SimpleQuantity|MoneyQuantity)$/;
const RELATIVE = /^([A-Z][A-Za-z]+)\/[A-Za-z0-9\-.]{1,64}(\/_history\/[A-Za-z0-9\-.]{1,64})?$/;
const BASE = /^https?:\/\/\S+?\/(?=[A-Z][A-Za-z]+\/[A-Za-z0-9\-.]{1,64}(\/_history\/|$))/;
const MIME_TYPES = 'http://hl7.org/fhir/ValueSet/mimetypes';
export const UUID = /^urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

// walkElements checks a resource and all that is in it. visit is called for
// every object with its definition.
export function walkElements(root, say, visit) {
  const fault = (path, message) => say('error', 'defs', path, message);
  const isTransaction = root.resourceType === 'Bundle' && root.type === 'transaction';
  const fullUrls = new Map(root.resourceType === 'Bundle' ? (root.entry ?? []).filter(e => e.fullUrl).map(e => [e.fullUrl, e.resource?.resourceType]) : []);
  resource(root, root.resourceType, root);

  function resource(r, path, container) {
    const type = types[r?.resourceType];
    if (type?.kind !== 'resource') return fault(path, `unknown resourceType ${r?.resourceType}`);
    walk(r, type, r.resourceType, path, { resource: r, container });
  }

  function walk(node, type, definitionPath, path, context) {
    visit(node, type.elements.get(definitionPath), definitionPath, path, context);
    const known = new Set(['resourceType']);
    for (const el of type.children.get(definitionPath) ?? []) {
      const tail = el.path.slice(definitionPath.length + 1);
      let present = 0;
      for (const [name, choice] of namesOf(el, tail)) {
        known.add(name).add(`_${name}`);
        if (!(name in node) && !(`_${name}` in node)) continue;
        present++;
        element(node[name], el, choice, type, `${path}.${name}`, context);
      }
      if (el.min > 0 && !present) fault(`${path}.${tail}`, `required element is missing (${el.min}..${el.max})`);
      if (present > 1) fault(`${path}.${tail}`, 'more than one type of a choice element');
    }
    for (const name of Object.keys(node)) if (!known.has(name)) fault(`${path}.${name}`, 'unknown element');
  }

  // namesOf are the JSON names of an element, one for each type of a choice.
  function namesOf(el, tail) {
    if (!tail.endsWith('[x]')) return [[tail, el.type?.[0]]];
    return el.type.map(t => [tail.slice(0, -3) + t.code[0].toUpperCase() + t.code.slice(1), t]);
  }

  function element(v, el, choice, type, path, context) {
    const repeats = el.max !== '1';
    if (v === undefined) return; // only _name: a primitive with nothing but extensions
    if (v === null) return fault(path, 'null is not allowed');
    if (repeats !== Array.isArray(v)) return fault(path, repeats ? 'must be an array' : 'must not be an array');
    if (!repeats) return value(v, el, choice, type, path, context);
    if (!v.length) fault(path, 'an array must not be empty');
    v.forEach((x, i) => value(x, el, choice, type, `${path}[${i}]`, context));
  }

  function value(x, el, choice, type, path, context) {
    if (el.contentReference) return object(x, path) && walk(x, type, el.contentReference.split('#')[1], path, context);
    const code = choice.code.startsWith('http://hl7.org/fhirpath/') ? choice.extension?.find(e => e.valueUrl)?.valueUrl ?? 'string' : choice.code;
    const data = types[code];
    if (code === 'Resource' || data?.kind === 'resource') {
      return object(x, path) && resource(x, path, el.path.endsWith('.contained') ? context.resource : x);
    }
    if (code === 'xhtml') return narrativeFaults(String(x)).forEach(f => fault(path, `narrative: ${f}`));
    if (data?.kind === 'primitive-type') return primitive(x, el, code, data, path);
    if (!object(x, path)) return;
    if (code === 'Coding') coding(x, el.binding, path);
    if (code === 'CodeableConcept') concept(x, el.binding, path);
    if (QUANTITY.test(code)) quantity(x, path);
    if (code === 'Reference') reference(x, choice, path, context);
    if (type.children.has(el.path)) walk(x, type, el.path, path, context); // a backbone element
    else if (data) walk(x, data, code, path, context);
  }

  function object(x, path) {
    if (x && typeof x === 'object' && !Array.isArray(x)) {
      if (Object.keys(x).length) return true;
      fault(path, 'empty object');
    } else fault(path, 'must be a JSON object');
    return false;
  }

  function primitive(x, el, code, { regex }, path) {
    if (x === null) return; // a hole in a primitive array, with its _name partner
    const wanted = JSON_TYPE[code] ?? 'string';
    if (typeof x !== wanted) return fault(path, `${code} must be a JSON ${wanted}`);
    if (x === '') return fault(path, 'empty string');
    if (regex && wanted !== 'boolean' && !regex.test(String(x))) fault(path, `not a valid ${code}: ${String(x).slice(0, 40)}`);
    if (/^(dateTime|date|instant)$/.test(code) && !isDay(x)) fault(path, `no such day: ${x.slice(0, 10)}`);
    if (el.binding) bound(x, el.binding, path);
  }

  function isDay(text) {
    if (!/^\d{4}-\d\d-\d\d/.test(text)) return true;
    const [y, m, d] = text.slice(0, 10).split('-').map(Number);
    const day = new Date(Date.UTC(y, m - 1, d));
    return day.getUTCMonth() === m - 1 && day.getUTCDate() === d;
  }

  // bound checks a primitive code, whose system the binding implies.
  function bound(code, binding, path) {
    if (binding.strength !== 'required' || !binding.valueSet) return;
    if (binding.valueSet.startsWith(MIME_TYPES)) {
      if (!/^[\w.+-]+\/[\w.+-]+(\s*;.*)?$/.test(code) && !['xml', 'json', 'ttl'].includes(code)) fault(path, `not a MIME type: ${code}`);
      return;
    }
    const set = expand(binding.valueSet);
    if (set && ![...set].some(member => member.endsWith(`|${code}`))) fault(path, `"${code}" is not in required value set ${binding.valueSet}`);
  }

  function coding(c, binding, path) {
    const system = codeSystems.get(c.system);
    if (system && c.code !== undefined) {
      const known = system.get(c.code);
      if (!known) fault(path, `unknown code "${c.code}" in ${c.system}`);
      else if (c.display && known.display && c.display.toLowerCase() !== known.display.toLowerCase()) {
        say('warning', 'defs', path, `display "${c.display}" should be "${known.display}"`);
      }
    }
    if (c.code !== undefined && c.system === undefined) say('warning', 'defs', path, 'coding has a code and no system');
    if (c.system !== undefined && !/^(https?:\/\/|urn:)\S+$/.test(c.system)) fault(path, `coding.system is not an absolute URI: ${c.system}`);
    if (binding) member([c], binding, path);
  }

  function concept(x, binding, path) {
    (x.coding ?? []).forEach((c, i) => coding(c, null, `${path}.coding[${i}]`));
    if (binding) member(x.coding ?? [], binding, path);
  }

  function member(codings, { strength, valueSet }, path) {
    const set = valueSet && /required|extensible/.test(strength) ? expand(valueSet) : null;
    if (!set || codings.some(c => set.has(`${c.system}|${c.code}`))) return;
    if (strength === 'required') fault(path, `no coding from required value set ${valueSet}`);
    else if (codings.length) say('warning', 'defs', path, `no coding from extensible value set ${valueSet}`);
  }

  function quantity(q, path) {
    if (q.system === 'http://unitsofmeasure.org' && q.code !== undefined) {
      const { status, suggestions } = ucum.validateUnitString(q.code, true);
      if (status !== 'valid') say('error', 'ucum', `${path}.code`, `"${q.code}" is not UCUM; suggestions: ${JSON.stringify(suggestions ?? []).slice(0, 80)}`);
    } else if (q.unit !== undefined && q.code === undefined) say('warning', 'ucum', path, 'quantity has a unit and no coded unit');
  }

  function reference(x, { targetProfile }, path, context) {
    const ref = x.reference;
    if (ref === undefined) {
      if (!x.identifier && !x.display && !x._reference) fault(path, 'reference says nothing');
      return;
    }
    const wanted = (targetProfile ?? []).map(url => url.split('/').pop()).filter(name => name !== 'Resource');
    const target = name => { if (name && wanted.length && !wanted.includes(name)) fault(path, `refers to a ${name}, must be ${wanted.join(' | ')}`); };
    if (ref.startsWith('#')) {
      const contained = (context.container.contained ?? context.resource.contained ?? []).find(r => r.id === ref.slice(1));
      if (!contained && ref !== '#') fault(path, `no contained resource ${ref}`);
      return target(contained?.resourceType);
    }
    if (/^urn:(uuid|oid):/.test(ref)) {
      if (ref.startsWith('urn:uuid:') && !UUID.test(ref)) fault(path, `malformed ${ref}`);
      if (root.resourceType !== 'Bundle') return say('warning', 'defs', path, 'urn reference outside a bundle cannot be resolved');
      if (!fullUrls.has(ref)) return fault(path, `${ref} matches no fullUrl in the bundle`);
      return target(fullUrls.get(ref));
    }
    const search = /^([A-Z][A-Za-z]+)\?\S+$/.exec(ref);
    if (search) {
      if (!isTransaction) fault(path, 'a search reference is allowed in a transaction only');
      return target(search[1]);
    }
    const typed = RELATIVE.exec(ref.replace(BASE, ''));
    if (!typed) {
      if (!/^https?:\/\/\S+$/.test(ref)) fault(path, `not a reference: ${ref}`);
      return;
    }
    if (types[typed[1]]?.kind !== 'resource') return fault(path, `no such resource type: ${typed[1]}`);
    if (x.type && x.type !== typed[1]) fault(path, `type ${x.type} disagrees with ${ref}`);
    target(typed[1]);
  }
}
