// Signing in while somebody else hammers the door, on the real page and the real server.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { eventually, openBrowser, openPhone, openShop, openSignedIn } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const at = (page, hash) =>
  page.evaluate((h) => {
    location.hash = h;
  }, hash);
const passphrase = 'a hat full of rain';

async function byName(page, name, typed) {
  await page.getByLabel('Your name').fill(name);
  await page.getByLabel('Passphrase').fill(typed);
  await page.getByRole('button', { name: 'Sign in' }).last().click();
}

// guess asks as a program would that knows the shop's address.
async function guess(what) {
  const answer = await fetch(shop.url + '/api/v1/session', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(what),
  });
  return (await answer.json()).code;
}

test('whoever hammers a name or wrong codes makes neither its owner wait, on a phone of theirs, nor a newcomer with a link', async (t) => {
  const { phone, page } = await openSignedIn(browser, shop.url, shop.codes.coater);
  const holder = await page.getByRole('link', { name: / has the phone\. Change over$/ }).getAttribute('aria-label');
  const name = holder.split(' has the phone')[0];
  await at(page, '#/passphrase');
  await page.getByLabel('New passphrase').fill(passphrase);
  await page.getByLabel('Passphrase once more').fill(passphrase);
  await page.getByRole('button', { name: 'Keep it' }).click();
  await page.getByRole('status').filter({ hasText: 'Your passphrase is set' }).waitFor();
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Sign out' }).click();
  await page.getByLabel('Your name').waitFor();

  const codes = new Set();
  let isOn = true;
  t.after(() => {
    isOn = false;
  });
  const hammering = (async () => {
    for (let i = 0; isOn; i = (i + 1) % 7) {
      codes.add(await guess({ name, passphrase: 'guess guess', device: `thief-${i}` }));
      codes.add(await guess({ code: 'WRNG-C0DE-WRNG-C0DE', device: `thief-${i}` }));
    }
  })();

  // A phone that nobody knows is told to wait, and the page says what else there is.
  const thief = await openPhone(browser),
    strange = await thief.newPage();
  await strange.goto(shop.url);
  await eventually(async () => {
    await byName(strange, name, 'guess guess');
    const told = await strange.getByRole('alert').innerText();
    return told.includes('Too many wrong tries') && told.includes('ask a manager for a sign-in link');
  });
  await thief.close();

  await byName(page, name, passphrase);
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /All sent/ })
    .waitFor();
  await phone.close();
  const fresh = await openSignedIn(browser, shop.url, shop.codes.clerk);
  await fresh.phone.close();
  isOn = false;
  await hammering;
  assert.deepEqual([...codes].sort(), ['auth.code', 'auth.slow', 'auth.wrong']);
});
