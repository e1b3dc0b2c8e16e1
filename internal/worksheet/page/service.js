// The one request of this page, to the service that served it.

import { t } from './words.js';

const address = new URL('../fhir/$assess-shoulder', import.meta.url);

/** What the service answers with when it computed nothing. */
export class Refusal extends Error {
  /** @param {Array} issues of an OperationOutcome */
  constructor(status, issues) {
    super(`The service answered with status ${status}.`);
    this.status = status;
    this.issues = issues;
  }
}

/** The service could not be reached, or what answered is not the service. */
export class Unreachable extends Error {}

/**
 * assess sends a request and gives the Bundle of the answer as text. It throws
 * a Refusal, an Unreachable, or the error of an abort.
 */
export async function assess(body, token, signal) {
  const headers = { 'Content-Type': 'application/fhir+json', Accept: 'application/fhir+json' };
  if (token) headers.Authorization = `Bearer ${token}`;
  let response, text;
  try {
    response = await fetch(address, { method: 'POST', headers, body, signal, credentials: 'omit', cache: 'no-store', redirect: 'error' });
    text = await response.text();
  } catch (error) {
    if (error.name === 'AbortError') throw error;
    throw new Unreachable(t('The service cannot be reached.'));
  }
  if (response.ok) return text;
  throw new Refusal(response.status, issuesIn(text));
}

function issuesIn(text) {
  try {
    return JSON.parse(text).issue ?? [];
  } catch {
    return [];
  }
}
