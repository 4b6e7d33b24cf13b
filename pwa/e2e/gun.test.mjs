// The gun, the ground, the oven and the work to come, on the real page without a
// network: what is recorded at the booth shows there at once, and in the office after.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openShop, openSignedIn } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const signIn = (role) => openSignedIn(browser, shop.url, shop.codes[role]);
const heading = (page, name) => page.getByRole('heading', { level: 1, name }).waitFor();
const card = (page, title) =>
  page.locator('section.card').filter({ has: page.getByRole('heading', { name: title, exact: true }) });

// save records the form and waits until it is left.
async function save(page, title) {
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('heading', { level: 1, name: title }).waitFor({ state: 'detached' });
}

test('a coater checks the ground, weighs the gun and reads the oven without a network', async () => {
  const { phone, page } = await signIn('coater');
  await page.getByRole('link', { name: /Gun and ground/ }).click();
  await heading(page, 'Gun and ground');
  await phone.setOffline(true);

  await page.getByRole('link', { name: 'Check the ground' }).click();
  await heading(page, 'Check the ground');
  await page.getByRole('radio', { name: 'Not in order', exact: true }).check();
  await save(page, 'Check the ground');
  await card(page, 'Ground').getByText('Not in order', { exact: true }).waitFor();
  await page.getByText('The ground is not in order.').waitFor(); // stays until a check finds it in order

  await page.getByRole('link', { name: 'Check the ground' }).click();
  await page.getByRole('radio', { name: 'In order', exact: true }).check();
  await page.getByLabel('Resistance to ground').fill('450000');
  await save(page, 'Check the ground');
  await card(page, 'Ground').getByText('450 kΩ').waitFor();
  await page.getByText('The ground is not in order.').waitFor({ state: 'detached' });

  await page.getByRole('link', { name: 'Weigh what the gun gives' }).click();
  await page.getByLabel('Main air').fill('180');
  await page.getByLabel('What was caught?').fill('0.075');
  await page.getByLabel('In how many seconds?').fill('30');
  await save(page, 'Weigh what the gun gives');
  const row = card(page, 'What the gun gives').getByRole('row').filter({ hasText: '180 kPa' });
  await row.getByText('150 g/min').waitFor(); // 75 g in half a minute

  await page.getByRole('link', { name: 'Curve of the oven' }).click();
  await page.getByLabel('Minute and temperature').fill('0 25\n9 180\n14 181\n20 90');
  await save(page, 'Curve of the oven');
  await card(page, 'Oven')
    .getByText(/5\.1 min at 180 °C or above · too short/)
    .waitFor();

  await phone.setOffline(false);
  await page.getByRole('banner').getByRole('link').filter({ hasText: 'All sent' }).waitFor();
  await phone.close();
});

test('a clerk plans jobs and the coater sees the order of colours', async () => {
  const { phone, page } = await signIn('clerk');
  await page.getByRole('navigation', { name: 'Sections' }).getByRole('link', { name: 'Today' }).click();
  await heading(page, 'Today');
  const order = () => page.locator('.stop h3').allInnerTexts();
  await page.locator('.stop h3').first().waitFor(); // the title stands before the books are read
  assert.deepEqual(
    await order(),
    ['Salt Flat White', 'Kiln Black', 'Harbour Teal'],
    'by due day, and what is in the gun first',
  );
  await page.getByRole('link', { name: 'Plan a job' }).click();
  await page.getByLabel('Job', { exact: true }).fill('Harbour rail 2261');
  await page.getByLabel('Powder', { exact: true }).selectOption('harbour-teal');
  await page.getByLabel('How many parts?').fill('6');
  await page.getByLabel('Area of one part').fill('1.2');
  await page.getByLabel('Due').fill('2020-01-31');
  await save(page, 'Plan a job');
  await page.getByText('overdue').waitFor();
  assert.deepEqual(await order(), ['Harbour Teal', 'Salt Flat White', 'Kiln Black'], 'what is overdue comes first');
  assert.deepEqual(await page.locator('.stop').first().locator('.row-words b').allInnerTexts(), [
    'Harbour rail 2261',
    'Planters 2257',
  ]);
  await phone.close();

  const coater = await signIn('coater');
  await coater.page.getByRole('navigation', { name: 'Sections' }).getByRole('link', { name: 'Today' }).click();
  await coater.page.getByRole('link', { name: 'Change to this colour' }).click();
  await heading(coater.page, 'Change colour');
  await coater.page.getByRole('radio', { name: /Harbour Teal/, checked: true }).waitFor();
  await coater.phone.close();
});
