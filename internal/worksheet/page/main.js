// The worksheet at work: what is typed is sent, and the answer shown beside it.

import { resourcesIn, show } from './answer.js';
import { build, Names, parameters } from './bundle.js';
import { example, exampleFile } from './example.js';
import { showConfirmations, withdraw, withdrawAll } from './confirm.js';
import { Day } from './day.js';
import { recall, remember, remembered } from './device.js';
import { fileName, save, savePDF, transaction } from './files.js';
import { buildTables, fill, labelSides, nameFields, next, read, repeat, showProblems, spread } from './form.js';
import { showVisits, without } from './history.js';
import { filled, Importing } from './importing.js';
import { parse, write } from './json.js';
import { lastVisit, showLast, unlikeLast } from './last.js';
import { loadMeasures } from './measures.js';
import { read as readFile } from './open.js';
import { fieldName, inputOf, placed } from './problems.js';
import { buildMeasures, buildRare, nameMeasures } from './rare.js';
import { RecordPanel } from './recordpanel.js';
import { fieldsOf } from './revisit.js';
import { assess, Refusal, Unreachable } from './service.js';
import { Wedge, withoutUnit } from './wedge.js';
import { choose, current as language, t, translate } from './words.js';

// How long to wait, in milliseconds.
const typingPause = 40; // for the next key, before asking
const retryPause = 5000; // before trying again to reach the service
const speakingPause = 1200; // before an answer is read aloud

const at = (id) => document.getElementById(id);
const form = at('worksheet');

const day = new Day(); // worksheets of several patients
let carried = []; // entries of an opened file
let names = new Names();
let invented = false;
let unsaved = false;
let current = null; // what the shown answer was computed from, and the answer
let isCurrent = false; // whether that is what is in the fields now
let asking = null; // the request under way
let typed = 0; // when the last change was made
let timer, retry, speaker;

const record = new RecordPanel({
  open: (kept) => { if (mayDiscard()) start(kept); },
  carried: () => carried,
  keep(entries) {
    carried = entries;
    current = null;
    schedule(0);
  },
  shown: () => (isCurrent ? current : null),
  isOwn: (uuid) => names.isOwn(uuid),
  assess: (text) => assess(text, at('token').value),
  saved: () => { unsaved = false; },
});

function change() {
  unsaved = true;
  isCurrent = false;
  record.show();
  typed = performance.now();
  schedule(typingPause);
}

// schedule lets an answer that is under way not be shown: it would be one to earlier numbers.
function schedule(pause) {
  asking?.abort();
  at('answer').setAttribute('aria-busy', 'true');
  clearTimeout(timer);
  clearTimeout(retry);
  timer = setTimeout(refresh, pause);
}

// refresh asks for the answer to what is in the fields now.
async function refresh() {
  asking?.abort();
  at('answer').setAttribute('aria-busy', 'true');
  const values = read(form);
  labelSides(values.involved);
  if (document.activeElement !== at('patients')) day.list(at('patients'), values.patient);
  at('repair').hidden = !values.repaired;
  at('invented').hidden = !invented;
  const asked = { values, ...build(values, carried, names, invented) };
  const last = lastVisit(carried, values.date);
  showLast(form, last);
  asked.problems.push(...unlikeLast(values, last, t));
  const missing = [...asked.problems, ...required(asked)];
  if (missing.some(({ blocks }) => blocks) || !asked.assessable) {
    wait(asked, missing);
    return;
  }
  asking = new AbortController();
  const { signal } = asking;
  try {
    const text = await assess(write(parameters(asked.bundle, values, 'collection')), at('token').value, signal);
    if (!signal.aborted) answered(asked, JSON.parse(text));
  } catch (error) {
    if (!signal.aborted) failed(asked, error);
  } finally {
    if (!signal.aborted) at('answer').removeAttribute('aria-busy');
  }
}

