// A new shop from an empty folder to its first entry, on a phone; and the invitation
// that lets the second person in, once.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { eventually, openBrowser, openNewShop, openPhone, outbox } from './lib.mjs';

let shop, browser;
before(async () => {
  shop = await openNewShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const heading = (page, name) => page.getByRole('heading', { level: 1, name }).waitFor();
const strip = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();

async function open() {
  const phone = await openPhone(browser, { reducedMotion: 'reduce' });
  return phone.newPage();
}

// saved records the form on the screen and waits until it is left.
async function saved(page) {
  const title = await page.getByRole('heading', { level: 1 }).innerText();
  await page.locator('.task-foot .main').click();
  await page.getByRole('heading', { level: 1, name: title, exact: true }).waitFor({ state: 'hidden' });
}

async function add(page, button, fill) {
  await page.getByRole('link', { name: button }).click();
  await fill();
  await saved(page);
  await heading(page, 'First steps');
}

test('the terminal’s code opens the shop, four steps make it ready, and the first lot is received', async () => {
  await eventually(() => /▄/.test(shop.said())); // a picture for the camera stands in the terminal
  assert.doesNotMatch(shop.said(), /\?setup=/, 'the code is in no query');
  const page = await open();
  await page.goto(`${shop.url}/#setup=${shop.code}`);
  await heading(page, 'A new shop');
  await page.getByLabel('Name of the shop').fill('Quay Nine');
  await page.getByLabel('Time zone').selectOption('Europe/Madrid');
  await page.getByRole('radio', { name: /kg/ }).check();
  await page.getByLabel('Currency').selectOption('EUR');
  await page.getByLabel('Your name').fill('Ines');
  await page.getByLabel('Passphrase', { exact: true }).fill('seven wet boots');
  await page.getByLabel('Passphrase once more').fill('seven wet boots');
  await page.getByRole('button', { name: 'Set the shop up' }).click();
  await heading(page, 'First steps');
  await page.getByText('Four steps, then work can begin').waitFor();

  await add(page, 'Add a powder', async () => {
    await page.getByLabel('Name', { exact: true }).fill('Slip Grey');
    await page.getByLabel('Specific gravity').fill('1.5');
    await page.getByLabel('Film, least').fill('60');
    await page.getByLabel('Film, target').fill('75');
    await page.getByLabel('Film, most').fill('95');
    await page.getByLabel('Most reclaim, %').fill('30');
  });
  await add(page, 'Add a booth', () => page.getByLabel('Name', { exact: true }).fill('Booth 1'));
  for (const [name, kind] of [
    ['Rack', 'Shelf'],
    ['Hopper', 'Vessel'],
  ]) {
    await add(page, 'Add a place', async () => {
      await page.getByLabel('Name', { exact: true }).fill(name);
      await page.getByRole('group', { name: 'Kind' }).getByRole('radio', { name: kind }).check();
    });
  }
  await add(page, 'Add a person', async () => {
    await page.getByLabel('Name', { exact: true }).fill('Teo');
    await page.getByRole('radio', { name: 'Coater' }).check();
  });
  await page.getByText('Ready. Receive the first powder').waitFor();
  await page.getByRole('link', { name: 'Receive the first lot' }).click();
  await page.getByLabel('Powder', { exact: true }).selectOption({ index: 1 });
  await page.getByLabel('Batch on the label').fill('B-1');
  await page.getByLabel('Net mass of all boxes').fill('25');
  await page.getByRole('radio', { name: /^Rack/ }).check();
  await saved(page);
  let all = [];
  await eventually(async () => (all = await outbox(page)).every((r) => r.mark !== ''));
  assert.equal(all.filter((r) => r.mark !== 'accepted').length, 0, JSON.stringify(all.map((r) => r.mark)));
  assert.ok(all.some((r) => JSON.parse(r.text).kind === 'lot.received'));
  await strip(page, /All sent/);
  await page.context().close();

  // The code has done its work.
  const late = await open();
  await late.goto(`${shop.url}/#setup=${shop.code}`);
  await heading(late, 'A new shop');
  for (const [label, text] of [
    ['Name of the shop', 'Mine'],
    ['Your name', 'Eve'],
    ['Passphrase', 'let me in there'],
    ['Passphrase once more', 'let me in there'],
  ])
    await late.getByLabel(label, { exact: true }).fill(text);
  await late.getByRole('button', { name: 'Set the shop up' }).click();
  await late.getByRole('alert').filter({ hasText: 'The shop is set up already' }).waitFor();
  await late.context().close();
});

test('an invitation is shown as link and code, lets one in once, and is refused with clear words after that', async () => {
  const manager = await open();
  await manager.goto(shop.url + '/');
  await manager.getByLabel('Your name').fill('Ines');
  await manager.getByLabel('Passphrase').fill('seven wet boots');
  await manager.getByRole('button', { name: 'Sign in' }).click();
  await strip(manager, /All sent/);
  await manager.goto(shop.url + '/#/people');
  await manager.getByRole('link', { name: /^Teo/ }).click();
  await manager.getByRole('button', { name: 'Sign-in link' }).click();
  await manager.getByRole('img', { name: 'Sign-in code for Teo, to be read by the camera of their phone' }).waitFor();
  const link = await manager.getByLabel('Sign-in link').inputValue();
  assert.match(link, /\/#in=[0-9A-Z-]{19}$/);
  await manager.getByText('This link works on this computer only').waitFor(); // the test's server is at localhost

  const teo = await open();
  const asked = [];
  teo.on('request', (r) => asked.push(r.url()));
  await teo.goto(link);
  await teo.getByRole('button', { name: 'Sign in' }).first().click();
  await heading(teo, 'My passphrase');
  await teo.getByLabel('New passphrase').fill('too short');
  await teo.getByRole('button', { name: 'Keep it' }).click();
  await teo.locator('.fault').first().waitFor();
  await teo.getByLabel('New passphrase').fill('a hat full of rain');
  await teo.getByLabel('Passphrase once more').fill('a hat full of rain');
  await teo.getByRole('button', { name: 'Keep it' }).click();
  await teo.getByRole('status').filter({ hasText: 'Your passphrase is set' }).waitFor();
  await teo.getByRole('link', { name: 'Teo has the phone. Change over' }).waitFor();
  const code = link.split('#in=')[1];
  assert.equal(asked.filter((u) => u.includes(code)).length, 0, 'the code stood in no address that was asked for');
  await teo.context().close();

  const eve = await open();
  await eve.goto(link);
  await eve.getByRole('button', { name: 'Sign in' }).first().click();
  await eve
    .getByRole('alert')
    .filter({ hasText: 'This code does not work' })
    .filter({ hasText: 'Codes work once' })
    .waitFor();
  // Whoever was invited comes back by name.
  await eve.getByLabel('Your name').fill('Teo');
  await eve.getByLabel('Passphrase').fill('a hat full of rain');
  await eve.getByRole('button', { name: 'Sign in' }).last().click();
  await eve.getByRole('link', { name: 'Teo has the phone. Change over' }).waitFor();
  await eve.context().close();
  await manager.context().close();
});
