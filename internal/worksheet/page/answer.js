// The answer beside the worksheet: what the service wrote, the decision first.

import { chart, chartData } from './chart.js';
import { codes } from './codes.js';
import { fieldName, inputOf, readable } from './problems.js';
import { sanitised } from './sanitise.js';
import { t } from './words.js';

/** resourcesIn lists the resources of a Bundle by type. */
export function resourcesIn(bundle) {
  const all = (bundle.entry ?? []).map(({ resource }) => resource);
  const of = (type) => all.filter(({ resourceType }) => resourceType === type);
  return { observations: of('Observation'), report: of('DiagnosticReport')[0], plan: of('CarePlan')[0], outcome: of('OperationOutcome')[0] };
}

/**
 * show writes an answer into its part of the page and the alarms, which are red
 * flags and doubts, into another; it gives both in words. What the report and the
 * plan both say is shown once; what closes both, such as the cautions, stays last.
 * @param {Array} doubts problems that the reader can settle in a field
 */
export function show(bundle, places, doubts, { into, above }) {
  const { observations, report, plan } = resourcesIn(bundle);
  const findings = narrative(report, places);
  const proposal = narrative(plan, places);
  const isIn = (parts) => (part) => parts.some(({ textContent }) => textContent === part.textContent);
  const closing = findings.findLastIndex(isIn(proposal));
  const end = closing > 1 ? findings.splice(closing) : [];
  const [opening, ...details] = findings;
  const own = proposal.slice(1).filter((part) => !isIn([...findings, ...end])(part));
  const picture = chart(chartData(observations), into.clientWidth);
  into.replaceChildren(...[opening, picture && figure(picture), ...details, ...own, ...end].filter(Boolean));
  const alarms = takeAlarms(opening);
  const examine = asksForExamination(plan) ? [toExamination] : [];
  above.replaceChildren(...framed(alarms, [...examine, ...doubts.map(toConfirm)]));
  return { alarms: alarms.map(({ textContent }) => textContent), decision: opening?.querySelector('b')?.textContent ?? '' };
}

// takeAlarms takes the bold lines before the decision out of the opening.
function takeAlarms(opening) {
  const lines = [...opening?.querySelectorAll('p > b') ?? []].slice(0, -1).map((bold) => bold.parentElement);
  for (const line of lines) line.remove();
  return lines;
}

// framed puts the alarms under a word that calls attention, with the ways to
// settle them.
function framed(alarms, links) {
  if (alarms.length === 0) return [];
  const head = document.createElement('p');
  head.className = 'alarms-head';
  head.textContent = t('Attention');
  return [head, ...alarms, ...links.map(settling)];
}

function settling({ before, field, text }) {
  const line = document.createElement('p');
  const link = document.createElement('a');
  link.href = `#${inputOf(field)}`;
  link.textContent = field === 'examined' ? t('Record an examination') : text;
  line.append(before && t(before), link);
  return line;
}

const toExamination = { before: '', field: 'examined' };

const toConfirm = ({ field }) => ({ before: 'Repeat, correct or confirm: ', field, text: fieldName(field) });

const asksForExamination = (plan) =>
  plan?.activity?.some(({ detail }) => detail?.code?.coding?.some(({ code }) => code === codes.examination));

/** narrative is that of a resource, a section for each heading. */
function narrative(resource, places) {
  if (!resource?.text?.div) return [];
  const clean = sanitised(resource.text.div);
  for (const text of textsIn(clean)) text.data = readable(text.data, places);
  for (const table of clean.querySelectorAll('table')) unfold(table);
  const sections = [];
  const nodes = clean.children.length === 1 ? clean.children[0].childNodes : clean.childNodes;
  for (const node of [...nodes]) {
    if (sections.length === 0 || /^H[3-6]$/.test(node.nodeName)) sections.push(document.createElement('section'));
    sections.at(-1).append(node);
  }
  return sections;
}

function textsIn(root) {
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  const texts = [];
  while (walker.nextNode()) texts.push(walker.currentNode);
  return texts;
}

// notedColumns is how many columns the table with notes has; the last has the notes.
const notedColumns = 7;

// unfold moves the notes, which stand in a narrow last column, below their row, and
// lets a wide table be scrolled under the name of its section.
function unfold(table) {
  const columns = table.tHead?.rows[0]?.cells.length ?? 0;
  if (columns < notedColumns) return;
  if (columns === notedColumns) moveNotes(table, columns);
  const frame = document.createElement('div');
  frame.className = 'scroll';
  frame.tabIndex = 0;
  frame.setAttribute('role', 'region');
  frame.setAttribute('aria-label', table.previousElementSibling?.textContent ?? t('Table of strength'));
  table.replaceWith(frame);
  frame.append(table);
}

function moveNotes(table, columns) {
  table.tHead.rows[0].cells[columns - 1].remove();
  for (const row of table.querySelectorAll('tbody tr')) {
    if (row.cells.length === 1) row.cells[0].colSpan = columns - 1;
    if (row.cells.length !== columns) continue;
    const notes = row.cells[columns - 1];
    notes.remove();
    if (notes.textContent.trim() === '') continue;
    const below = document.createElement('tr');
    below.className = 'notes';
    notes.colSpan = columns - 1;
    below.append(notes);
    row.after(below);
  }
}

function figure(picture) {
  const made = document.createElement('figure');
  const caption = document.createElement('figcaption');
  caption.textContent = t('Limb symmetry index: at 100 % the involved side is as strong as the comparison side.');
  made.append(picture, caption);
  return made;
}