// required lists what must be known before anything can be computed.
function required({ values, assessable }) {
  const problems = [];
  if (!assessable) return problems;
  if (!values.involved) problems.push({ field: 'involved', severity: 'error', blocks: true, text: t('Choose the side under treatment.') });
  if (!values.date) problems.push({ field: 'date', severity: 'error', blocks: true, text: t('Enter the day of the visit.') });
  return problems;
}

function report(asked, problems) {
  showProblems(form, problems);
  showConfirmations(form, problems);
  showVisits(carried, problems, asked.values.date, { correct, leaveOut });
}

function wait(asked, problems) {
  report(asked, problems);
  at('answer').removeAttribute('aria-busy');
  if (problems.some(({ note }) => !note)) {
    outOfDate(t('No answer to what is entered now.'), problems);
    return;
  }
  current = null;
  clear(t('The answer appears here as the numbers are typed.'));
  settle();
}

function answered(asked, answer) {
  const { outcome } = resourcesIn(answer);
  const problems = [...asked.problems, ...placed(outcome?.issue ?? [], asked.places)];
  const shown = show(answer, asked.places, problems.filter(({ confirm }) => confirm), { into: at('result'), above: at('alarms') });
  report(asked, problems);
  current = { ...asked, answer };
  settle(shown, problems.filter(({ field, note, confirm }) => field && !note && !confirm));
  performance.clearMeasures('typed-to-answer');
  performance.measure('typed-to-answer', { start: typed, end: performance.now() });
}

// tooMany is the status of a request that was one too many for now (RFC 6585).
const tooMany = 429;

function failed(asked, error) {
  if (error instanceof Refusal) {
    if (error.status === 401 || error.status === 403) at('access').hidden = false;
    const problems = [...asked.problems, ...placed(error.issues, asked.places)];
    report(asked, problems);
    if (error.status < 500 && error.status !== tooMany) outOfDate(refusalText(error), problems);
    else later(t('The service cannot compute an answer now.'), problems);
    return;
  }
  report(asked, asked.problems);
  if (!(error instanceof Unreachable)) throw error;
  later(error.message, []);
}

// later says that an answer will be asked for again.
function later(text, problems) {
  outOfDate(`${text} ${t('What you entered stays here; it is tried again by itself.')}`, problems, button(t('Try again now'), () => schedule(0)));
  retry = setTimeout(refresh, retryPause);
}

const refusalText = ({ status }) => {
  if (status === 401 || status === 403) return t('The service asks for a valid access token: enter it under “Access to the service”.');
  return t('No answer to what is entered now.');
};

// outputs are what can be taken away of an answer.
const outputs = ['save-bundle', 'sheet', 'save-transaction'];

// settle shows that the answer belongs to what is in the fields.
function settle({ alarms, decision } = { alarms: [], decision: '' }, problems = []) {
  mark(false);
  isCurrent = true;
  record.show();
  const notUsed = problems.length > 0 ? [paragraph(t('Not everything was used:')), problemLinks(problems)] : [];
  at('state').replaceChildren(...notUsed);
  at('about').textContent = alarms.length > 0 ? aboutLine(current.values) : ''; // else the answer begins with it
  for (const id of outputs) at(id).disabled = !current;
  bar([warnings(alarms.length), decision].join(''), [...alarms, decision].join(' '));
}

const warnings = (count) => (count === 0 ? '' : `${t(count === 1 ? 'Attention: {count} warning.' : 'Attention: {count} warnings.', { count })} `);

const aboutLine = ({ patient, date, involved }) =>
  `${patient.trim() ? `${patient.trim()} · ` : ''}${t('visit of {date}', { date })} · ${t('involved side {side}', { side: t(involved) })}`;

