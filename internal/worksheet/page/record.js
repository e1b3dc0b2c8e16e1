// What is asked of the health record that launched the worksheet: the history of the one
// patient it was launched for, and to store what the therapist sends. Every request goes below
// the record's base.

import { systems } from './codes.js';
import { parse, write } from './json.js';
import { ended, Ended, Unanswered } from './smart.js';
import { t } from './words.js';

// How much is read. Source: that of a request to the service, which takes no more: 8 MiB.
const mostBytes = 8 << 20;
const mostPages = 100; // of one search; source: ours

// How many searches run at a time. Source: ours: a record has other work.
const together = 3;

// How long an answer is waited for, in milliseconds. Source: ours: to store takes longest.
const patience = 60_000;

/** What a record did not do; the message is for the reader. */
export class RecordError extends Error {}

/** What is to be stored was changed by somebody else since it was read. */
export class Changed extends RecordError {}

/** A Record is asked about one patient. */
export class Record {
  #base;
  #grant;

  /** @param {import('./smart.js').Grant} grant */
  constructor(grant) {
    this.#grant = grant;
    this.#base = grant.base;
  }

  /** base is the address that those of all resources begin with. */
  get base() {
    return this.#base;
  }

  /** ended tells why the record lets this page in no longer; null while it does. */
  ended() {
    return this.#grant.token().then(() => null, (error) => (error instanceof Ended ? error : null));
  }

  /** patient refers to whom it is about. */
  get patient() {
    return `Patient/${this.#grant.patient}`;
  }

  /** encounter refers to the visit that the record has open; undefined for none. */
  get encounter() {
    return this.#grant.encounter && `Encounter/${this.#grant.encounter}`;
  }

