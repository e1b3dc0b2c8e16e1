// How the worksheet is let into a health record: as a public client of SMART App Launch 2,
// with PKCE. Tokens are in the memory of this page alone. What has to outlive the way to the
// authorization server and back, the state and the verifier, is kept for this tab, is used
// once, and is deleted as soon as it is read.
//
// Sources: HL7 SMART App Launch 2.2, App Launch and Conformance; RFC 6749; RFC 7636; RFC 9207.

import { t } from './words.js';

// Source: RFC 6749, section 4.1.2: a code should live ten minutes at most.
const longestWay = 10 * 60_000;

// How long before its end a token is renewed, in milliseconds. Source: ours: longer than a
// request takes, shorter than any token lives.
const ahead = 10_000;

// Source: ours: a server that is silent for so long does not answer any more.
const patience = 30_000;

const prefix = 'launch.'; // of what is kept, before the state

const home = new URL('./', import.meta.url).href; // the redirect URI

/** What a launch fails with; the message is for the reader. */
export class LaunchError extends Error {}

/** The record lets this page in no longer: it has to be launched anew. */
export class Ended extends Error {}

/**
 * configuration reads which records may launch this page.
 * @returns {Promise<{client: string, issuers: string[], origins: string[], scopes: string, searches: Array}>}
 */
export async function configuration() {
  let response;
  try {
    response = await fetch(new URL('launch.json', import.meta.url), { credentials: 'omit', cache: 'no-store', redirect: 'error' });
    if (response.ok) return await response.json();
  } catch {
    throw new LaunchError(t('The service cannot be reached.'));
  }
  throw new LaunchError(t('This service is not set up to be launched from a health record.'));
}

/**
 * authorizationAddress is where the reader signs in to the record that iss names. launch is
 * what the record gave along; null to choose the patient while signing in.
 */
export async function authorizationAddress(config, iss, launch) {
  const issuer = config.issuers.find((known) => base(known) === base(iss));
  if (!issuer) throw new LaunchError(t('This health record is not one of those that may launch this page. Nothing was sent to it. Whoever looks after this service can add it.'));
  const server = await discover(issuer, config, launch === null ? 'launch-standalone' : 'launch-ehr');
  const [state, verifier] = [random(), random()];
  forget();
  sessionStorage.setItem(prefix + state, JSON.stringify({
    issuer, verifier, server: server.issuer, endpoint: server.token_endpoint, begun: Date.now(),
  }));
  const address = new URL(server.authorization_endpoint);
  const parameters = {
    response_type: 'code',
    client_id: config.client,
    redirect_uri: home,
    scope: `${launch === null ? 'launch/patient' : 'launch'} ${config.scopes}`,
    state,
    aud: iss,
    code_challenge: await digest(verifier),
    code_challenge_method: 'S256',
  };
  if (launch !== null) parameters.launch = launch;
  for (const [name, value] of Object.entries(parameters)) address.searchParams.set(name, value);
  return address.href;
}

const base = (address) => address.replace(/\/+$/, '');

async function discover(issuer, config, way) {
  const said = await ask(`${base(issuer)}/.well-known/smart-configuration`, { headers: { Accept: 'application/json' } });
  const has = (list, value) => Array.isArray(said[list]) && said[list].includes(value);
  for (const endpoint of ['authorization_endpoint', 'token_endpoint']) {
    if (!isAllowed(said[endpoint], config)) {
      throw new LaunchError(t('The health record names an address for signing in that is not allowed here. Whoever looks after this service can allow it.'));
    }
  }
  const missing = [
    !has('code_challenge_methods_supported', 'S256') && 'PKCE S256',
    ...[way, 'client-public'].map((capability) => !has('capabilities', capability) && capability),
  ].filter(Boolean);
  if (missing.length > 0) throw new LaunchError(t('The health record does not offer what is needed to sign in safely: {missing}.', { missing: missing.join(', ') }));
  return said;
}

function isAllowed(address, config) {
  return URL.canParse(address) && config.origins.includes(new URL(address).origin) && new URL(address).hash === '';
}

/** isReturn reports whether an authorization server sent the reader to an address. */
export const isReturn = (query) => query.has('state') && (query.has('code') || query.has('error'));

/**
 * accept makes a grant of what an authorization server sent the reader back with.
 * @param {URLSearchParams} query
 * @returns {Promise<{grant: Grant, config: Object}>}
 */
export async function accept(query) {
  const begun = taken(query.get('state'));
  if (!begun) throw new LaunchError(t('This sign-in was not begun in this tab, or it was used already. Launch the worksheet from the health record again.'));
  if (query.has('error')) {
    throw new LaunchError(t('The health record did not let this page in ({reason}). Launch the worksheet again, or ask whoever looks after the record.', { reason: query.get('error').slice(0, 40) }));
  }
  const config = await configuration();
  const elsewhere = query.has('iss') && begun.server !== undefined && query.get('iss') !== begun.server;
  if (elsewhere || !config.issuers.includes(begun.issuer) || !isAllowed(begun.endpoint, config)) {
    throw new LaunchError(t('The answer to the sign-in came from another server than was asked. It was not used.'));
  }
  if (Date.now() - begun.begun > longestWay) throw new LaunchError(t('The sign-in took too long. Launch the worksheet from the health record again.'));
  const answer = await askToken(begun.endpoint, {
    grant_type: 'authorization_code', code: query.get('code'), redirect_uri: home, client_id: config.client, code_verifier: begun.verifier,
  });
  return { config, grant: new Grant(answer, { ...begun, client: config.client, scopes: config.scopes }) };
}

