import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { buildBench, enter, installed, openBrowser, openDoor, openPhone, openShop, signIn, until } from './lib.mjs';

let shop, door, browser, v1, v2;
before(async () => {
  v1 = buildBench('v1');
  v2 = buildBench('v2');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, v1);
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

// settled gives a phone whose service worker serves the shell of v1.
async function settled() {
  door.dist = v1;
  door.broken = null;
  const phone = await openPhone(browser);
  const page = await enter(phone, door);
  await installed(page);
  await page.reload();
  await page.getByText(/^ready/).waitFor();
  return { phone, page };
}

test('a new version waits until the person takes it', async () => {
  const { phone, page } = await settled();
  assert.equal(await page.getByRole('button', { name: 'Update' }).count(), 0, 'the first install asks nothing');
  door.dist = v2;
  await page.evaluate(() => window.bench.lookForUpdate());
  await page.getByRole('button', { name: 'Update' }).waitFor();
  await page.reload();
  await page.getByText('version v1').waitFor(); // a reload alone changes nothing
  await page.getByRole('button', { name: 'Update' }).click();
  await page.getByText('version v2').waitFor();
  await phone.setOffline(true);
  await page.reload();
  await page.getByText('version v2').waitFor();
  await page.getByText(/^ready/).waitFor();
  await phone.close();
});

test('a window in which it was not taken is asked too: its files are gone', async () => {
  const { phone, page } = await settled();
  const other = await enter(phone, door);
  door.dist = v2;
  await page.evaluate(() => window.bench.lookForUpdate());
  await page.getByRole('button', { name: 'Update' }).click();
  await page.getByText('version v2').waitFor();
  await until(other, () => navigator.serviceWorker.controller?.state === 'activated');
  await other.getByRole('button', { name: 'Update' }).last().click(); // the first stands for the version while it waited
  await other.getByText('version v2').waitFor();
  await phone.close();
});

test('a page that was open when the first version was installed is asked as well', async () => {
  door.dist = v1;
  const phone = await openPhone(browser),
    page = await enter(phone, door);
  await installed(page);
  door.dist = v2;
  await page.evaluate(() => window.bench.lookForUpdate());
  await page.getByRole('button', { name: 'Update' }).last().click();
  await page.getByText('version v2').waitFor();
  await phone.close();
});

test('an update loads only what has changed', async () => {
  const { phone, page } = await settled();
  door.dist = v2;
  door.requests.length = 0;
  await page.evaluate(() => window.bench.lookForUpdate());
  await page.getByRole('button', { name: 'Update' }).waitFor();
  assert.deepEqual(
    door.requests.filter((r) => r.endsWith('.wasm')),
    [],
    'the same core is not fetched again',
  );
  await phone.close();
});

test('half a deploy is never installed', async () => {
  const { phone, page } = await settled();
  door.dist = v2;
  door.broken = 'main-';
  await page.evaluate(() => window.bench.lookForUpdate());
  await until(page, () => navigator.serviceWorker.getRegistration().then((r) => r.installing === null));
  assert.equal(await page.getByRole('button', { name: 'Update' }).count(), 0);
  await page.reload();
  await page.getByText('version v1').waitFor();
  await page.getByText(/^ready/).waitFor();
  door.broken = null; // the deploy is finished: the next look finds it whole
  await page.evaluate(() => window.bench.lookForUpdate());
  await page.getByRole('button', { name: 'Update' }).click();
  await page.getByText('version v2').waitFor();
  await phone.close();
});

test('an update that cannot be installed is told to the person and to the manager, until it can', async () => {
  const { phone, page } = await settled();
  await signIn(page, shop.codes.manager);
  door.dist = v2;
  door.broken = 'main-';
  await page.evaluate(() => window.bench.lookForUpdate());
  await until(page, () => window.bench.stuck?.startsWith('/assets/main-'));
  await until(page, () =>
    window.bench.core
      .phones()
      .then((l) => l.some((p) => p.update_stuck.startsWith('/assets/main-') && p.app_version === 'v1')),
  );
  door.broken = null;
  await page.evaluate(() => window.bench.lookForUpdate());
  await until(page, () => window.bench.stuck === '');
  await until(page, () => window.bench.core.phones().then((l) => l.every((p) => p.update_stuck === '')));
  await phone.close();
});

test('the service worker never touches the api', async () => {
  const { phone, page } = await settled();
  await phone.setOffline(true);
  const answer = await page.evaluate(() =>
    fetch('/api/v1/hello').then(
      (r) => r.status,
      (e) => e.name,
    ),
  );
  assert.equal(answer, 'TypeError');
  await phone.close();
});