  /** lacking are the types that the record did not permit, of pairs of a type and letters of SMART's scopes. */
  lacking(wanted) {
    return [...new Set(wanted.filter(([type, letters]) => !permits(this.#grant.scopes, type, letters)).map(([type]) => type))].toSorted();
  }

  /**
   * history reads what searches find of the patient, to the last page.
   * @param {Array<{type: string, parameters: Object<string, string>}>} searches
   * @returns {Promise<Array<{fullUrl: string, resource: Object}>>} the Patient first
   */
  async history(searches) {
    const unread = this.lacking(['Patient', ...searches.map(({ type }) => type)].map((type) => [type, 'rs']));
    if (unread.length > 0) {
      throw new RecordError(t('The record does not let this page read all that an answer needs. Missing: {types}. Nothing was read; whoever looks after the record can permit it.', { types: unread.join(', ') }));
    }
    const left = { bytes: mostBytes };
    const asked = [{ type: 'Patient', parameters: { _id: this.#grant.patient } }, ...searches.map(({ type, parameters }) => ({ type, parameters: { patient: this.#grant.patient, ...parameters } }))];
    const found = [];
    const waiting = asked.keys();
    const work = async () => {
      for (const i of waiting) found[i] = await this.#search(asked[i], left);
    };
    await Promise.all(Array.from({ length: together }, work));
    const [patient] = found;
    if (patient.length !== 1) throw new RecordError(t('The record does not have the patient that it named.'));
    return unique(found.flat());
  }

  /** clinician is the person who is signed in, as an entry; [] if the record does not say. */
  async clinician() {
    const { user } = this.#grant;
    if (!user || this.lacking([['Practitioner', 'r']]).length > 0) return [];
    try {
      const { id, name: [name] = [{}] } = parse(await this.#ask({ path: user, method: 'GET' }));
      const text = name.text ?? [...name.given ?? [], name.family].filter(Boolean).join(' ');
      return text === '' ? [] : [{ fullUrl: `${this.#base}/${user}`, resource: { resourceType: 'Practitioner', id, name: [{ text }] } }];
    } catch (error) {
      if (error instanceof RecordError) return []; // the name is typed, as without a record
      throw error;
    }
  }

  // search follows a search to its last page. It is sent as a form, so that the patient's id
  // does not stand in an address.
  async #search({ type, parameters }, left) {
    const entries = [];
    let asked = { path: `${type}/_search`, method: 'POST', form: new URLSearchParams({ _count: '200', ...parameters }).toString() };
    for (let page = 1; ; page++) {
      const bundle = this.#pageOf(await this.#ask(asked, left));
      for (const entry of bundle.entry ?? []) entries.push(this.#own(entry, type));
      const next = this.#next(bundle);
      if (!next) return entries;
      if (page === mostPages) throw tooMuch();
      asked = { path: next, method: 'GET' };
    }
  }

  #pageOf(text) {
    let bundle;
    try {
      bundle = parse(text);
    } catch {
      // said below
    }
    if (bundle?.resourceType !== 'Bundle' || bundle.type !== 'searchset') throw unlikeFHIR();
    return bundle;
  }

  // own is an entry under its address in the record. It must be about the patient: a record
  // that passes over a parameter of a search answers with those of others.
  #own({ resource }, type) {
    if (resource?.resourceType === 'OperationOutcome') return { resource };
    const about = resource?.subject?.reference ?? resource?.patient?.reference;
    const isPatient = resource?.resourceType === 'Patient' && resource.id === this.#grant.patient;
    if (resource?.resourceType !== type || typeof resource.id !== 'string') throw unlikeFHIR();
    if (!isPatient && ![this.patient, `${this.#base}/${this.patient}`].includes(unversioned(about))) {
      throw new RecordError(t('The record answered with something of another patient. Nothing of it was used; tell whoever looks after the record.'));
    }
    return { fullUrl: `${this.#base}/${type}/${resource.id}`, resource };
  }

  // next is the path of the next page, "" for none. It must be the record's own.
  #next({ link = [] }) {
    const url = link.find(({ relation }) => relation === 'next')?.url;
    if (!url) return '';
    const address = URL.canParse(url, `${this.#base}/`) ? new URL(url, `${this.#base}/`) : null;
    const own = new URL(`${this.#base}/`);
    if (address?.origin !== own.origin || address.username !== '' || !(address.href.startsWith(own.href) || `${address.origin}${address.pathname}/` === own.href)) {
      throw new RecordError(t('The record sends on to another server for more of the history. It was not asked, and nothing was used.'));
    }
    return address.href;
  }

  /** store has a transaction stored, all of it or nothing. */
  async store(transaction) {
    const text = await this.#ask({ path: '', method: 'POST', json: write(transaction) });
    let answer;
    try {
      answer = parse(text);
    } catch {
      // said below
    }
    if (answer?.resourceType !== 'Bundle' || answer.entry?.length !== transaction.entry.length
      || !answer.entry.every(({ response }) => /^2/.test(response?.status ?? ''))) {
      throw new RecordError(t('The record did not confirm that everything was stored. Look there before you send again; to send again stores nothing twice.'));
    }
  }

  async #ask(request, left) {
    let response = await this.#send(request, await this.#grant.token());
    if (response.status === 401) response = await this.#send(request, await this.#grant.token(true));
    const text = await textOf(response, left);
    if (response.ok) return text;
    throw refusal(response, text);
  }

  async #send({ path, method, form, json }, token) {
    const headers = { Accept: 'application/fhir+json', Authorization: `Bearer ${token}` };
    if (form !== undefined) headers['Content-Type'] = 'application/x-www-form-urlencoded';
    if (json !== undefined) headers['Content-Type'] = 'application/fhir+json';
    const address = path.startsWith(this.#base) ? path : path === '' ? this.#base : `${this.#base}/${path}`;
    try {
      return await fetch(address, { method, headers, body: form ?? json, credentials: 'omit', cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(patience) });
    } catch {
      throw unreachable();
    }
  }
}

async function textOf(response, left) {
  let text = '';
  try {
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    for (let part = await reader.read(); !part.done; part = await reader.read()) {
      text += part.value;
      if (left && (left.bytes -= part.value.length) < 0) {
        await reader.cancel();
        throw tooMuch();
      }
    }
  } catch (error) {
    throw error instanceof RecordError ? error : unreachable();
  }
  return text;
}

const unreachable = () => new Unanswered(t('The health record cannot be reached. What you entered is still here: try again when the network is back. To send again stores nothing twice.'));

const tooMuch = () => new RecordError(t('The record holds more about this patient than can be read here. Nothing of it was used, because a part could mislead.'));

const unlikeFHIR = () => new RecordError(t('The record did not answer with FHIR R4 as it should. Nothing of it was used.'));

// refusal is what a status says to the reader.
function refusal(response, text) {
  switch (response.status) {
    case 401:
      return new Ended(ended());
    case 403:
      return new RecordError(t('The record does not permit this. Whoever looks after the record can say why.'));
    case 409:
    case 412:
      return new Changed(t('Somebody changed the record at the same moment. Look at the answer and send again.'));
    case 429:
    case 503:
      return new RecordError(later(response.headers.get('Retry-After')));
  }
  if (response.status >= 500) return new RecordError(t('The record cannot answer now. What you entered is still here: try again later. To send again stores nothing twice.'));
  return new RecordError(t('The record refused it: {reason}', { reason: reasonIn(text) || `HTTP ${response.status}` }));
}

// later says when to ask again. Source: RFC 9110, section 10.2.3: seconds, or a date.
function later(retryAfter) {
  const seconds = /^\d+$/.test(retryAfter ?? '') ? Number(retryAfter) : Math.ceil((Date.parse(retryAfter) - Date.now()) / 1000);
  if (!(seconds > 0)) return t('The record is busy. What you entered is still here: try again in a moment. To send again stores nothing twice.');
  return t('The record is busy and asks to try again in {seconds} seconds. What you entered is still here. To send again stores nothing twice.', { seconds });
}

function reasonIn(text) {
  try {
    const [issue] = JSON.parse(text).issue;
    return String(issue.details?.text ?? issue.diagnostics ?? issue.code).slice(0, 200);
  } catch {
    return '';
  }
}

const unversioned = (reference) => String(reference).replace(/\/_history\/[^/]+$/, '');

// unique leaves out what two searches found.
const unique = (entries) => [...new Map(entries.map((entry, i) => [entry.fullUrl ?? i, entry])).values()];

/**
 * permits reports whether scopes let all of some permissions be had for a type.
 *
 * Source: SMART App Launch 2, scopes for requesting FHIR resources; version 1 has read, write
 * and *. Those that are narrowed by a query do not count: what they leave out is not known.
 */
export function permits(scopes, type, permissions) {
  const granted = scopes.split(' ').map((scope) => /^(?:patient|user)\/([A-Za-z]+|\*)\.(read|write|\*|c?r?u?d?s?)$/.exec(scope))
    .filter((match) => match && ['*', type].includes(match[1])).map(([, , letters]) => ({ read: 'rs', write: 'cud', '*': 'cruds' })[letters] ?? letters).join('');
  return [...permissions].every((letter) => granted.includes(letter));
}

/** isResult reports whether a resource is one of earlier answers, and no measurement. */
export const isResult = (resource) => ['CarePlan', 'Goal', 'DiagnosticReport', 'DetectedIssue'].includes(resource.resourceType)
  || [resource.identifier ?? []].flat().some(({ system }) => system === systems.result);
