// What people do on a phone that several share, as the browser tests do it: tap by tap.
import { installed } from './lib.mjs';

export const strip = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();
export const heading = (page, name) => page.getByRole('heading', { level: 1, name }).waitFor();
export const at = (page, hash) =>
  page.evaluate((h) => {
    location.hash = h;
  }, hash);
export const holder = (page, name) => page.getByRole('link', { name: `${name} has the phone. Change over` }).waitFor();

// enterBy signs in by the link of a role, as the first or as another person.
export async function enterBy(shop, page, role) {
  await page.goto('about:blank');
  await page.goto(`${shop.url}/#in=${shop.codes[role]}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await strip(page, /All sent|not sent yet|waits? for/);
  await installed(page);
}

export async function digits(page, pin) {
  for (const d of pin) await page.getByRole('button', { name: d, exact: true }).click();
}

export async function choosePin(page, pin) {
  await heading(page, 'My PIN on this phone');
  await digits(page, pin);
  await page.getByRole('button', { name: 'Done', exact: true }).click();
  await page.getByLabel('The same once more').waitFor();
  await digits(page, pin);
  await page.getByRole('status').filter({ hasText: 'The PIN is kept on this phone' }).waitFor();
}

// changeOver takes the phone: a tap on who has it, a tap on the name, the digits.
export async function changeOver(page, name, pin) {
  await page.getByRole('link', { name: /has the phone\. Change over/ }).click();
  await page.getByRole('button', { name: new RegExp(`^${name}`) }).click();
  await digits(page, pin);
  await holder(page, name);
}

export async function signOut(page) {
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
}

export async function weigh(page, kg) {
  await at(page, '#/do/weigh?booth=booth-1&place=hopper-1');
  await heading(page, 'Weigh');
  await page.getByLabel('What does the scale say?').fill(kg);
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor({ state: 'detached' }); // the form is left once it is saved
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
}

// receive fills in a lot with its price and leaves the form open.
export async function receive(page, batch, price) {
  await at(page, '#/do/receive');
  await page.getByLabel('Powder', { exact: true }).selectOption({ index: 1 });
  await page.getByLabel('Batch on the label').fill(batch);
  await page.getByLabel('Net mass of all boxes').fill('20');
  await page.getByRole('radio', { name: /^Rack A/ }).check();
  await page.getByLabel('Price per kg').fill(price);
}

export async function save(page) {
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
}

// meta reads one thing that a phone keeps beside its entries.
export const meta = (page, key) =>
  page.evaluate(
    (k) =>
      new Promise((ok) => {
        const db = indexedDB.open('hoppertally', 1);
        db.onsuccess = () => {
          const get = db.result.transaction('meta').objectStore('meta').get(k);
          get.onsuccess = () => {
            db.result.close();
            ok(get.result);
          };
        };
      }),
    key,
  );

export const people = async (page) => (await meta(page, 'seats')).map((s) => s.person);