// outOfDate shows why there is no answer, and that an earlier one is not it.
function outOfDate(text, problems, ...more) {
  const stale = current !== null;
  mark(stale);
  isCurrent = false;
  record.show();
  if (!stale) clear(t('The answer appears here once the problem above is solved.'));
  const parts = [paragraph(text, 'alert')];
  if (problems.length > 0) parts.push(problemLinks(problems));
  if (stale) parts.push(paragraph(t('What is shown below is of earlier numbers.')));
  at('state').replaceChildren(...parts, ...more);
  for (const id of outputs) at(id).disabled = true;
  bar(text);
}

// clear leaves nothing of an answer.
function clear(text) {
  at('result').replaceChildren(hint(text));
  at('alarms').replaceChildren();
}

// mark tells an answer to earlier numbers from that to what is entered, above
// which nothing stands but its alarms.
function mark(stale) {
  for (const id of ['alarms', 'result']) at(id).classList.toggle('stale', stale);
  if (stale) at('alarms').before(at('state'));
  else at('alarms').after(at('state'));
}

function problemLinks(problems) {
  const list = document.createElement('ul');
  for (const { field, text } of problems) {
    const item = document.createElement('li');
    if (field) {
      const link = document.createElement('a');
      link.href = `#${inputOf(field)}`;
      link.textContent = fieldName(field);
      item.append(link, `: ${text}`);
    } else {
      item.append(text);
    }
    list.append(item);
  }
  return list;
}

// bar shows the decision below a worksheet that fills the screen, and has it
// read aloud once typing rests, with the warnings in full.
function bar(text, aloud = text) {
  at('bar').hidden = text === '';
  at('bar').textContent = text;
  clearTimeout(speaker);
  speaker = setTimeout(() => { at('spoken').textContent = aloud; }, speakingPause);
}

function paragraph(text, kind = '') {
  const made = document.createElement('p');
  made.textContent = text;
  made.className = kind;
  return made;
}

const hint = (text) => paragraph(text, 'hint');

function button(text, act) {
  const made = document.createElement('button');
  made.type = 'button';
  made.textContent = text;
  made.addEventListener('click', act);
  return made;
}

function leaveOut(visit) {
  carried = without(carried, visit);
  at('history-summary').focus();
  change();
}

// patientFields are about the patient and not about one visit.
const patientFields = ['patient', 'involved', 'other-affected', 'repaired', 'repair-date', 'repair-kind'];

// correct takes an earlier visit into the fields. What stands there becomes an
// earlier visit in turn.
function correct(visit) {
  const values = read(form);
  const here = build(values, carried, names, invented).bundle.entry.slice(carried.length);
  const others = [...without(carried, visit), ...here.filter(({ resource }) => ['Observation', 'Practitioner'].includes(resource.resourceType))];
  const told = fieldsOf(visit.entries, carried);
  const ofPatient = Object.fromEntries(patientFields.map((field) => [field, values[field]]));
  const kept = {};
  for (const field of patientFields) {
    if (names.has(field)) kept[field] = names.of(field);
  }
  start({
    carried: others, values: { ...ofPatient, ...told.values }, names: kept, originals: told.originals, invented, ofRecord: record.isOpen,
  });
  unsaved = true;
  at('date').focus();
}

// start begins a worksheet anew, with what was kept of a file.
function start(kept = { carried: [], values: {}, names: {}, invented: false }) {
  form.reset();
  at('pasted').value = '';
  at('pasted-problems').replaceChildren();
  at('pasted-detail').textContent = '';
  carried = kept.carried;
  names = new Names();
  for (const [field, uuid] of Object.entries(kept.names)) names.keep(field, uuid);
  for (const [field, resource] of Object.entries(kept.originals ?? {})) names.keepOriginal(field, resource);
  invented = kept.invented;
  current = null;
  fill(form, { ...ofDevice(), date: today(), ...kept.values });
  for (const part of form.querySelectorAll('details[id]:not(#history)')) part.open = isFilled(part);
  typed = performance.now();
  unsaved = false;
  isCurrent = false;
  record.turn(Boolean(kept.ofRecord));
  refresh();
}

