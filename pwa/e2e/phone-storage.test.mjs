import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import {
  buildBench,
  enter,
  eventually,
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

// faulty opens a phone whose worker starts with a line of script before its own.
async function faulty(script) {
  const phone = await openPhone(browser, { serviceWorkers: 'block' });
  await phone.route('**/assets/worker-*.js', async (route) => {
    const answer = await route.fetch();
    await route.fulfill({ response: answer, body: script + '\n' + (await answer.text()) });
  });
  return phone;
}

async function freshCode(role) {
  await shop.stop();
  await shop.start();
  return shop.codes[role];
}

test('without storage the books can be read, and recording says loudly that nothing was saved', async () => {
  const phone = await faulty(`indexedDB.open = () => { throw new DOMException('private window', 'SecurityError'); };`);
  const page = await enter(phone, door);
  await signIn(page, shop.codes.coater);
  assert.equal(await page.evaluate(() => window.bench.status.storage), 'none');
  const problem = await weigh(page, 1000).then(
    () => null,
    (e) => String(e),
  );
  assert.match(
    await page.evaluate(() =>
      window.bench.core.record('note', { entry: 'x', text: 'y' }, '').then(
        () => 'saved',
        (p) => p.code,
      ),
    ),
    /not_saved|form\./,
  );
  assert.notEqual(problem, null, 'a weighing must not be called saved');
  await phone.close();
});

test('a storage that never opens counts as none', async () => {
  const phone = await faulty(`indexedDB.open = () => new EventTarget();`);
  const page = await enter(phone, door);
  assert.equal(await page.evaluate(() => window.bench.core.boot().then((b) => b.storage)), 'none');
  await phone.close();
});

test('a storage connection that died is opened again, and the entry is saved', async () => {
  const phone = await faulty(`{ const real = IDBDatabase.prototype.transaction; let at = 0;
    IDBDatabase.prototype.transaction = function (...a) { if (a[0].includes('outbox') && a[1] === 'readwrite' && at++ < 1) throw new DOMException('closing', 'InvalidStateError'); return real.apply(this, a); }; }`);
  const page = await enter(phone, door);
  await signIn(page, await freshCode('clerk'));
  const saved = await weigh(page, 1234);
  assert.ok((await outbox(page)).some((r) => r.id === saved.ids[0]));
  await phone.close();
});

test('a full phone gives up its reserve for the entry, and a fuller one says NOT saved', async () => {
  const phone = await faulty(`{ const real = IDBObjectStore.prototype.put; globalThis.refuse = 1;
    IDBObjectStore.prototype.put = function (...a) { if (this.name === 'outbox' && a[0].mark === '' && globalThis.refuse-- > 0) throw new DOMException('full', 'QuotaExceededError'); return real.apply(this, a); };
    addEventListener('message', (e) => { if (e.data.type === 'refuse') globalThis.refuse = e.data.times; }); }`);
  const page = await enter(phone, door);
  await signIn(page, await freshCode('manager'));
  const saved = await weigh(page, 1111);
  assert.ok(
    (await outbox(page)).some((r) => r.id === saved.ids[0]),
    'the second try has room',
  );
  await page.evaluate(() => window.bench.workers.at(-1).postMessage({ type: 'refuse', times: 99 }));
  const before = (await outbox(page)).length;
  const code = await page.evaluate(async () => {
    const vessel = (await window.bench.core.view('lists', {})).places.find((p) => p.kind === 'vessel').place;
    return window.bench.core.record('weigh', { place: vessel, mass: '1 kg' }, 'test').then(
      () => 'saved',
      (p) => p.code,
    );
  });
  assert.equal(code, 'not_saved');
  assert.equal((await outbox(page)).length, before);
  await until(page, () => window.bench.status.storage === 'failing');
  await page.evaluate(() => window.bench.workers.at(-1).postMessage({ type: 'refuse', times: 0 }));
  await weigh(page, 1112);
  await until(page, () => window.bench.status.storage === 'ok');
  await phone.close();
});

for (const op of ['view', 'seal', 'recorded', 'step']) {
  test(`a core that panics in ${op} is replaced, and nothing saved is lost or doubled`, async () => {
    const phone =
      await faulty(`{ let real, left = 0; globalThis.addEventListener('message', (e) => { if (e.data.type === 'panic') left = 1; });
      Object.defineProperty(globalThis, 'hoppertallyCore', { configurable: true, set(v) { real = v; }, get() { const mine = real; return (op, ...rest) => (op === '${op}' && left-- > 0 ? { panic: 'test' } : mine(op, ...rest)); } }); }`);
    const page = await enter(phone, door);
    await signIn(page, await freshCode('coater'));
    await weigh(page, 1000);
    let isReplaced = false;
    page.on('console', (m) => {
      isReplaced ||= m.text().includes('core panicked');
    });
    await page.evaluate(() => window.bench.workers.at(-1).postMessage({ type: 'panic' }));
    const told = (await weigh(page, 1001)).ids;
    await eventually(() => isReplaced); // a step comes with the answer to the push
    await page.evaluate(() => window.bench.core.view('booth', {}));
    told.push(...(await weigh(page, 1002)).ids);
    const ids = (await outbox(page)).map((r) => r.id);
    for (const id of told) assert.equal(ids.filter((x) => x === id).length, 1);
    assert.deepEqual(
      (await outbox(page)).map((r) => r.n),
      ids.map((_, i) => i + 1),
    );
    await sent(page);
    await phone.close();
  });
}
