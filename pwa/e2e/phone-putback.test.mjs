// Somebody stops the server and puts an older copy of its folder in its place, as an image
// of a disk or of a virtual machine is. Nothing in that folder is wrong; the phones know
// better. Typed and tapped on the real page.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { desk, eventually, openBrowser, openShop, openSignedIn, outbox } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const strip = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();
const tap = (page, role, name) => page.getByRole(role, { name, exact: true }).first().click();
const tab = (page, name) =>
  page
    .getByRole('navigation', { name: 'Sections' })
    .getByRole('link', { name: new RegExp(`^${name}`) })
    .click();

// weigh weighs the hopper on the page and gives the entry's id.
async function weigh(page, kg) {
  const had = new Set((await outbox(page)).map((r) => r.id));
  await tab(page, 'Booth');
  await page.getByRole('navigation', { name: 'What to do' }).getByRole('link', { name: 'Weigh', exact: true }).click();
  await page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor();
  await page.getByLabel('What does the scale say?').fill(kg);
  await tap(page, 'button', 'Save on this phone');
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
  const made = (await outbox(page)).filter((r) => !had.has(r.id));
  assert.equal(made.length, 1);
  return made[0].id;
}

test('what was sent after the copy was made comes back, beside what another phone has sent since', async () => {
  const coater = await openSignedIn(browser, shop.url, shop.codes.coater);
  const manager = await openSignedIn(browser, shop.url, shop.codes.manager);
  const office = await desk(shop, shop.codes.clerk);
  const counted = async (id) => (await office.log()).filter((l) => l.entry.id === id).length;

  await shop.copyFolder();
  await strip(coater.page, /All sent/);
  const lost = await weigh(coater.page, '9.00');
  await eventually(async () => (await counted(lost)) === 1);
  await strip(coater.page, /All sent/);

  await coater.phone.setOffline(true);
  await shop.putBack();
  assert.equal(await counted(lost), 0, 'the old copy lacks it');
  const other = await weigh(manager.page, '8.40');
  await eventually(async () => (await counted(other)) === 1);
  const number = (await office.log()).find((l) => l.entry.id === other).seq;

  await coater.phone.setOffline(false);
  await eventually(async () => (await counted(lost)) === 1);
  assert.ok(
    (await office.log()).find((l) => l.entry.id === lost).seq > number,
    'it stands behind the one that took its number',
  );
  await strip(coater.page, /All sent/);
  await strip(manager.page, /All sent/);
  for (const { page } of [coater, manager]) {
    // both read both, the later figure last
    await page.goto(`${shop.url}/#/entries`);
    for (const kg of ['9.000 kg', '8.400 kg'])
      await page.getByRole('main').getByRole('link').filter({ hasText: kg }).first().waitFor();
  }
  for (const id of [lost, other]) assert.equal(await counted(id), 1);
});