// ofDevice are the fields that the device remembers.
const ofDevice = () => Object.fromEntries(Object.entries(recall()).filter(([field]) => field !== 'language'));

// turn goes to the worksheet of another patient of the day.
function turn(choice) {
  leave();
  goTo(choice);
}

function leave() {
  day.leave({ carried, names, invented, unsaved, ofRecord: record.isOpen, values: read(form) });
}

function goTo(choice) {
  const kept = day.go(choice);
  at('patients').blur();
  if (!kept) {
    start();
    return;
  }
  start({ carried: kept.carried, values: kept.values, names: {}, invented: kept.invented, ofRecord: kept.ofRecord });
  names = kept.names;
  unsaved = kept.unsaved;
  refresh();
}

// takeOver puts what was read of a file onto the worksheets of the day, and goes to the first.
function takeOver(planned, said, isInvented) {
  const places = planned.map((one) => day.put(filled(one, day.sheets[one.at], { ...read(form), ...ofDevice() }, isInvented), one.at));
  goTo(places[0]);
  tell(said, 'note');
  at(read(form).involved === '' ? 'involved-right' : 'pain.during-resisted-test').focus();
}

// isFilled reports whether anything stands in the fields of a part of the form.
const isFilled = (part) =>
  [...part.querySelectorAll('input, select')].some((field) => !remembered.includes(field.name) && (field.type === 'checkbox' ? field.checked : field.value !== ''));

// today is the day on the wall of the clinic.
function today() {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
}

// content gives what is in a file. Nothing can be entered while it is read: it would be
// on the worksheet that the file takes the place of.
async function content(reading) {
  const focused = document.activeElement;
  document.body.inert = true;
  try {
    return await reading;
  } finally {
    document.body.inert = false;
    focused?.focus();
  }
}

function openText(text) {
  try {
    const kept = record.joins(readFile(text));
    if (!mayDiscard()) return;
    start(kept);
    showVisits(carried, [], read(form).date, { correct, leaveOut });
    at('history-summary').focus();
  } catch (error) {
    tell(`${t('Error')} – ${error.message}`, 'problem');
    at('pasted-detail').textContent = error.cause ?? '';
  }
}

// tell says below the head of the page what became of a file.
function tell(text, kind) {
  const item = document.createElement('li');
  item.className = kind;
  item.textContent = text;
  at('pasted-problems').replaceChildren(item);
  item.scrollIntoView({ block: 'nearest' });
}

const mayDiscard = () => !unsaved || window.confirm(t('What was entered here and not saved will be lost. Go on?'));

async function saveTransaction() {
  const asked = current;
  const { bundle, places, values } = asked;
  const before = typed;
  try {
    const text = await assess(write(parameters(bundle, values, 'transaction')), at('token').value);
    save(transaction(bundle, places, parse(text)), fileName('record', values));
    if (typed === before) unsaved = false;
  } catch (error) {
    if (current === asked) failed(asked, error);
  }
}

// print makes the sheet that was chosen from the menu.
async function print({ target }) {
  const sheet = target.value;
  target.value = '';
  if (sheet === 'page') {
    window.print();
    return;
  }
  const asked = current;
  const { bundle, values } = asked;
  try {
    const text = await assess(write(parameters(bundle, values, 'collection', sheet)), at('token').value);
    savePDF(JSON.parse(text), fileName(sheet, values, 'pdf'));
  } catch (error) {
    if (current === asked) failed(asked, error);
  }
}

// speak shows the page in a language.
function speak(tag) {
  choose(tag);
  at('language').value = language();
  document.title = t('Shoulder re-check worksheet');
  translate(document.body);
  nameFields(form);
  nameMeasures();
  record.show();
}

function saveBundle() {
  save(current.bundle, fileName('visit', current.values));
  unsaved = false;
}

