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
  outbox,
  sent,
  signIn,
  until,
  weigh,
} from './lib.mjs';

let shop, door, browser, phone, page;
before(async () => {
  const dist = buildBench('v1');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, dist);
  phone = await openPhone(browser);
  page = await enter(phone, door);
  await signIn(page, shop.codes.clerk);
  await installed(page);
  await page.reload(); // from here on the service worker serves the shell
  await page.getByText(/^ready/).waitFor();
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

for (const [mode, what] of [
  ['portal', 'a captive portal that answers everything with its login page'],
  ['redirect', 'a portal that redirects'],
  ['empty', 'an empty 200'],
  ['stranger', 'another server of our kind'],
  ['blackhole', 'a network that swallows everything while the browser says it is online'],
  ['down', 'a server that is gone'],
]) {
  test(`${what} is no server, and nothing stops or is lost`, async () => {
    door.set(mode);
    const saved = await weigh(page, 3000 + Math.floor(Math.random() * 999));
    await until(page, () => window.bench.status?.online === 'no' && window.bench.status.unsent > 0);
    assert.equal(await page.evaluate(() => window.bench.status.sessionEnded), false);
    await page.reload();
    await page.getByText(/^ready/).waitFor();
    assert.equal(await page.evaluate(() => navigator.onLine), true, 'the browser believes in the network');
    door.set('pass');
    await page.evaluate(() => window.bench.core.syncNow());
    await sent(page);
    const row = (await outbox(page)).find((r) => r.id === saved.ids[0]);
    assert.equal(row.mark, 'accepted');
  });
}

test('a phone that nobody is signed in on says whether the server is there', async () => {
  const other = await openPhone(browser),
    at = await enter(other, door);
  await until(at, () => window.bench.status?.online === 'yes' && !window.bench.status.signedIn);
  for (const [mode, online] of [
    ['down', 'no'],
    ['pass', 'yes'],
    ['portal', 'no'],
  ]) {
    door.set(mode);
    await at.evaluate(() => window.bench.core.syncNow());
    await until(at, (want) => window.bench.status.online === want, online);
  }
  door.set('pass'); // now it finds out by itself
  await until(at, () => window.bench.status.online === 'yes');
  await other.close();
});

test('an answer that gets lost is asked for again and counts once', async () => {
  const head = async () => (await (await fetch(shop.url + '/api/v1/hello')).json()).head;
  const was = await head();
  door.set('deaf');
  const saved = await weigh(page, 4711);
  await eventually(async () => (await head()) === was + saved.ids.length); // the shop has it, and the phone does not know
  await until(page, () => window.bench.status?.online === 'no' && window.bench.status.unsent > 0);
  door.set('pass');
  await page.evaluate(() => window.bench.core.syncNow());
  await sent(page);
  assert.equal(await head(), was + saved.ids.length);
});

test('on a slow network everything arrives, once, and recording does not wait for it', async () => {
  const head = async () => (await (await fetch(shop.url + '/api/v1/hello')).json()).head;
  const was = await head();
  door.set('blackhole'); // slower than whatever this machine does meanwhile
  const saved = await weigh(page, 4713),
    more = await weigh(page, 4714);
  const ids = [...saved.ids, ...more.ids],
    rows = (await outbox(page)).filter((r) => ids.includes(r.id));
  assert.deepEqual(
    rows.map((r) => r.mark),
    ids.map(() => ''),
    'stored, and not answered yet',
  );
  await until(page, () => window.bench.status?.unsent > 0);
  assert.equal(await head(), was);
  door.set('slow');
  await sent(page);
  assert.equal(await head(), was + ids.length);
  door.set('pass');
});

test("the browser's word that it is offline is a hint to ask: only the answer counts", async () => {
  await page.evaluate(() => window.bench.core.syncNow());
  await until(page, () => window.bench.status?.online === 'yes');
  const greetings = () => door.requests.filter((r) => r === 'GET /api/v1/hello').length;
  const before = greetings();
  await page.evaluate(() => {
    window.dispatchEvent(new Event('offline'));
  });
  await eventually(() => greetings() > before);
  await until(page, () => window.bench.status?.online === 'yes');
  door.set('down');
  await page.evaluate(() => {
    window.dispatchEvent(new Event('offline'));
  });
  await until(page, () => window.bench.status?.online === 'no');
  door.set('pass');
  await page.evaluate(() => window.bench.core.syncNow());
  await until(page, () => window.bench.status?.online === 'yes');
});

test('a page that sleeps in the back/forward cache wakes up and syncs', async () => {
  await page.evaluate(() => {
    window.dispatchEvent(new PageTransitionEvent('pagehide', { persisted: true }));
  });
  await page.evaluate(() => {
    window.dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }));
  });
  await weigh(page, 4712);
  await sent(page);
});
