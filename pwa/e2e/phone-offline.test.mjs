import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import {
  buildBench,
  enter,
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

test('a shift without signal: install, reload, record, reload, and everything arrives once', async () => {
  const phone = await openPhone(browser);
  let page = await enter(phone, door);
  await signIn(page, shop.codes.coater);
  assert.equal(await page.evaluate(() => window.bench.isShell), true);
  await installed(page);
  const headBefore = await head(shop);

  await phone.setOffline(true);
  await page.reload();
  await page.getByText(/^ready/).waitFor();
  const booth = await page.evaluate(() => window.bench.core.view('booth', {}));
  assert.ok(booth.booths.length > 0, 'the books are there without a server');

  for (let i = 1; i <= 5; i++) await weigh(page, 1000 + i);
  await until(page, () => window.bench.status?.unsent >= 5);
  const unsent = (await outbox(page)).length;
  await page.close();

  page = await phone.newPage();
  await page.goto(door.url + '/some/place');
  await page.getByText(/^ready/).waitFor();
  await until(page, (n) => window.bench.status?.unsent === n, unsent);
  assert.ok(
    Date.now() - (await page.evaluate(() => window.bench.status.lastSyncMs)) < 600_000,
    'it still knows when it had the server last',
  );
  const lines = (await page.evaluate(() => window.bench.core.exportUnsent())).trim().split('\n');
  assert.deepEqual(
    lines,
    (await outbox(page)).map((r) => r.text),
    'the export is what is stored, byte for byte',
  );

  await phone.setOffline(false);
  await page.evaluate(() => window.bench.core.syncNow());
  await sent(page);
  assert.equal(await head(shop), headBefore + unsent, 'the log grew by exactly what was recorded');
  assert.deepEqual(
    (await outbox(page)).map((r) => r.mark),
    Array(unsent).fill('accepted'),
  );
  await phone.close();
});

test('what was called saved is there when the page closes in the same moment', async () => {
  const phone = await openPhone(browser);
  let page = await enter(phone, door);
  await signIn(page, shop.codes.clerk);
  await installed(page);
  await phone.setOffline(true);
  const saved = await weigh(page, 777);
  await page.close({ runBeforeUnload: false });
  await phone.setOffline(false);
  door.set('down');
  page = await phone.newPage();
  await page.goto(door.url + '/');
  await page.getByText(/^ready/).waitFor();
  const ids = (await outbox(page)).map((r) => r.id);
  for (const id of saved.ids) assert.ok(ids.includes(id), `entry ${id} is lost`);
  door.set('pass');
  await phone.close();
});

test('drafts outlive the page, and a record takes its draft away', async () => {
  const phone = await openPhone(browser);
  const page = await enter(phone, door);
  await signIn(page, shop.codes.manager);
  await page.evaluate(() => window.bench.core.saveDraft('weigh', { mass: '1 kg' }));
  await page.reload();
  await page.getByText(/^ready/).waitFor();
  assert.deepEqual(await page.evaluate(() => window.bench.core.draft('weigh')), { mass: '1 kg' });
  await weigh(page, 1500);
  assert.equal(await page.evaluate(() => window.bench.core.draft('weigh')), null);
  const left = await page.evaluate(async () => {
    const { core } = window.bench,
      key = 'weigh?place=hopper-1';
    await core.saveDraft(key, { mass: '2 kg' });
    await core.saveDraft('weigh', { mass: '3 kg' });
    await core.record('weigh', { place: 'hopper-1', mass: '2 kg' }, 'test', { draft: key });
    return [await core.draft(key), await core.draft('weigh')];
  });
  assert.deepEqual(left, [null, { mass: '3 kg' }], 'the draft of the form itself, in the same piece as the entries');
  await phone.close();
});

test("a live poke brings another phone's entry within seconds", async () => {
  const a = await openPhone(browser),
    b = await openPhone(browser);
  const one = await enter(a, door),
    two = await enter(b, door);
  const code = await newCode(shop);
  await signIn(one, code[0]);
  await signIn(two, code[1]);
  const saved = await weigh(one, 4242);
  await until(
    two,
    (id) => window.bench.core.view('entries', { entry: id }).then((list) => list.some((e) => e.id === id)),
    saved.ids[0],
    25_000,
  ); // without a poke the phone asks again after 30 s at the soonest
  await a.close();
  await b.close();
});

async function head(of) {
  return (await (await fetch(of.url + '/api/v1/hello')).json()).head;
}

// newCode asks the shop for two fresh codes as its manager would.
async function newCode(of) {
  await of.stop();
  await of.start();
  return [of.codes.coater, of.codes.manager];
}
