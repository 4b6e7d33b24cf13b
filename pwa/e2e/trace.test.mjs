// A manager follows a lot to the parts and prints the recall sheet, as PDF, from a dark
// phone: black on white, nothing of the app, and what came in is what is accounted for.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openPhone, openShop } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

async function signIn() {
  const phone = await openPhone(browser, { colorScheme: 'dark' });
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes.manager}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation').first().waitFor();
  return page;
}

test('a lot is traced to parts, places and losses; small shares become the rest', async () => {
  const page = await signIn();
  await page.goto(`${shop.url}/#/trace`);
  await page.getByLabel('A lot').selectOption('lot-w412');
  await page.getByRole('heading', { name: 'Where it is now' }).waitFor();
  for (const place of ['Reclaim bin white', 'Hopper 1', 'Rack A'])
    await page.getByRole('link', { name: place }).first().waitFor();
  await page.getByRole('textbox', { name: 'Show shares from, %' }).fill('60');
  await page
    .getByText(/^Rest: 1 row below the share$/)
    .first()
    .waitFor(); // Rack A holds 53.3 % of it
  assert.equal(await page.getByRole('link', { name: 'Rack A' }).count(), 0);
  await page.getByRole('textbox', { name: 'Show shares from, %' }).fill('');
  await page.getByLabel('On one job alone').selectOption('Shop shelving 2244');
  await page.getByRole('heading', { name: 'Where it is now' }).waitFor({ state: 'detached' }); // one job has no places
  await page
    .getByRole('link', { name: /Shop shelving 2244/ })
    .first()
    .waitFor();
  assert.equal(await page.getByRole('link', { name: /Radiator fronts/ }).count(), 0);
  await page.context().close();
});

test('the recall sheet is printed without the app, black on white, and adds up to the milligram', async () => {
  const page = await signIn();
  await page.goto(`${shop.url}/#/trace/lot/lot-w412`);
  await page.getByRole('button', { name: 'Print or save as PDF' }).waitFor();
  await page.getByRole('heading', { name: 'Where it is now' }).waitFor();
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  await page.getByRole('heading', { name: 'Recall sheet' }).waitFor();
  for (const text of ['Brackwater Coatings', 'W-0412', 'Shop shelving 2244', 'Checked by', 'Signature'])
    await page.locator('.recall').getByText(text).first().waitFor();
  assert.deepEqual(
    await page.evaluate(() => {
      const seen = [...document.querySelectorAll('button, nav, .top, input, select')].filter((e) =>
        e.checkVisibility(),
      ).length;
      const sheet = getComputedStyle(document.querySelector('.recall')),
        body = getComputedStyle(document.body);
      return { seen, ink: sheet.color, paper: sheet.backgroundColor, body: body.backgroundColor };
    }),
    { seen: 0, ink: 'rgb(0, 0, 0)', paper: 'rgb(255, 255, 255)', body: 'rgb(255, 255, 255)' },
  );
  const rows = await page
    .locator('.recall table')
    .nth(1)
    .locator('tbody tr')
    .evaluateAll((list) =>
      list.map((r) => [r.cells[0].textContent, Math.round(Number(r.cells[2].textContent.replaceAll(',', '')) * 1000)]),
    );
  const mg = (name) => rows.filter(([n]) => name(n)).reduce((sum, [, m]) => sum + m, 0);
  const cameIn = (n) => n === 'Received' || n === 'Found';
  assert.equal(
    mg(cameIn),
    mg((n) => !cameIn(n)),
    JSON.stringify(rows),
  );
  assert.equal(mg(cameIn), 60_000_000);
  const pdf = (await page.pdf({ format: 'A4' })).toString('latin1');
  assert.ok(pdf.startsWith('%PDF-') && /\/Type\s*\/Page\b/.test(pdf), 'Chromium makes a PDF of it');
  await page.context().close();
});
