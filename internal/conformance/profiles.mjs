// Checks Observations against those of the project's own profiles that they
// claim in meta.profile.
import { expand, profiles } from './definitions.mjs';
import { medplumIssues } from './medplum.mjs';

// checkProfiles checks a resource, or every entry of a Bundle.
export function checkProfiles(root, say) {
  const check = (resource, path) => {
    for (const profile of profilesOf(resource)) {
      for (const issue of medplumIssues(resource, { profile })) {
        say(issue.severity, 'profile', path + issue.path.replace(/^\w+/, ''), `${profile.id}: ${issue.text}`);
      }
      for (const text of bindingFaults(resource, profile)) say('error', 'profile', path, `${profile.id}: ${text}`);
    }
  };
  if (root.resourceType !== 'Bundle') return check(root, root.resourceType);
  (root.entry ?? []).forEach((e, i) => { if (e.resource) check(e.resource, `Bundle.entry[${i}].resource`); });
}

const profilesOf = resource => profiles.filter(p => resource.meta?.profile?.includes(p.url));

const element = (profile, id) => profile.snapshot.element.find(e => e.id === id);

// hasCode reports whether a component has the code that a slice asks for.
function hasCode({ code }, { patternCodeableConcept: { coding: [asked] } }) {
  return code?.coding?.some(c => c.system === asked.system && c.code === asked.code);
}

const inSet = (codings, url) => codings.some(c => expand(url)?.has(`${c.system}|${c.code}`));

// bindingFaults checks the required bindings of a profile, which Medplum does not.
function bindingFaults(resource, profile) {
  const faults = [];
  for (const { id, binding } of profile.snapshot.element) {
    if (binding?.strength !== 'required' || !expand(binding.valueSet)) continue;
    for (const value of valuesAt(resource, profile, id)) {
      const codings = value.coding ?? (value.code ? [value] : []);
      if (codings.length && !inSet(codings, binding.valueSet)) faults.push(`${id}: no code from required value set ${binding.valueSet}`);
    }
  }
  return faults;
}

// valuesAt are the coded values that an element's id means in a resource.
function valuesAt(resource, profile, id) {
  const [, slice, name] = /^Observation\.(?:component:([\w-]+)\.)?([\w[\]]+)$/.exec(id) ?? [];
  if (!name) return [];
  const nodes = slice ? (resource.component ?? []).filter(c => hasCode(c, element(profile, `Observation.component:${slice}.code`))) : [resource];
  return nodes.flatMap(n => (name === 'value[x]' ? [n.valueCodeableConcept, n.valueQuantity] : [n[name]]).flat()).filter(v => v && typeof v === 'object');
}
