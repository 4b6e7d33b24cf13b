// Every form and every sum takes what is typed into it, by the keypad of a phone and by
// a keyboard, in both languages and both systems of units; and a form that cannot be
// saved says why, beside the button, and leads to the field. Forms and sums are found by
// following links, so that a new one is covered by itself.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { fillForm, openForm, pressSave } from './forms.mjs';
import { finger, keyboard, settled, value } from './hands.mjs';
import { openBrowser, openShop } from './lib.mjs';
import { makeTrouble } from './trouble.mjs';
import { crawl, openPerson, speak, visit } from './walk.mjs';

let shop, browser, hands, forms, sums;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  const code = await makeTrouble(shop);
  hands = await Promise.all(
    [finger, keyboard].map(async (hand) => ({
      hand,
      ...(await openPerson(browser, shop.url, 'manager', await code('manager'), hand.phone)),
    })),
  );
  // A link may carry a figure as it is printed in the language of the one who has it.
  const all = Object.fromEntries(
    await Promise.all(
      hands.map(async ({ page }, i) => {
        const lang = ['en', 'es'][i];
        await speak(page, lang);
        return [lang, await crawl(page, () => undefined)];
      }),
    ),
  );
  sums = all.en.filter((to) => /^#\/sums\/./.test(to));
  // Forms of one task that are opened with the same things given are one form.
  const formsOf = (links) => [
    ...new Map(links.filter((to) => to.startsWith('#/do/')).map((to) => [to.replace(/=[^&]*/g, ''), to])).values(),
  ];
  forms = { en: formsOf(all.en), es: formsOf(all.es) };
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

test('links lead to the form of every task and to every sum', () => {
  const source = (dir) =>
    readdirSync(new URL(`../../domain/${dir}/`, import.meta.url))
      .filter((f) => /^[a-z_]+(?<!_test)\.go$/.test(f))
      .map((f) => readFileSync(new URL(`../../domain/${dir}/${f}`, import.meta.url), 'utf8'))
      .join('\n');
  const tasks = [...source('task').matchAll(/"([a-z.]+)": \(\*planner\)/g)].map((m) => m[1]);
  const calcs = [...source('calc').matchAll(/Name:\s+"([a-z]+\.[a-z-]+)"/g)].map((m) => m[1]);
  assert.ok(tasks.length >= 29 && calcs.length >= 38);
  const linked = new Set(forms.en.map((to) => /^#\/do\/([^?]*)/.exec(to)[1]));
  assert.deepEqual(
    tasks.filter((t) => !linked.has(t)),
    [],
  );
  assert.deepEqual(
    calcs.filter((c) => !sums.includes(`#/sums/${c}`)),
    [],
  );
});

// both runs the same walk with either hand, at once.
const both = async (lang, units, walk) => {
  const wrong = await Promise.all(
    hands.map(async ({ hand, page, faults }) => {
      await speak(page, lang, units);
      const said = [];
      await walk(hand, page, (text) => said.push(`${hand === finger ? 'finger' : 'keyboard'}: ${text}`));
      return [...said, ...faults];
    }),
  );
  assert.deepEqual(wrong.flat(), []);
};

for (const [lang, units] of [
  ['en', 'metric'],
  ['es', 'us'],
  ['en', 'us'],
  ['es', 'metric'],
]) {
  test(`every form: ${lang}, ${units}`, () =>
    both(lang, units, async (hand, page, say) => {
      for (const to of forms[lang]) {
        await openForm(hand, page, to);
        await pressSave(hand, page, (text) => say(`${to}: ${text}`));
        await openForm(hand, page, to);
        await fillForm(hand, page, (text) => say(`${to}: ${text}`));
      }
    }));
}

// A sum stands filled with its example. Each figure is taken away and typed again as it
// stood there; then the result is the same.
for (const [lang, units] of [
  ['en', 'us'],
  ['es', 'metric'],
]) {
  test(`every sum takes its own figures: ${lang}, ${units}`, () =>
    both(lang, units, async (hand, page, say) => {
      for (const to of sums) {
        await visit(page, to);
        const result = () => page.locator('section[aria-live]').innerText();
        const before = await result();
        const inputs = await page.$$('.sum-form .number input');
        for (const input of inputs) {
          const own = await value(page, input),
            typed = own === '' ? '1' : own;
          const about = async () =>
            `${to}: ${await page.evaluate((e) => e.closest('.field').querySelector('label').textContent, input)}`;
          await hand.figure(page, input, typed).catch(async (e) => say(`${await about()}: ${e.message}`));
          if ((await value(page, input)) !== typed)
            say(`${await about()}: typed ${typed}, stands ${await value(page, input)}`);
          if (own !== '') continue;
          const fault = await page.evaluate((e) => e.closest('.field').querySelector('.fault')?.textContent, input);
          if (fault !== undefined) say(`${await about()}: typed 1: ${fault}`);
          await hand.figure(page, input, '');
        }
        await settled(page);
        if ((await result()) !== before) say(`${to}: gave ${before}, now ${await result()}`);
      }
    }));
}
