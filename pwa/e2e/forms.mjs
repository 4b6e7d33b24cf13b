// Filling a form of the app, whatever fields it has.
import { settled, value } from './hands.mjs';
import { visit } from './walk.mjs';

// openForm opens a form afresh: what was begun there before is put away.
export async function openForm(hand, page, to) {
  await visit(page, '#/status');
  await visit(page, to);
  const afresh = await page.$('.restored button');
  if (afresh === null) return;
  await hand.tap(page, afresh);
  await settled(page);
}

// pressSave presses the button of a form as it opened. Either it is saved, or warnings
// ask for a reason, or it says why not: beside the button, in words, and a tap leads to
// the field.
export async function pressSave(hand, page, say) {
  // What stands in the form is taken away first, or it might be saved as it is.
  for (const input of await page.$$('.task-fields .number input'))
    if ((await value(page, input)) !== '') await hand.figure(page, input, '');
  for (const input of await page.$$('.task-fields .field > input[type=text]'))
    if ((await value(page, input)) !== '') await hand.text(page, input, '');
  await settled(page);
  await hand.tap(page, await page.$('.task-foot button.main'));
  const outcome = await page
    .waitForFunction(
      () => {
        if (document.querySelector('.task') === null) return 'saved';
        if (document.querySelector('dialog[open]') !== null) return 'asks';
        const why = [...document.querySelectorAll('.task-foot .foot-note.is-bad')];
        return why.length === 0 ? null : why.map((e) => e.textContent);
      },
      undefined,
      { timeout: 10_000, polling: 50 },
    )
    .then(
      (h) => h.jsonValue(),
      () => null,
    );
  if (outcome === null) return say('the button does nothing and says nothing');
  if (!Array.isArray(outcome)) return;
  for (const text of outcome) if (!/\p{L}{3}.*[.]/u.test(text)) say(`it says ${text}`);
  const lines = await page.$$('.task-foot button.foot-note.is-bad');
  const here = await page.evaluate(() => document.querySelectorAll('.task-fields .has-fault').length);
  if (lines.length === 0 && here > 0) say(`no way from ${outcome} to the field`);
  for (const line of lines) {
    await page.evaluate(() => document.activeElement?.blur());
    await page.waitForFunction(() => document.querySelector('.pad') === null); // it moves the page when it goes
    await hand.tap(page, line);
    const isThere = await page
      .waitForFunction(
        () => document.activeElement?.closest('.has-fault [data-field], [data-field].has-fault') !== null,
        undefined,
        { timeout: 5000 },
      )
      .then(
        () => true,
        () => false,
      );
    if (!isThere) say(`${await line.textContent()} leads nowhere`);
  }
}

// fillForm fills every field, those also that appear on the way, and says which will not
// take what was typed.
export async function fillForm(hand, page, say) {
  const done = new Set();
  for (;;) {
    const names = await page.$$eval('.task-fields [data-field]', (list) => list.map((e) => e.dataset.field));
    const name = names.find((n) => !done.has(n));
    if (name === undefined) break;
    done.add(name);
    await fillField(hand, page, name, (text) => say(`${name}: ${text}`));
    await settled(page);
  }
  // What lies outside its range shows once nothing else is wrong.
  for (const at of [1, 2, 3]) {
    for (const name of await page.$$eval('.task-fields .has-fault:has(.number)', (list) =>
      list.map((e) => e.dataset.field),
    )) {
      await fillFigure(
        hand,
        page,
        name,
        await page.$(`.task-fields [data-field="${name}"] input`),
        () => undefined,
        at,
      );
      await settled(page);
    }
  }
  // Enter means "next", also where everything is there and could be saved.
  for (const input of await page.$$('.task-fields input:not([type=radio], [type=checkbox])')) {
    await page.evaluate((e) => e.focus(), input);
    await page.keyboard.press('Enter');
    if (await page.evaluate((e) => !e.isConnected || document.querySelector('dialog[open]') !== null, input))
      return say('Enter in a field saved it');
  }
  const left = await page.$$eval('.task-fields .has-fault', (list) =>
    list.map((e) => `${e.dataset.field}: ${e.querySelector('.fault')?.textContent}`),
  );
  if (left.length > 0) say(`still wrong: ${left}`);
}

const figures = ['12', '1.5', '60', '3', '150'];
const faultOf = (page, name) =>
  page.evaluate((n) => document.querySelector(`.task-fields [data-field="${n}"] .fault`)?.textContent ?? null, name);

async function fillField(hand, page, name, say) {
  const field = `.task-fields [data-field="${name}"]`;
  const kind = await page.$eval(field, (e) =>
    [
      '.number input',
      '.counter input',
      'textarea',
      'input[type=date]',
      'input[type=text]',
      'select',
      'input[type=radio]',
      'input[role=switch]',
      'input[type=checkbox]',
    ].find((s) => e.querySelector(s) !== null),
  );
  if (kind === undefined) return;
  const chip = await page.$(`${field} .chip`);
  if (chip !== null) return hand.tap(page, chip);
  const control = await page.$(`${field} ${kind}`);
  switch (kind) {
    case '.number input':
      return fillFigure(hand, page, name, control, say);
    case '.counter input':
      await hand.tap(page, await page.$(`${field} button:last-of-type`));
      return typeText(hand, page, name, control, ['2'], say);
    case 'textarea':
      return typeText(hand, page, name, control, ['0 20\n10 180'], say);
    case 'input[type=text]': {
      const own = await value(page, control);
      return typeText(hand, page, name, control, [own === '' ? 'Rail 7' : own, '83.2 -0.5 4.1'], say);
    }
    case 'input[type=date]':
      await hand.tap(page, control);
      await page.keyboard.type('03312031');
      if ((await value(page, control)) !== '2031-03-31') say(`the day stands as ${await value(page, control)}`);
      return undefined;
    case 'select':
      await page.evaluate((e) => e.focus(), control);
      if ((await value(page, control)) === '') await page.keyboard.press('ArrowDown');
      return undefined;
    case 'input[role=switch]':
      for (let i = 0; i < 2; i++) await hand.tap(page, control);
      return undefined;
    default:
      return hand.tap(page, (await page.$(`${field} ${kind}:checked`)) ?? control);
  }
}

// fillFigure types the figure that stands there again, or one that the field can mean.
async function fillFigure(hand, page, name, input, say, from = 0) {
  const own = await value(page, input),
    isList = await page.evaluate((e) => e.closest('.number').matches('.is-list'), input);
  const mark = await page.evaluate(() => (document.documentElement.lang === 'es' ? ',' : '.'));
  const tries = isList
    ? [`68 72${mark}5 70`]
    : own !== '' && from === 0
      ? [own]
      : figures.slice(from).map((f) => f.replace('.', mark));
  let fault = null;
  for (const figure of tries) {
    try {
      await hand.figure(page, input, figure);
    } catch (e) {
      fault = e.message;
      continue;
    }
    await settled(page);
    if ((await value(page, input)) !== figure) return say(`typed ${figure}, stands ${await value(page, input)}`);
    fault = await faultOf(page, name);
    if (fault === null) return undefined;
  }
  return say(fault);
}

async function typeText(hand, page, name, input, texts, say) {
  let fault = null;
  for (const text of texts) {
    await hand.text(page, input, text);
    await settled(page);
    if ((await value(page, input)) !== text) return say(`typed ${text}, stands ${await value(page, input)}`);
    fault = await faultOf(page, name);
    if (fault === null) return undefined;
  }
  return say(fault);
}
