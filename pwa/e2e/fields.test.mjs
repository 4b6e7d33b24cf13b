// What fields take: film readings that stay apart, however they are typed; a hand
// scanner, which types quickly, with the identifier of its code, separators and Enter,
// and saves nothing; and why a form cannot be saved.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { finger, keyboard, settled } from './hands.mjs';
import { desk, openBrowser, openShop } from './lib.mjs';
import { openPerson, speak, visit } from './walk.mjs';

let shop, browser, office;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  office = await desk(shop, shop.codes.manager);
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const open = async (person, hand) =>
  openPerson(
    browser,
    shop.url,
    person,
    /#in=(\S+)/.exec((await office.call('POST', `people/${person}/invite`)).link)[1],
    hand.phone,
  );
const saved = (page) => page.locator('.task').waitFor({ state: 'detached' });

// Ten readings, and what the entry must hold: tenths of µm, 1 mil being 25.4 µm.
const um = [68, 72, 70, 69.5, 71, 75, 66, 68.5, 73, 70],
  mil = [2.4, 2.6, 2.5, 2.7, 2.45, 2.8, 3, 2.55, 2.6, 2.7];
for (const [hand, name] of [
  [finger, 'keypad'],
  [keyboard, 'keyboard'],
]) {
  test(`ten film readings are ten readings: by ${name}, in µm and mil, with point and comma`, async () => {
    const { page, faults } = await open('davi', hand);
    for (const [lang, units] of [
      ['en', 'metric'],
      ['es', 'metric'],
      ['en', 'us'],
      ['es', 'us'],
    ]) {
      await speak(page, lang, units);
      await visit(page, '#/do/film?booth=booth-1&run=run-4');
      const readings = units === 'us' ? mil : um,
        typed = readings.map((r) => String(r).replace('.', lang === 'es' ? ',' : '.')).join(' ');
      const input = await page.$('form .number input');
      await hand.figure(page, input, typed);
      assert.equal(await input.inputValue(), typed);
      await page.getByText(lang === 'es' ? '10 lecturas.' : '10 readings.').waitFor();
      await hand.tap(page, await page.$('.task-foot button.main'));
      await saved(page);
      await page
        .getByRole('banner')
        .getByRole('link')
        .filter({ hasText: /All sent|Todo enviado/ })
        .waitFor();
      const { body } = (await office.log()).findLast((e) => e.entry.kind === 'film.read').entry;
      assert.deepEqual(
        body.spots,
        readings.map((r) => Math.floor(r * (units === 'us' ? 254 : 10) + 0.5)),
        `${lang} ${units}`,
      );
    }
    assert.deepEqual(faults, []);
    await page.context().close();
  });
}

// scan types as a scanner does: keys without a pause, a separator, Enter.
async function scan(page, ...parts) {
  for (const part of parts) {
    if (/^[\u0000-\u001f]$/.test(part)) await page.keyboard.insertText(part);
    else await page.keyboard.type(part);
  }
  await page.keyboard.press('Enter');
}

test('a scanner’s Enter leads to the next field and never saves; what it adds reaches no field', async () => {
  const { page, faults } = await open('noor', keyboard);
  const before = (await office.log()).length;
  const field = (name) => page.getByRole('textbox', { name: new RegExp(`^${name}`) });
  for (const [identifier, want] of [
    [']C1', 'W-0500'],
    [']d2', 'W-0501'],
    [']Q3', 'W-0502'],
  ]) {
    await visit(page, '#/do/receive');
    await page.getByLabel('Powder', { exact: true }).selectOption('salt-white');
    await field('Batch on the label').fill(''); // what was begun before is back
    await field('Batch on the label').click();
    await scan(page, identifier, want);
    assert.equal(await field('Batch on the label').inputValue(), want);
    await page.waitForFunction(() => document.activeElement?.labels?.[0]?.textContent.startsWith('Boxes'));
    await visit(page, '#/room');
  }
  await visit(page, '#/do/receive');
  await field('Batch on the label').fill('');
  await field('Batch on the label').click();
  await scan(page, ']d2', '10W-0503', '\u001d', '17271231', '\u001d');
  assert.equal(
    (await field('Batch on the label').inputValue()).trim(),
    '10W-0503 17271231',
    'the parts of a label do not run together',
  );
  await field('Batch on the label').click();
  await page.keyboard.press('End');
  await scan(page, ']C1', 'X');
  assert.doesNotMatch(await field('Batch on the label').inputValue(), /\]C1/, 'nor behind what stood there');

  // Everything is there now and could be saved; still Enter does not.
  await field('Boxes').fill('1');
  await field('Mass of one box').fill('20');
  await settled(page);
  for (const name of ['Batch on the label', 'Boxes', 'Mass of one box', 'Net mass of all boxes']) {
    await field(name).focus();
    await page.keyboard.press('Enter');
  }
  assert.equal(await page.getByRole('heading', { level: 1, name: 'Receive a lot' }).count(), 1);
  assert.equal((await office.log()).length, before, 'nothing was recorded');
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await saved(page);
  assert.deepEqual(faults, []);
  await page.context().close();
});

test('a place whose empty weight nobody knows: Save says so and leads to the switch', async () => {
  const { page, faults } = await open('davi', keyboard);
  await visit(page, '#/do/weigh');
  await page.getByRole('textbox', { name: 'What does the scale say?' }).fill('9');
  await page.getByRole('radio', { name: /^Hopper 1/ }).check();
  await page.getByRole('switch', { name: /Weighed with the container/ }).check();
  await page.getByRole('radio', { name: /^Scrap drum/ }).check(); // has no empty weight
  await settled(page);
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  const why = page.getByRole('button', {
    name: /^Weighed with the container: The empty weight of this vessel is not known/,
  });
  await why.waitFor();
  await page.evaluate(() => document.activeElement.blur());
  await why.click();
  await page.waitForFunction(() => document.activeElement?.getAttribute('role') === 'switch');
  await page.keyboard.press('Space');
  await why.waitFor({ state: 'detached' });
  assert.deepEqual(faults, []);
  await page.context().close();
});
