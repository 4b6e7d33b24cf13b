// Every calculation answers its own example on the phone, with the network cut.
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

test('every calculation of the list answers its example without a network', async () => {
  const phone = await openPhone(browser);
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes.coater}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation').first().waitFor();
  await page.goto(`${shop.url}/#/sums`);
  const links = page.locator('.sums-grid a');
  await links.first().waitFor();
  const all = await links.evaluateAll((list) => list.map((a) => a.getAttribute('href')));
  assert.ok(all.length >= 38, `${all.length} calculations are listed`);
  await phone.setOffline(true);
  for (const to of all) {
    await page.evaluate((h) => {
      location.hash = h;
    }, to);
    const result = page.locator('section[aria-live]');
    await result.locator('.problem, table.facts').first().waitFor();
    assert.equal(await result.locator('.problem').count(), 0, `${to}: ${await result.innerText()}`);
    assert.match(await result.innerText(), /\d|[a-z]{3}/, to);
    await page.evaluate(() => {
      location.hash = '#/sums';
    });
    await links.first().waitFor();
  }
  await phone.close();
});