// taken gives what was kept for a state, and leaves nothing of it, nor of any other.
function taken(state) {
  const kept = sessionStorage.getItem(prefix + state);
  forget();
  return kept === null ? null : JSON.parse(kept);
}

function forget() {
  for (const name of Object.keys(sessionStorage)) if (name.startsWith(prefix)) sessionStorage.removeItem(name);
}

/** A Grant is what a record lets this page do, for whom, and until when. */
export class Grant {
  #token;
  #renewal; // the refresh token, if there is one
  #until;
  #renewing = null;
  #endpoint;
  #client;

  constructor(answer, { issuer, endpoint, client, scopes }) {
    if (!/^[A-Za-z0-9.-]{1,64}$/.test(answer.patient ?? '')) {
      throw new LaunchError(t('The health record did not say which patient is meant. Open a patient there and launch the worksheet again.'));
    }
    this.base = base(issuer);
    this.patient = answer.patient;
    this.encounter = answer.encounter;
    this.user = userIn(answer.id_token, this.base);
    this.#endpoint = endpoint;
    this.#client = client;
    this.scopes = scopes;
    this.#take(answer);
  }

  #take(answer) {
    if (typeof answer.access_token !== 'string' || answer.token_type?.toLowerCase() !== 'bearer') {
      throw new LaunchError(t('The health record did not answer as it should when it was signed in to.'));
    }
    this.#token = answer.access_token;
    this.#renewal = answer.refresh_token ?? this.#renewal;
    // Without expires_in it is not known: the record says so when it is over.
    this.#until = answer.expires_in > 0 ? Date.now() + 1000 * answer.expires_in : Infinity;
    this.scopes = answer.scope ?? this.scopes;
  }

  /** left is how long the page is let in without asking again, in milliseconds, a day at most. */
  get left() {
    return Math.min(Math.max(this.#until - Date.now(), 0), 86_400_000);
  }

  /** token gives the token for a request; the last one is not used again if it was refused. */
  async token(refused = false) {
    if (!refused && Date.now() < this.#until - ahead) return this.#token;
    if (!this.#renewal) {
      if (!refused && Date.now() < this.#until) return this.#token;
      throw new Ended(ended());
    }
    this.#renewing ??= this.#renew().finally(() => { this.#renewing = null; });
    await this.#renewing;
    return this.#token;
  }

  async #renew() {
    let answer;
    try {
      answer = await askToken(this.#endpoint, { grant_type: 'refresh_token', refresh_token: this.#renewal, client_id: this.#client });
    } catch (error) {
      if (error instanceof Unanswered) throw error;
      throw new Ended(ended());
    }
    if (answer.patient !== undefined && answer.patient !== this.patient) throw new Ended(ended());
    this.#take(answer);
  }
}

// userIn is the Practitioner who is signed in; undefined if that is not said, or is another
// kind of person. The token came from the token endpoint itself: its signature adds nothing.
//
// Source: OpenID Connect Core, section 3.1.3.7; SMART App Launch 2, scopes for identity data.
function userIn(idToken, ofBase) {
  try {
    const { fhirUser } = JSON.parse(atob(idToken.split('.')[1].replaceAll('-', '+').replaceAll('_', '/')));
    const path = fhirUser.startsWith(`${ofBase}/`) ? fhirUser.slice(ofBase.length + 1) : fhirUser;
    return /^Practitioner\/[A-Za-z0-9.-]{1,64}$/.test(path) ? path : undefined;
  } catch {
    return undefined;
  }
}

/** ended says that the page has to be launched again, and how nothing is lost by it. */
export const ended = () => t('The health record lets this page in no longer. What you entered is still here: choose “Save this visit”, launch the worksheet from the record again, and open the saved visit there.');

/** Nothing answered, or only that it cannot now. */
export class Unanswered extends Error {}

async function askToken(endpoint, form) {
  return ask(endpoint, {
    method: 'POST', headers: { 'Content-Type': 'application/x-www-form-urlencoded', Accept: 'application/json' }, body: new URLSearchParams(form).toString(),
  });
}

async function ask(address, request) {
  let response, said;
  try {
    response = await fetch(address, { ...request, credentials: 'omit', cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(patience) });
    said = response.status < 500 ? await response.json() : null;
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw new Unanswered(t('The health record cannot be reached. Check the network and try again.'));
  }
  if (response.status >= 500) throw new Unanswered(t('The health record cannot answer now. Try again later.'));
  if (response.ok && said !== null && typeof said === 'object') return said;
  if (said?.error === 'invalid_grant') throw new LaunchError(t('The permission of the health record was used already or is too old. Launch the worksheet from the record again.'));
  throw new LaunchError(t('The health record did not answer as it should when it was signed in to.'));
}

// random is 256 bits. Source: RFC 7636, section 4.1.
const random = () => encoded(crypto.getRandomValues(new Uint8Array(32)));

async function digest(text) {
  if (!crypto.subtle) throw new LaunchError(t('This page was not loaded over https, without which it cannot be launched from a health record.'));
  return encoded(new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text))));
}

// encoded is the form base64url without padding. Source: RFC 4648, section 5.
const encoded = (bytes) => btoa(String.fromCharCode(...bytes)).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
