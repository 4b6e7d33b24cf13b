import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { buildBench, enter, eventually, openBrowser, openDoor, openPhone, openShop, outbox, signIn, until, weigh } from './lib.mjs';

let shop, door, browser, phone, page;
before(async () => {
  const dist = buildBench('v1');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, dist);
  phone = await openPhone(browser);
  page = await enter(phone, door);
  await signIn(page, shop.codes.clerk);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await page.reload(); // from here on the service worker serves the shell
  await page.getByText(/^ready/).waitFor();
});
after(async () => { await browser?.close(); await door?.close(); await shop?.close(); });

for (const [mode, what] of [
  ['portal', 'a captive portal that answers everything with its login page'],
  ['redirect', 'a portal that redirects'],
  ['empty', 'an empty 200'],
  ['stranger', 'another server of our kind'],
  ['blackhole', 'a network that swallows everything while the browser says it is online'],
  ['down', 'a server that is gone'],
]) {
  test(`${what} is no server, and nothing stops or is lost`, { timeout: 120_000 }, async () => {
    door.set(mode);
    const saved = await weigh(page, 3000 + Math.floor(Math.random() * 999));
    await until(page, () => window.bench.status?.online === 'no' && window.bench.status.unsent > 0, undefined, 45_000);
    assert.equal(await page.evaluate(() => window.bench.status.sessionEnded), false);
    await page.reload();
    await page.getByText(/^ready/).waitFor();
    assert.equal(await page.evaluate(() => navigator.onLine), true, 'the browser believes in the network');
    door.set('pass');
    await page.evaluate(() => window.bench.core.syncNow());
    await until(page, () => window.bench.status?.unsent === 0 && window.bench.status.online === 'yes', undefined, 45_000);
    const row = (await outbox(page)).find((r) => r.id === saved.ids[0]);
    assert.equal(row.mark, 'accepted');
  });
}

test('an answer that gets lost is asked for again and counts once', async () => {
  const head = async () => (await (await fetch(shop.url + '/api/v1/hello')).json()).head;
  const was = await head();
  door.set('deaf');
  const saved = await weigh(page, 4711);
  await until(page, () => window.bench.status?.online === 'no', undefined, 30_000);
  door.set('pass');
  await page.evaluate(() => window.bench.core.syncNow());
  await until(page, () => window.bench.status?.unsent === 0 && window.bench.status.online === 'yes', undefined, 30_000);
  assert.equal(await head(), was + saved.ids.length);
});

test('on a slow network everything arrives, once, and recording does not wait for it', { timeout: 120_000 }, async () => {
  const head = async () => (await (await fetch(shop.url + '/api/v1/hello')).json()).head;
  const was = await head();
  door.set('slow');
  const saved = await weigh(page, 4713), more = await weigh(page, 4714);
  assert.ok((await outbox(page)).some((r) => r.id === saved.ids[0]));
  await until(page, () => window.bench.status?.unsent > 0, undefined, 10_000);
  await until(page, () => window.bench.status?.unsent === 0 && window.bench.status.online === 'yes', undefined, 60_000);
  assert.equal(await head(), was + saved.ids.length + more.ids.length);
  door.set('pass');
});

test('the browser\'s word that it is offline is a hint to ask: only the answer counts', { timeout: 60_000 }, async () => {
  await page.evaluate(() => window.bench.core.syncNow());
  await until(page, () => window.bench.status?.online === 'yes', undefined, 30_000);
  const greetings = () => door.requests.filter((r) => r === 'GET /api/v1/hello').length;
  const before = greetings();
  await page.evaluate(() => { window.dispatchEvent(new Event('offline')); });
  await eventually(() => greetings() > before, 10_000);
  await until(page, () => window.bench.status?.online === 'yes');
  door.set('down');
  await page.evaluate(() => { window.dispatchEvent(new Event('offline')); });
  await until(page, () => window.bench.status?.online === 'no', undefined, 20_000);
  door.set('pass');
  await page.evaluate(() => window.bench.core.syncNow());
  await until(page, () => window.bench.status?.online === 'yes', undefined, 30_000);
});

test('a page that sleeps in the back/forward cache wakes up and syncs', async () => {
  await page.evaluate(() => { window.dispatchEvent(new PageTransitionEvent('pagehide', { persisted: true })); });
  await page.evaluate(() => { window.dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true })); });
  await weigh(page, 4712);
  await until(page, () => window.bench.status?.unsent === 0 && window.bench.status.online === 'yes', undefined, 15_000);
});
