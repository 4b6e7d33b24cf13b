// What a person asks and types, as a person does: sums that leave out what nobody knows,
// readings parted by Enter, jobs found by a part of the name, a field that says it is needed.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openShop, openSignedIn } from './lib.mjs';

let shop, browser, phone, page;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  ({ phone, page } = await openSignedIn(browser, shop.url, shop.codes.manager));
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const visit = (to) =>
  page.evaluate((h) => {
    location.hash = h;
  }, to);

// answerOf opens a sum with its own example and gives its answer as it is read.
async function answerOf(title, name) {
  await visit(`#/sums/${name}`);
  await page.getByRole('heading', { level: 1, name: title }).waitFor();
  const result = page.locator('section[aria-live]');
  await result.locator('table.facts').first().waitFor();
  return result;
}

const figures = (result) =>
  result.evaluate((e) =>
    [...e.querySelectorAll('.out-list > li')].map((li) =>
      Object.fromEntries(
        [...li.querySelectorAll('tr')].map((r) => [r.cells[0].textContent.trim(), r.cells[1].textContent.trim()]),
      ),
    ),
  );

test('closing a run shows its rates as the shares that were given', async () => {
  const rows = await figures(await answerOf('Close a run', 'reconcile.run'));
  const te = rows.find((r) => Object.values(r).includes('transfer efficiency'));
  const recovery = rows.find((r) => Object.values(r).includes('recovery to expect'));
  assert.equal(te['Measured'], '0.6');
  assert.equal(recovery['Measured'], '0.9');
  for (const r of [te, recovery])
    assert.ok(Number(r['Most likely']) > 0 && Number(r['Most likely']) < 1, JSON.stringify(r));
});

test('advice without a figure shows none', async () => {
  const rows = await figures(await answerOf('Advice for a symptom', 'gun.advice'));
  const purge = rows.find((r) => Object.values(r).includes('blow the hose through'));
  assert.deepEqual(Object.values(purge), ['blow the hose through']);
  const start = rows.find((r) => Object.values(r).includes('far too much for hand work'));
  assert.ok(!Object.values(start).some((v) => /^0\b/.test(v)), JSON.stringify(start));
});

test('the output of the gun does not answer what was not asked', async () => {
  const text = await (await answerOf('Output of the gun', 'gun.output')).innerText();
  assert.doesNotMatch(text, /\t0 kPa/);
});

test('a label of plain text has no net mass', async () => {
  const result = await answerOf('Read a box label', 'stock.label');
  await page.getByRole('textbox', { name: /^Text/ }).first().fill('white 25');
  await result.getByText('white 25').first().waitFor();
  assert.doesNotMatch(await result.innerText(), /Net mass/);
});

test('Enter begins the next film reading, and on an empty one leaves the field', async () => {
  await visit('#/do/film?booth=booth-1&run=run-4');
  const field = page.locator('form .number input');
  await field.click();
  for (const reading of ['72', '68', '75']) {
    await page.keyboard.type(reading, { delay: 60 });
    await page.keyboard.press('Enter');
  }
  assert.equal((await field.inputValue()).trim(), '72 68 75');
  assert.ok(await field.evaluate((e) => e === document.activeElement), 'the next reading goes into the field');
  await page.keyboard.press('Enter');
  assert.ok(!(await field.evaluate((e) => e === document.activeElement)), 'an empty reading leaves it');
});

test('a job is found by a part of its name in any case, without a network', async () => {
  await phone.setOffline(true);
  await visit('#/trace');
  const search = page.getByRole('searchbox', { name: 'A job' });
  const find = async (text) => {
    await search.fill(text);
    await page.getByRole('button', { name: 'Find' }).click();
  };
  for (const text of ['2244', 'SHOP shelving 2244']) {
    await find(text);
    await page.getByText('Found: Shop shelving 2244').waitFor();
    await page.getByRole('heading', { name: 'Lots on these parts' }).first().waitFor();
  }
  await find('Shop shelfing 2244');
  await page.getByRole('heading', { name: 'No job called “Shop shelfing 2244” was recorded' }).waitFor();
  await page.getByText(/does not say that its parts are not affected/).waitFor();
  await page.getByRole('link', { name: 'Shop shelving 2244' }).click();
  await page.getByRole('heading', { name: 'Lots on these parts' }).first().waitFor();
  await find('2');
  await page.getByRole('heading', { name: 'Which job?' }).waitFor();
  await phone.setOffline(false);
});

test('the mass of a lot that came in is not called optional', async () => {
  await visit('#/do/receive');
  const field = page.locator('[data-field=mass]');
  await field.waitFor();
  assert.doesNotMatch(await field.locator('label').innerText(), /if known/);
  await field.getByText('Needed, unless the mass of one box stands above.').waitFor();
});
