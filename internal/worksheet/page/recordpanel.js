// The part of the page about the health record that launched it: whose record is open, what is
// read and sent, and what the record does not do. It belongs to one worksheet of the day; the
// others cannot be sent.

import { parameters } from './bundle.js';
import { identifierOf } from './files.js';
import { parse, write } from './json.js';
import { nameIn, ofRecord } from './open.js';
import { Changed, isResult, Record, RecordError } from './record.js';
import { Refusal, Unreachable } from './service.js';
import { accept, Ended, isReturn, LaunchError, Unanswered } from './smart.js';
import { byIdentifier, isRetracted, joined, neededIn, toStore, versions } from './stored.js';
import { t } from './words.js';

const at = (id) => document.getElementById(id);

// What has a message for the reader.
const told = [LaunchError, RecordError, Ended, Unanswered, Unreachable];

/** A RecordPanel is empty until a record launches the page. */
export class RecordPanel {
  #sheet;
  #searches; // of the history
  #record = null;
  #known = new Map(); // versions of what was read last, by address
  #isOpen = false; // whether the worksheet that is shown is the record's
  #isBusy = false;
  #say = () => ''; // what the panel says, in the language of the moment
  #again = null; // what the button beside it does again

  /**
   * @param {Object} sheet the worksheet that is shown: open(kept) fills it, carried() gives its
   *   earlier entries and keep(entries) replaces them, shown() is what its answer was computed
   *   from, with the answer, null while there is none; isOwn(uuid) tells what its fields told,
   *   assess(text) asks the service, saved() says that it is stored
   */
  constructor(sheet) {
    this.#sheet = sheet;
    at('send').addEventListener('click', () => this.#do(() => this.#send()));
    at('record-again').addEventListener('click', () => this.#do(this.#again));
  }

  /** isOpen reports whether the worksheet that is shown is the record's. */
  get isOpen() {
    return this.#isOpen;
  }

  /** arrive opens the record that this page was launched from, if it was. */
  async arrive() {
    const query = new URLSearchParams(location.search);
    if (!isReturn(query)) return;
    history.replaceState(null, '', location.pathname); // the code is no matter for the history of the browser
    await this.#do(async () => {
      this.#tell(() => t('Signing in to the health record…'));
      const { grant, config } = await accept(query);
      this.#searches = config.searches;
      this.#record = new Record(grant);
      this.#again = () => this.#open();
      setTimeout(() => this.#checkEnd(), grant.left);
      await this.#open();
    });
  }

  async #open() {
    this.#tell(() => t('Reading the record…'));
    const [found, clinician] = [await this.#record.history(this.#searches), await this.#record.clinician()];
    const measured = found.filter(({ resource }) => !isResult(resource));
    const carried = [...measured.filter(({ resource }) => !isRetracted(resource)), ...clinician];
    this.#again = null;
    this.#known = versions(measured);
    const kept = ofRecord(carried);
    if (clinician.length > 0) kept.values.clinician = clinician[0].resource.name[0].text;
    this.#sheet.open({ ...kept, ofRecord: true });
    at('record-patient').textContent = [nameIn(carried), carried[0].resource.birthDate].filter(Boolean).join(' · ');
    this.#tell(() => t('The history was read from the record. Nothing is sent there before you choose “Send to the record”.'));
  }

  /** turn says whether the worksheet that is shown is the record's. */
  turn(isOpen) {
    this.#isOpen = isOpen;
    this.show();
  }

  /** joins adds what a file has besides to the record's worksheet; on another one the file stands alone. */
  joins(kept) {
    if (!this.#isOpen) return kept;
    const whose = kept.carried.find(({ resource }) => resource.resourceType === 'Patient')?.fullUrl;
    if (whose !== `${this.#record.base}/${this.#record.patient}`) {
      throw new Error(t('This file is not of the patient whose record is open. Open it on the worksheet of another patient.'));
    }
    const carried = this.#sheet.carried();
    const here = new Set(carried.map(({ resource }) => identifierOf(resource)));
    const more = kept.carried.filter(({ fullUrl, resource }) => identifierOf(resource) && !here.has(identifierOf(resource)) && !this.#known.has(fullUrl));
    return { ...ofRecord([...carried, ...more]), ofRecord: true };
  }

  /** show renews what the panel shows: after an answer, and in another language. */
  show() {
    const shown = this.#isOpen ? this.#sheet.shown() : null;
    const denied = shown ? this.#record.lacking(neededIn(shown, this.#record.base)) : [];
    at('record').hidden = this.#say() === '';
    at('record-patient').hidden = !this.#isOpen;
    at('send').hidden = !this.#isOpen;
    at('send').disabled = !shown || this.#isBusy || denied.length > 0;
    at('record-denied').textContent = denied.length > 0 ? notPermitted(denied) : '';
    at('record-state').textContent = this.#isOpen || this.#isBusy || this.#record === null || this.#again
      ? this.#say() : t('This worksheet is not that of the patient whose record is open, and is not sent there.');
    at('record-again').hidden = this.#again === null || this.#isBusy;
    // What is under way is about the worksheet as it is.
    for (const part of [at('worksheet'), document.querySelector('.head')]) part.inert = this.#isBusy;
  }

  // do does one thing at a time, and says what stood in its way.
  async #do(act) {
    if (this.#isBusy) return;
    this.#isBusy = true;
    try {
      await act();
    } catch (error) {
      this.#tell(() => sentence(error));
      if (!told.some((kind) => error instanceof kind) && !(error instanceof Refusal)) throw error;
    } finally {
      this.#isBusy = false;
      this.show();
    }
  }

  #tell(say) {
    this.#say = say;
    this.show();
  }

  // send stores the visit and the answer to it, as the record is now.
  async #send(isSecond = false) {
    const asked = this.#sheet.shown();
    this.#tell(() => t('Sending to the record…'));
    const read = await this.#readAgain();
    if (read.isChanged) {
      this.#tell(() => t('The record was changed since it was read. Nothing was sent. The answer is renewed: look at it, and send again.'));
      return;
    }
    const transaction = await this.#transaction(asked, read);
    const denied = this.#record.lacking(transaction.entry.map(({ request, resource }) => [resource.resourceType, request.method === 'PUT' ? 'u' : 'c']));
    if (denied.length > 0) throw new RecordError(notPermitted(denied));
    try {
      if (transaction.entry.length > 0) await this.#record.store(transaction);
    } catch (error) {
      if (!(error instanceof Changed) || isSecond) throw error;
      await this.#send(true); // reads what was changed
      return;
    }
    await this.#stored();
  }

  async #transaction(asked, { stored, results, encounter }) {
    const all = { ...asked.bundle, entry: [...asked.bundle.entry, ...results] };
    const answer = parse(await this.#sheet.assess(write(parameters(all, asked.values, 'living-transaction'))));
    const here = new Set(asked.bundle.entry.map(({ resource }) => identifierOf(resource)));
    const withdrawn = [...stored].filter(([uuid, { resource }]) => this.#sheet.isOwn(uuid) && !here.has(uuid) && !isRetracted(resource)).map(([, entry]) => entry);
    return toStore(asked, answer, { stored, withdrawn, encounter, base: this.#record.base });
  }

  async #stored() {
    this.#sheet.saved();
    const time = new Date().toTimeString().slice(0, 5);
    this.#tell(() => t('Stored in the record at {time}. What is changed after that has to be sent again.', { time }));
    try {
      await this.#readAgain(); // to know the versions of what was stored
    } catch {
      // It is stored all the same. The record is read again before anything else is sent.
    }
  }

  // readAgain reads the record anew, and takes what was changed there into the worksheet.
  async #readAgain() {
    const found = await this.#record.history(this.#searches);
    const measured = found.filter(({ resource }) => !isResult(resource));
    const isOwn = ({ resource }) => this.#sheet.isOwn(identifierOf(resource));
    const [before, now] = [this.#known, versions(measured)];
    const isChanged = [...before.keys()].some((address) => !now.has(address))
      || measured.some((entry) => before.get(entry.fullUrl) !== now.get(entry.fullUrl) && !(isOwn(entry) && !before.has(entry.fullUrl)));
    this.#known = now;
    if (isChanged) this.#sheet.keep(joined(this.#sheet.carried(), measured.filter((entry) => !isOwn(entry) && !isRetracted(entry.resource)), before));
    const { encounter, base } = this.#record;
    return {
      isChanged, stored: byIdentifier(measured), results: found.filter(({ resource }) => isResult(resource)),
      encounter: now.has(`${base}/${encounter}`) ? encounter : undefined,
    };
  }

  // checkEnd says so once the record lets this page in no longer.
  async #checkEnd() {
    const error = await this.#record.ended();
    if (error && !this.#isBusy) this.#tell(() => error.message);
  }
}

const notPermitted = (types) => t('The record does not permit this page to store: {types}. Nothing is sent; “File for the record” gives the same as a file.', { types: types.join(', ') });

function sentence(error) {
  if (told.some((kind) => error instanceof kind)) return error.message;
  return error instanceof Refusal ? t('The service cannot compute an answer now.') : t('This could not be done. What you entered is still here.');
}
