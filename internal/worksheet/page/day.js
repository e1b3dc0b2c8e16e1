// The patients of the day: several worksheets in one tab. They are in this page's memory
// alone, and gone with the tab.

import { t } from './words.js';

/** Another is the choice of a further patient. */
export const another = 'another';

export class Day {
  #sheets = [{}];
  #at = 0;

  /** leave keeps what is on the worksheet that is shown. */
  leave(sheet) {
    this.#sheets[this.#at] = sheet;
  }

  /** go turns to a chosen worksheet and gives what was kept of it; undefined for a new one. */
  go(choice) {
    this.#at = choice === another ? this.#sheets.push({}) - 1 : Number(choice);
    return this.#sheets[this.#at].values && this.#sheets[this.#at];
  }

  /** sheets are all worksheets; that which is shown is as it was left. */
  get sheets() {
    return this.#sheets;
  }

  /** shown is the place of the worksheet that is shown. */
  get shown() {
    return this.#at;
  }

  /** put puts a worksheet at a place, or behind the others without one, and gives its place. */
  put(sheet, at = this.#sheets.length) {
    this.#sheets[at] = sheet;
    return at;
  }

  /** hasUnsaved reports whether a worksheet that is not shown was not saved. */
  get hasUnsaved() {
    return this.#sheets.some(({ unsaved }, i) => unsaved && i !== this.#at);
  }

  /** list fills the menu of patients; the one that is shown is of a name. */
  list(menu, name) {
    const names = this.#sheets.map(({ values }, i) => (i === this.#at ? name : values?.patient ?? '').trim() || t('patient {number}', { number: i + 1 }));
    menu.replaceChildren(...names.map((text, i) => new Option(text, i)), new Option(t('another patient…'), another));
    menu.value = String(this.#at);
  }
}
