import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import {
  buildBench,
  enter,
  eventually,
  installed,
  openBrowser,
  openDoor,
  openPhone,
  openShop,
  sent,
  signIn,
  weigh,
} from './lib.mjs';

let shop, door, browser;
before(async () => {
  const dist = buildBench('v1');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, dist);
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

// How long it takes is measured by `make bench-start`; here it is only printed.
test('a cold start without a server shows the same books', async (t) => {
  const phone = await openPhone(browser);
  let page = await enter(phone, door);
  await signIn(page, shop.codes.manager);
  await weigh(page, 1000);
  await page.evaluate(() => window.bench.core.view('booth', {}));
  await installed(page);
  await sent(page);
  await eventually(async () => {
    const { head } = await (await fetch(shop.url + '/api/v1/hello')).json(),
      { counter, after, saved } = await stored(page);
    return after === head && saved?.n === counter && saved.cursor.after === after;
  });
  const before = await page.evaluate(() => window.bench.core.view('booth', {}));
  door.set('down');
  const times = [];
  for (let i = 0; i < 9; i++) {
    await page.close();
    page = await phone.newPage();
    await page.goto(door.url + '/');
    await page.getByText(/^ready/).waitFor();
    await page.waitForFunction(() => performance.getEntriesByName('core').length > 0);
    times.push(
      await page.evaluate(() =>
        ['ready', 'core'].map((name) => Math.round(performance.getEntriesByName(name)[0].startTime)),
      ),
    );
    assert.deepEqual(await page.evaluate(() => window.bench.core.view('booth', {})), before);
  }
  const median = (of) => of.toSorted((a, b) => a - b)[4];
  const shown = median(times.map((x) => x[0])),
    running = median(times.map((x) => x[1]));
  t.diagnostic(`from navigation, median of 9: books shown after ${shown} ms, core running after ${running} ms`);
  await phone.close();
});

// stored gives how far the phone's own counter, its log and its saved state go.
function stored(page) {
  return page.evaluate(
    () =>
      new Promise((ok, no) => {
        const open = indexedDB.open('hoppertally', 1);
        open.onerror = () => no(open.error);
        open.onsuccess = () => {
          const tx = open.result.transaction(['meta', 'blobs']),
            get = (store, key) => tx.objectStore(store).get(key);
          const counter = get('meta', 'counter'),
            cursor = get('meta', 'cursor'),
            fold = get('blobs', 'fold');
          tx.oncomplete = () => {
            open.result.close();
            ok({ counter: counter.result, after: cursor.result?.after, saved: fold.result?.at ?? null });
          };
          tx.onabort = () => no(tx.error);
        };
      }),
  );
}
