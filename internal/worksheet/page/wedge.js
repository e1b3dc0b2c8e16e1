// A measuring instrument that types its readings as a keyboard does, and ends each by Enter
// or Tab. It is told from a person by its speed.

import { numberIn, unitIn } from './columns.js';

// quick is the longest time between two keys of an instrument, in milliseconds. Ours: a
// person who types fast takes 80.
const quick = 50;

/** Wedge follows the keys, to tell what ends a reading. */
export class Wedge {
  #field = '';
  #at = -Infinity;
  #run = 0; // keys in a row that came quickly, in one field
  #ended = -Infinity;

  /**
   * press takes a key and tells what it means for a field of a number: 'next' for the end of
   * a reading, 'nothing' for a key that must do nothing, '' for any other.
   * @param {{key: string, field: string, value: string, at: number, shift: boolean}} pressed at a time in milliseconds
   */
  press({ key, field, value, at, shift }) {
    const follows = field === this.#field && at - this.#at <= quick;
    const meaning = this.#meaning(key, value, shift, at, follows);
    this.#run = key.length === 1 ? (follows ? this.#run + 1 : 1) : 0;
    this.#field = field;
    this.#at = at;
    if (meaning !== '') this.#ended = at;
    return meaning;
  }

  #meaning(key, value, shift, at, follows) {
    if (key === 'Enter') return value === '' && at - this.#ended <= quick ? 'nothing' : 'next'; // CR and LF are one end
    return key === 'Tab' && !shift && follows && this.#run > 1 ? 'next' : '';
  }
}

/** withoutUnit is a reading without the unit that is typed behind it, if that is the chosen one. */
export function withoutUnit(typed, unit) {
  const found = numberIn(typed);
  return found && found.unit !== '' && unitIn(found.unit) === unit ? found.value : typed;
}
