// An instrument that types its readings, told from a person by its speed; without a browser.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Wedge, withoutUnit } from '../page/wedge.js';

/** meanings types keys into a field, so many milliseconds apart, and gives what the last ones mean. */
function meanings(keys, pause, wedge = new Wedge(), from = 1000) {
  let value = '';
  return keys.map((key, i) => {
    const meaning = wedge.press({ key, field: 'a', value, at: from + i * pause, shift: false });
    if (key.length === 1) value += key;
    if (key === 'Enter') value = ''; // the next field is empty
    return meaning;
  });
}

for (const [name, keys, pause, wanted] of [
  ['Enter ends a reading of an instrument', ['8', '2', '.', '5', 'Enter'], 4, 'next'],
  ['and one that a person typed', ['8', '2', 'Enter'], 200, 'next'],
  ['Tab ends a reading of an instrument', ['8', '2', '.', '5', 'Tab'], 20, 'next'],
  ['Tab of a person is left to the browser', ['8', '2', '.', '5', 'Tab'], 90, ''],
  ['so is a Tab without a reading', ['Tab'], 4, ''],
  ['and one after a single key', ['8', 'Tab'], 4, ''],
  ['CR and LF are one end', ['8', '2', 'Enter', 'Enter'], 4, 'nothing'],
  ['a person may press Enter twice', ['8', '2', 'Enter', 'Enter'], 200, 'next'],
]) test(name, () => assert.equal(meanings(keys, pause).at(-1), wanted));

test('Tab backwards is left to the browser', () => {
  const wedge = new Wedge();
  meanings(['8', '2'], 4, wedge);
  assert.equal(wedge.press({ key: 'Tab', field: 'a', value: '82', at: 1008, shift: true }), '');
});

test('keys in two fields are no reading', () => {
  const wedge = new Wedge();
  meanings(['8', '2'], 4, wedge);
  assert.equal(wedge.press({ key: 'Tab', field: 'b', value: '', at: 1008, shift: false }), '');
});

test('a unit behind the reading is left out if it is the chosen one', () => {
  for (const [typed, unit, wanted] of [['82.5 N', 'N', '82.5'], ['8,4kgf', 'kgf', '8.4'], ['82.5 N', 'kgf', '82.5 N'], ['82.5', 'N', '82.5'], ['82,5', 'N', '82,5'], ['82.5 x', 'N', '82.5 x'], ['', 'N', '']]) {
    assert.equal(withoutUnit(typed, unit), wanted, typed);
  }
});
