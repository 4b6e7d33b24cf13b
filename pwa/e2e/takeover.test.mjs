// Nobody takes the shop, nobody loses it, on the real page and the real server: the only
// manager is not offered what would leave the shop without one, and nobody acts as a phone
// by telling its id.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { desk, eventually, openBrowser, openShop, openSignedIn } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const heading = (page, name) => page.getByRole('heading', { level: 1, name }).waitFor();
const at = (page, hash) =>
  page.evaluate((h) => {
    location.hash = h;
  }, hash);
const save = (page) => page.getByRole('button', { name: /^Save/ });
const onlyOne = (page) => page.getByText('The shop’s only manager').first().waitFor();

// setRole gives somebody a role by the form, as far as the form lets it.
async function setRole(page, id, label) {
  await at(page, `#/person/${id}`);
  await page.getByRole('link', { name: 'Change name or role' }).click();
  await page.getByRole('radio', { name: label }).check();
}

// refused taps what would save, as far as it lets itself be tapped: the form stays and says why.
async function refused(page, button) {
  await button.click({ force: true });
  await onlyOne(page);
  assert.equal(await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).count(), 0);
}

async function saved(page, id, label) {
  await setRole(page, id, label);
  await page.getByRole('switch').uncheck(); // a draft may be left from before
  await save(page).click();
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
}

test('nobody signs in as a phone by telling its id, and the phone goes on as it was', async () => {
  const { phone, page } = await openSignedIn(browser, shop.url, shop.codes.clerk);
  const device = await page.evaluate(
    () =>
      new Promise((ok) => {
        const db = indexedDB.open('hoppertally', 1);
        db.onsuccess = () => {
          const get = db.result.transaction('meta').objectStore('meta').get('device');
          get.onsuccess = () => {
            db.result.close();
            ok(get.result);
          };
        };
      }),
  );
  const knock = (more) =>
    fetch(`${shop.url}/api/v1/session`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ code: shop.codes.coater, device, app_version: '666', ...more }),
    });
  for (const more of [{}, { device_secret: 'somebody else made this one' }]) {
    const answer = await knock(more);
    assert.deepEqual([answer.status, (await answer.json()).code], [403, 'phone.taken']);
  }
  const { phones } = await (await desk(shop, shop.codes.manager)).call('GET', 'phones');
  const mine = phones.find((p) => p.device === device);
  assert.notEqual(mine.app_version, '666');
  assert.equal(mine.people.length, 1);

  // a colleague signs in on the phone itself: several people share its one secret
  await page.goto('about:blank');
  await page.goto(`${shop.url}/#in=${shop.codes.coater}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /All sent/ })
    .waitFor();
  await phone.close();
});

test('the only manager is not offered to void what made her one, to take another role or to leave, and is told why', async () => {
  const outside = await desk(shop, shop.codes.manager),
    { id } = outside.person;
  const { phone, page } = await openSignedIn(browser, shop.url, shop.codes.manager);
  const made = async () =>
    (await outside.log()).filter((e) => e.entry.kind === 'person.set' && e.entry.body.person === id);
  const [first] = await made();

  await at(page, `#/entry/${first.entry.id}`);
  await onlyOne(page);
  assert.equal(await page.getByRole('link', { name: 'Void', exact: true }).count(), 0, 'a void is offered');
  assert.equal((await made()).length, 1);
  await at(page, `#/do/void?entry=${first.entry.id}`); // by its address
  await page.getByRole('button', { name: 'Did not happen' }).click();
  await refused(page, page.getByRole('button', { name: 'Void it' }));
  await setRole(page, id, 'Coater');
  await refused(page, save(page));
  await page.getByRole('radio', { name: 'Manager' }).check();
  await page.getByText('The shop’s only manager').first().waitFor({ state: 'hidden' });
  await page.getByRole('switch').check();
  await refused(page, save(page));

  assert.deepEqual(
    (await made()).map((e) => e.entry.id),
    [first.entry.id],
    'something was recorded',
  );

  // with a second manager each of them may go, until one is left
  const clerk = (await desk(shop, shop.codes.clerk, 'desk-of-the-clerk')).person;
  await saved(page, clerk.id, 'Manager');
  await at(page, `#/entry/${first.entry.id}`);
  await page.getByRole('link', { name: 'Void', exact: true }).waitFor();
  await saved(page, id, 'Coater');
  await eventually(async () => (await made()).at(-1).outcome === 'accepted' && (await made()).length === 2);
  await phone.close();
});
