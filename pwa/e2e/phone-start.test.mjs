import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { buildBench, enter, openBrowser, openDoor, openPhone, openShop, signIn } from './lib.mjs';

let shop, door, browser;
before(async () => {
  const dist = buildBench('v1');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, dist);
});
after(async () => { await browser?.close(); await door?.close(); await shop?.close(); });

// The budget is 0.8 s on a phone four times slower than this machine. The browser's
// CPU throttle does not reach workers, where nearly all of the work is, so the whole
// time from navigation to readable books is taken unthrottled and counted four times:
// the median of nine starts must stay under 200 ms.
test('a cold start without a server is usable within 0.8 s at a quarter of the speed', async (t) => {
  const phone = await openPhone(browser);
  let page = await enter(phone, door);
  await signIn(page, shop.codes.manager);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await new Promise((ok) => setTimeout(ok, 1500)); // the state is saved half a second after a pull
  door.set('down');
  const times = [];
  for (let i = 0; i < 9; i++) {
    await page.close();
    page = await phone.newPage();
    await page.goto(door.url + '/');
    await page.getByText(/^ready/).waitFor();
    times.push(await page.evaluate(() => ({ ready: Math.round(performance.getEntriesByName('ready')[0].startTime), core: Math.round(window.bench.readyMs) })));
  }
  const sorted = times.map((x) => x.ready).sort((a, b) => a - b);
  t.diagnostic(`from navigation to readable books, ms: ${sorted.join(' ')}; of it after the script began: ${times.map((x) => x.core).join(' ')}`);
  assert.ok(sorted[4] <= 200, `median ${sorted[4]} ms, four times that is over 800 ms`);
  await phone.close();
});