function showExample(visit) {
  if (!mayDiscard()) return;
  const kept = new Names();
  const of = { patient: kept.of('patient'), involved: kept.of('involved') };
  start({ ...example(visit, kept), names: of, invented: true });
  at('answer').scrollIntoView({ block: 'nearest' });
}

const wedge = new Wedge();

// endReading goes on to the next number, and reports whether there is one.
function endReading(field) {
  const reading = field.name.startsWith('trial.') ? withoutUnit(field.value, at('unit').value) : field.value;
  if (reading !== field.value) {
    field.value = reading;
    change();
  }
  return next(form, field);
}

buildRare();
buildTables();
form.addEventListener('input', ({ target }) => {
  if (target.id === 'pasted') return;
  withdraw(form, target.name);
  remember(target.name, target.value);
  change();
});
form.addEventListener('submit', (event) => event.preventDefault());
form.addEventListener('keydown', (event) => {
  if (event.key.toLowerCase() === 'r' && !event.ctrlKey && !event.metaKey && repeat(form, event.target)) {
    event.preventDefault();
    change();
    return;
  }
  if (event.target.tagName !== 'INPUT') return;
  const { key, timeStamp, shiftKey, target } = event;
  const meaning = wedge.press({ key, field: target.name, value: target.value, at: timeStamp, shift: shiftKey });
  const isLeft = meaning === 'next' && endReading(target);
  if (key === 'Enter' || isLeft) event.preventDefault();
});
form.addEventListener('paste', (event) => {
  if (!spread(form, event.target, event.clipboardData.getData('text/plain'))) return;
  event.preventDefault();
  withdrawAll(form);
  change();
});
// A link to a field opens the part that the field is folded away in.
document.addEventListener('click', ({ target }) => {
  const field = at(target.closest('a[href^="#"]')?.getAttribute('href').slice(1));
  const folded = field?.closest('details');
  if (folded) folded.open = true;
});
at('new').addEventListener('click', () => { if (mayDiscard()) start(); });
at('open').addEventListener('click', () => at('file').click());
at('file').addEventListener('change', async ({ target }) => {
  const [file] = target.files;
  if (file) openText(await content(file.text()));
  target.value = '';
});
const importing = new Importing({ sheets: () => { leave(); return day.sheets; }, shown: () => day.shown, take: takeOver });
at('open-table').addEventListener('click', () => at('table').click());
at('table').addEventListener('change', async ({ target }) => {
  const [file] = target.files;
  try {
    if (file) importing.open(new Uint8Array(await content(file.arrayBuffer())), file.name);
  } catch (error) {
    tell(`${t('Error')} – ${error.message}`, 'problem');
  }
  target.value = '';
});
at('example-table').addEventListener('click', () => importing.open(new TextEncoder().encode(exampleFile), at('example-table').textContent, true));
at('paste').addEventListener('click', () => openText(at('pasted').value));
at('save-bundle').addEventListener('click', saveBundle);
at('save-transaction').addEventListener('click', saveTransaction);
at('patients').addEventListener('change', ({ target }) => turn(target.value));
at('sheet').addEventListener('change', print);
at('language').addEventListener('change', ({ target }) => {
  remember('language', target.value);
  speak(target.value);
  schedule(0);
});
for (const choice of document.querySelectorAll('[data-example]')) {
  choice.addEventListener('click', () => showExample(Number(choice.dataset.example)));
}
// The bar repeats the decision only while the answer itself is out of sight.
new IntersectionObserver(([{ isIntersecting }]) => at('bar').classList.toggle('idle', isIntersecting)).observe(at('answer-heading'));
speak(recall().language ?? navigator.language.slice(0, 2));
loadMeasures(() => { buildMeasures(); speak(language()); schedule(0); });
window.addEventListener('online', () => schedule(0));
window.addEventListener('beforeunload', (event) => { if (unsaved || day.hasUnsaved) event.preventDefault(); });
start();
record.arrive();
