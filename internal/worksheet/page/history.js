// The earlier visits of an opened file.

import { dayOf } from './open.js';
import { fits } from './revisit.js';
import { t } from './words.js';

/** visitsIn lists the days of the carried Observations, oldest first. */
export function visitsIn(carried) {
  const visits = new Map();
  for (const entry of carried) {
    if (entry.resource.resourceType !== 'Observation') continue;
    const day = dayOf(entry.resource) || t('without a date');
    visits.set(day, [...(visits.get(day) ?? []), entry]);
  }
  return [...visits].sort(([a], [b]) => a.localeCompare(b)).map(([day, entries]) => ({ day, entries }));
}

/** without leaves a visit out of the carried entries. */
export function without(carried, visit) {
  return carried.filter((entry) => !visit.entries.includes(entry));
}

/**
 * showVisits lists the visits with what is wrong in them.
 * @param {{correct: function, leaveOut: function}} acts are called with a visit
 */
export function showVisits(carried, problems, today, acts) {
  const visits = visitsIn(carried);
  const items = visits.map((visit) => visitItem(visit, problems, today, acts));
  document.getElementById('visits').replaceChildren(...items);
  const history = document.getElementById('history');
  history.hidden = carried.length === 0;
  if (items.some((item) => item.querySelector('.problem'))) history.open = true;
  document.getElementById('history-summary').textContent = summary(carried, visits);
}

function summary(carried, visits) {
  const count = t(visits.length === 1 ? '{count} earlier visit' : '{count} earlier visits', { count: visits.length });
  const days = visits.length > 0 ? `, ${[...new Set([visits[0].day, visits.at(-1).day])].join(` ${t('to')} `)}` : '';
  const others = new Set(carried.map(({ resource }) => kinds[resource.resourceType]).filter(Boolean));
  return `${count}${days}${others.size > 0 ? `; ${t('from the record:')} ${[...others].map((other) => t(other)).join(', ')}` : ''}`;
}

const kinds = { Condition: 'condition', Procedure: 'operation' };

function visitItem(visit, problems, today, acts) {
  const item = document.createElement('li');
  const label = document.createElement('span');
  const count = visit.entries.length;
  label.textContent = `${visit.day}: ${t(count === 1 ? '{count} entry' : '{count} entries', { count })}`;
  item.append(label);
  if (fits(visit.entries)) item.append(button(t('Correct'), t('Correct the visit of {day}', { day: visit.day }), visit, acts.correct));
  item.append(button(t('Leave out'), t('Leave out the visit of {day}', { day: visit.day }), visit, acts.leaveOut));
  const said = problems.filter(({ carried }) => visit.entries.includes(carried));
  if (visit.day === today) said.push({ text: t('The same day as the visit below: what is entered there counts as part of it.') });
  if (said.length > 0) item.append(problemList(said));
  return item;
}

function button(text, name, visit, act) {
  const made = document.createElement('button');
  made.type = 'button';
  made.textContent = text;
  made.setAttribute('aria-label', name);
  made.addEventListener('click', () => act(visit));
  return made;
}

function problemList(problems) {
  const list = document.createElement('ul');
  list.className = 'problems';
  const texts = new Map(problems.map(({ text, note }) => [text, note]));
  for (const [text, note] of texts) {
    const item = document.createElement('li');
    item.className = note ? 'note' : 'problem';
    item.textContent = `${t(note ? 'Note' : 'Check')} – ${text}`;
    list.append(item);
  }
  return list;
}
