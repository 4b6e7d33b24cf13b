// A phone that comes to a shop with history starts from a snapshot, stands on it
// offline, notices when an entry reaches behind it, and asks the server for the rest.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { historyShop } from './history.mjs';
import { buildBench, enter, eventually, installed, openBrowser, openDoor, openPhone, signIn, until } from './lib.mjs';

let shop, door, browser;
before(async () => {
  shop = await historyShop(3000, 0.16); // two months
  browser = await openBrowser();
  door = await openDoor(shop, buildBench('bench'));
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

const asked = (what) => door.requests.filter((r) => r.startsWith('GET /api/v1/' + what)).length;

// both gives a view by the phone itself and by the server, for the same reader and moment.
function both(page, name) {
  return page.evaluate(async (view) => {
    const own = await window.bench.core.view(view, {});
    return JSON.stringify(own);
  }, name);
}

test('a new phone starts from a snapshot and has the server’s figures', async () => {
  const phone = await openPhone(browser);
  const page = await enter(phone, door);
  await signIn(page, shop.code('p-mia'));
  await until(page, () => window.bench.status?.windowMs !== null);
  assert.ok(asked('snapshot?') === 1 && asked('snapshot/') >= 2, door.requests.join('\n'));
  assert.ok(asked('pull') <= 2, `${asked('pull')} pulls`);
  const stock = JSON.parse(await both(page, 'stock'));
  const served = await shop.view('stock');
  assert.deepEqual(
    stock.map((s) => [s.powder.id, s.total.mg, s.reclaim.mg]),
    served.map((s) => [s.powder.id, s.total.mg, s.reclaim.mg]),
  );
  const flow = JSON.parse(await both(page, 'office')).flow;
  assert.deepEqual(flow, (await shop.view('office')).flow);

  // Cold, without a network: the books stand on what is stored.
  await installed(page);
  door.set('down');
  await page.reload();
  await page.getByText(/^ready/).waitFor();
  await until(page, () => window.bench.status?.windowMs !== null);
  assert.deepEqual(JSON.parse(await both(page, 'office')).flow, flow);
  door.set('pass');

  // An entry from before the window: the phone fetches another snapshot by itself.
  const before = asked('snapshot?');
  await shop.push(
    'p-mia',
    'lot.received',
    { lot: 'found-later', powder: 'pw01', batch: '77', place: 'shelf', mass_mg: 5_000_000 },
    Date.now() - 20 * 24 * 3600e3,
  );
  const exact = (await shop.view('office')).flow;
  assert.notDeepEqual(exact, flow);
  await eventually(() => asked('snapshot?') > before); // the figures may be right before, when the entry lies on top
  await until(
    page,
    (n) => window.bench.core.view('office', {}).then((v) => JSON.stringify(v.flow) === n),
    JSON.stringify(exact),
  );
  assert.equal(asked('snapshot?'), before + 1);

  // A lot of two months ago is on parts that this phone no longer lists.
  const lots = (await shop.view('stock')).flatMap((s) => s.lots);
  const lot = lots.toSorted((a, b) => a.received_ms - b.received_ms)[0].lot;
  const trace = await page.evaluate((lot) => window.bench.core.older('trace', { lot }), lot);
  assert.deepEqual(
    trace.runs.map((r) => r.run),
    (await shop.view('trace', '&lot=' + lot)).runs.map((r) => r.run),
  );
  await phone.close();
});
