// The words of the page: what is said in English is said in the other languages.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { languages } from '../page/words.js';

const folder = new URL('../page/', import.meta.url);

/** texts are the constant texts of the page: those of index.html, and of t in its modules. */
function texts() {
  const html = readFileSync(new URL('index.html', folder), 'utf8').replace(/<head>[^]*?<\/head>/, '');
  const found = [...html.matchAll(/>([^<]+)</g), ...html.matchAll(/aria-label="([^"]+)"/g)].map(([, text]) => text.trim());
  for (const name of readdirSync(folder).filter((file) => file.endsWith('.js'))) {
    const source = readFileSync(new URL(name, folder), 'utf8');
    for (const [, first, second] of source.matchAll(/\bt\((?:[^()'`]*\? )?'([^']+)'(?: : '([^']+)')?/g)) found.push(first, second ?? first);
  }
  return new Set(found.filter((text) => /[a-z]{3}/i.test(text) && !own.has(text)));
}

// What is the same in all languages, or named by fieldName.
const own = new Set(['English', 'Deutsch', 'Français', 'kgf', 'lbf', 'kgf·m', 'kgf·cm', 'lbf·in', 'lbf·ft',
  'active flexion, right, degrees', 'active flexion, left, degrees', 'active abduction, right, degrees', 'active abduction, left, degrees']);

const placeholders = (text) => [...text.matchAll(/\{\w+\}/g)].map(([name]) => name).toSorted();

for (const [language, words] of Object.entries(languages).filter(([tag]) => tag !== 'en')) {
  test(`every text is said in ${language}`, () => {
    const wanted = texts();
    assert.equal(wanted.size > 120, true, `${wanted.size} texts`);
    assert.deepEqual([...wanted].filter((text) => !(text in words)), []);
  });

  test(`the texts in ${language} have the values of the English ones`, () => {
    for (const [english, text] of Object.entries(words)) assert.deepEqual(placeholders(text), placeholders(english), english);
  });
}

test('the languages say the same texts', () => {
  assert.deepEqual(Object.keys(languages.de).toSorted(), Object.keys(languages.fr).toSorted());
});
