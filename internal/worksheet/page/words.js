// The words of the page in its languages. Its own texts are written in English where they
// are used; a file a language says them in another.

import { de } from './words/de.js';
import { fr } from './words/fr.js';
import * as launch from './words/launch.js';

/** The languages of the page, each with its words by the English text. */
export const languages = { en: {}, de: { ...de, ...launch.de }, fr: { ...fr, ...launch.fr } };

let language = 'en';

/** current is the BCP 47 tag of the language that is shown. */
export const current = () => language;

/** choose sets the language; one that is not known leaves it. */
export function choose(tag) {
  if (tag in languages) language = tag;
}

/** t says an English text in the language; {name} stands for a value. */
export function t(text, values = {}) {
  return (languages[language][text] ?? text).replace(/\{(\w+)\}/g, (place, name) => values[name] ?? place);
}

/** capital begins a text with a capital letter. */
export const capital = (text) => `${text[0].toUpperCase()}${text.slice(1)}`;

const originals = new WeakMap(); // the English of each text and label of the page

/** parts outside of which everything is the page's own and constant. */
const written = '#result, #alarms, #state, #about, #visits, #history-summary, #bar, #spoken, #patients, #record-patient, #record-denied, #record-state, #launch-state, #launch-records, #pasted-detail, #import-file, #import-columns, #import-said, #import-preview, #scores .field, .problems, .last, [data-side], script, style';

/** translate says all constant texts below an element in the language. */
export function translate(root) {
  document.documentElement.lang = language;
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode;
    if (text.data.trim() === '' || text.parentElement.closest(written)) continue;
    if (!originals.has(text)) originals.set(text, text.data);
    const english = originals.get(text);
    text.data = english.replace(english.trim(), () => t(english.trim()));
  }
  for (const element of root.querySelectorAll('[aria-label]')) {
    if (!originals.has(element)) originals.set(element, element.getAttribute('aria-label'));
    element.setAttribute('aria-label', t(originals.get(element)));
  }
}
