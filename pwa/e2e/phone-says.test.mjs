// What the phone says, on the real page, when something stands in its way: a full
// storage, another window, a long time without a network, a form left by the browser's
// own back button. Everything is found by the words on the screen.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { installed, openBrowser, openPhone, openShop, outbox, until } from './lib.mjs';

const hourMs = 3_600_000;
const roomBytes = 40 << 20; // for program, books and whatever else this address keeps
let shop, browser, phone, page, cdp;
before(async () => {
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  phone = await openPhone(browser, { reducedMotion: 'reduce' });
  page = await phone.newPage();
  cdp = await phone.newCDPSession(page);
  await room(roomBytes);
  await page.goto(`${shop.url}/#in=${shop.codes.coater}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await strip(page, /All sent/);
  await installed(page);
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const strip = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();
const scale = (page) => page.getByLabel('What does the scale say?');
const form = (page) =>
  page.evaluate(() => {
    location.hash = '#/do/weigh?booth=booth-1&place=hopper-1';
  });

async function fill(page, kg) {
  await form(page);
  await scale(page).fill(kg);
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
}

// room sets what this address may keep.
const room = (bytes) => cdp.send('Storage.overrideQuotaForOrigin', { origin: shop.url, quotaSize: bytes });

// fillUp takes what room is left, down to a kilobyte, with something of no use.
const fillUp = (page) =>
  page.evaluate(
    () =>
      new Promise((ok, no) => {
        const open = indexedDB.open('junk', 1);
        open.onerror = () => no(open.error);
        open.onupgradeneeded = () => open.result.createObjectStore('junk', { autoIncrement: true });
        open.onsuccess = () => {
          const put = (bytes) => {
            if (bytes < 1024) {
              open.result.close();
              return ok();
            }
            const junk = new Uint8Array(bytes);
            for (let at = 0; at < bytes; at += 65_536) crypto.getRandomValues(junk.subarray(at, at + 65_536));
            const tx = open.result.transaction('junk', 'readwrite');
            tx.objectStore('junk').put(junk);
            tx.oncomplete = () => put(bytes);
            tx.onabort = () => put(bytes >> 1);
          };
          put(1 << 20);
        };
      }),
  );

const save = (page) => page.getByRole('button', { name: 'Save on this phone' }).click();

// left waits until the form is: before, the browser is still on its way back.
const left = (page) => page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor({ state: 'detached' });

// isKept tells whether a draft with a figure is in the store.
const isKept = (figure) =>
  new Promise((ok, no) => {
    const open = indexedDB.open('hoppertally', 1);
    open.onerror = () => no(open.error);
    open.onsuccess = () => {
      const all = open.result.transaction('meta').objectStore('meta').getAll(IDBKeyRange.bound('draft:', 'draft;'));
      all.onsuccess = () => {
        open.result.close();
        ok(all.result.some((form) => form.mass?.startsWith(figure)));
      };
    };
  });

test('the browser’s own back button leaves a half-filled form, and it is there again, as typed', async () => {
  await fill(page, '8.5');
  await until(page, isKept, '8.5');
  await page.goto(shop.url + '/healthz');
  await page.goBack();
  await scale(page).waitFor();
  await page.waitForFunction(() => [...document.querySelectorAll('input')].some((i) => i.value === '8.5'));
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await save(page);
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
  await left(page);
  await strip(page, /All sent/);
});

test('a phone without room says NOT saved, keeps the form, hands out what is unsent, and saves once there is room', async () => {
  await phone.setOffline(true);
  await fill(page, '8.4');
  await save(page);
  await left(page);
  await strip(page, /1 not sent yet/);
  let kept = await outbox(page),
    kg = 8.3;
  const notSaved = page.getByRole('alert').filter({ hasText: 'NOT saved: the phone could not store it' });
  for (let n = 2; ; n++, kg -= 0.1) {
    // what the phone holds in reserve may be enough for one or two
    await fillUp(page);
    await fill(page, kg.toFixed(1));
    await save(page);
    const saved = page
      .getByRole('banner')
      .getByRole('link')
      .filter({ hasText: `${n} not sent yet` });
    await notSaved.or(saved).first().waitFor();
    if (await notSaved.isVisible()) break;
    assert.ok(n < 5, 'entries are stored where there is no room');
    await left(page);
    kept = await outbox(page);
  }
  await strip(page, /NOT saved/);
  assert.equal(await scale(page).inputValue(), kg.toFixed(1), 'what was typed is still there');
  assert.deepEqual(
    (await outbox(page)).map((r) => r.id),
    kept.map((r) => r.id),
    'nothing is lost, and nothing half stored',
  );

  await room(2 * roomBytes);
  await save(page);
  await left(page);
  await strip(page, /not sent yet/);
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /not sent yet/ })
    .click();
  const file = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Copy unsent entries to a file' }).click();
  const chunks = [];
  for await (const chunk of await (await file).createReadStream()) chunks.push(chunk);
  const rows = await outbox(page);
  assert.equal(rows.length, kept.length + 1);
  assert.deepEqual(
    Buffer.concat(chunks).toString().trim().split('\n'),
    rows.filter((r) => r.mark === '').map((r) => r.text),
    'the file is what is stored, byte for byte',
  );
  await phone.setOffline(false);
  await strip(page, /All sent/);
});

test('what waits for four hours is asked for until it is sent', async () => {
  await phone.setOffline(true);
  await fill(page, '7.2');
  await save(page);
  await left(page);
  await strip(page, /1 not sent yet/);
  await page.evaluate(
    (ms) => {
      const real = Date.now;
      Date.now = () => real() + ms;
    },
    4 * hourMs + 60_000,
  );
  await page
    .getByRole('alert')
    .filter({ hasText: /Take this phone to the network · \d+ not sent yet/ })
    .waitFor();
  await page.getByRole('banner').getByRole('link').filter({ hasText: 'Take this phone' }).click();
  await page.getByText('Entries have waited here for hours').waitFor();
  await page.getByRole('button', { name: 'Copy unsent entries to a file' }).waitFor();
  await phone.setOffline(false);
  await strip(page, /All sent/);
  await page.getByText('Entries have waited here for hours').waitFor({ state: 'detached' });
});

test('another window that holds the books is named, and once it is closed this one goes on by itself', async () => {
  // The window of another program version: it holds the database and does not hear that
  // a third one wants to change it. Everybody else is queued without a word.
  await page.close();
  const old = await phone.newPage();
  await old.goto(shop.url + '/healthz');
  await old.evaluate(
    () =>
      new Promise((ok, no) => {
        const open = indexedDB.open('hoppertally', 1);
        open.onerror = () => no(open.error);
        open.onsuccess = () => {
          window.kept = open.result;
          window.wish = indexedDB.open('hoppertally', 2);
          window.wish.onblocked = () => ok();
        };
      }),
  );
  page = await phone.newPage();
  await page.goto(shop.url + '/');
  const note = page.getByText('Another window holds this phone’s books');
  await note.waitFor();
  await page.getByText('Close the other windows of this app').waitFor();
  await old.close();
  await note.waitFor({ state: 'detached' });
  await strip(page, /All sent/);
  await fill(page, '7.1');
  await save(page);
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
  await strip(page, /All sent/);
  const rows = await outbox(page);
  assert.deepEqual(
    rows.map((r) => r.n),
    rows.map((_, i) => i + 1),
    'the same phone with the same counter',
  );
});
