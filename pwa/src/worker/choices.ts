// What has been chosen on this phone: language, units, theme. What was not follows the
// browser or the shop.

import type { Prefs } from '../bridge/api';

export class Choices {
  readonly #browser: string;
  #prefs: Partial<Prefs> = {};

  // browser is the language of the browser.
  constructor(browser: string) {
    this.#browser = browser;
  }

  // know takes what was chosen so far; add puts more on top of it.
  know(prefs: Partial<Prefs>): void {
    this.#prefs = prefs;
  }
  add(prefs: Partial<Prefs>): void {
    this.#prefs = { ...this.#prefs, ...prefs };
  }

  // chosen holds only what somebody has chosen.
  get chosen(): Partial<Prefs> {
    return this.#prefs;
  }

  // style is how a core is to print under these choices; units "" leaves them to the
  // shop. Page and core speak the same language.
  style(): { lang: Prefs['lang']; units: string } {
    const { lang, units } = this.#prefs;
    return { lang: lang ?? (this.#browser.toLowerCase().startsWith('es') ? 'es' : 'en'), units: units ?? '' };
  }

  // filled is what applies, chosen or not; shopUnits are those of the shop.
  filled(shopUnits: string): Prefs {
    return {
      lang: this.style().lang,
      units: this.#prefs.units ?? (shopUnits === 'us' ? 'us' : 'metric'),
      theme: this.#prefs.theme ?? 'auto',
    };
  }
}
