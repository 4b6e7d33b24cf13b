// Two ways to fill a field: a finger on the keypad of a phone, and a keyboard. Both tap,
// click and press keys for real; nothing here sets a value.

// centre brings an element into the middle of the screen and says where it is.
const centre = (page, element) =>
  page.evaluate((e) => {
    e.scrollIntoView({ block: 'center' });
    const { x, y, width, height } = e.getBoundingClientRect();
    return [x + width / 2, y + height / 2];
  }, element);

// settled waits until the form or sum has worked out what stands in it.
export const settled = (page) =>
  page.waitForFunction(() => document.querySelector('[aria-busy="true"], .waiting') === null, undefined, {
    polling: 20,
  });

// finger is a hand on a touch screen. A figure goes in by the keypad that the field
// opens; a text by the phone's own keyboard.
export const finger = {
  phone: { isMobile: true },
  async tap(page, element) {
    await page.touchscreen.tap(...(await centre(page, element)));
  },
  async figure(page, input, text) {
    await this.tap(page, input);
    const keys = await page
      .waitForFunction(() => {
        const pad = document.querySelector('.pad');
        if (pad === null) return null;
        const at = (b) => {
          if (b === null || b === undefined) return undefined;
          const { x, y, width, height } = b.getBoundingClientRect();
          return [x + width / 2, y + height / 2];
        };
        const digits = [...pad.querySelectorAll('.pad-digit')].map((b) => [
          b.textContent === '±' ? '-' : b.textContent,
          at(b),
        ]);
        return {
          ...Object.fromEntries(digits),
          ' ': at(pad.querySelector('.pad-unit:not([aria-pressed])')),
          '<': at(pad.querySelector('.pad-side')),
          done: at(pad.querySelector('.pad-done')),
        };
      })
      .then((h) => h.jsonValue());
    const press = async (key) => {
      if (keys[key] === undefined) throw new Error(`the keypad has no key for "${key}" of "${text}"`);
      await page.touchscreen.tap(...keys[key]);
    };
    for (let left = (await value(page, input)).length; left > 0; left--) await press('<');
    const figures = text.split(' ');
    for (const [i, figure] of figures.entries()) {
      if (i > 0) await press(' ');
      for (const key of figure.replace('-', '')) await press(key);
      if (figure.startsWith('-')) await press('-');
    }
    await press('done');
    await page.waitForFunction(() => document.querySelector('.pad') === null); // it moves the page when it goes
  },
  async text(page, input, text) {
    await keyboard.type(page, input, text, this);
  },
};

// keyboard is a person at a computer: a click into the field, then keys.
export const keyboard = {
  phone: { hasTouch: false, viewport: { width: 1100, height: 900 } },
  async tap(page, element) {
    await page.mouse.click(...(await centre(page, element)));
  },
  async figure(page, input, text) {
    await this.type(page, input, text);
  },
  async text(page, input, text) {
    await this.type(page, input, text);
  },
  async type(page, input, text, hand = this) {
    await hand.tap(page, input);
    await page.keyboard.press('ControlOrMeta+a');
    await page.keyboard.press('Delete');
    await page.keyboard.type(text);
  },
};

export const value = (page, input) => page.evaluate((e) => e.value, input);
