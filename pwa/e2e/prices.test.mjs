// Prices on a phone, on the real page and the real server: what a manager's right let in
// goes with that right, wherever a browser keeps things, in every window, and whatever
// happens to the phone on the way. What is unsent stays and goes out.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { desk, eventually, openBrowser, openPhone, openShop, outbox } from './lib.mjs';
import { atRest, inMemory } from './remains.mjs';
import { at, enterBy, heading, holder, meta, people, receive, save, signOut, strip, weigh } from './staff.mjs';

const priced = { typed: '86420.97', stored: '8642097', drafted: '75319.64' }; // no other figure of the shop looks so
const figures = ['420.97', priced.stored, priced.drafted]; // 86 420.97 has a thin blank on the screen

let shop, browser, entry, manager;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  const office = await open();
  await signIn(office.page, 'manager');
  await receive(office.page, 'PRICED-1', priced.typed);
  await save(office.page);
  manager = await desk(shop, shop.codes.manager);
  await eventually(
    async () => (entry = (await manager.log()).find((e) => e.entry.body.batch === 'PRICED-1')?.entry) !== undefined,
  );
  await office.phone.close();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

async function open() {
  const phone = await openPhone(browser, { reducedMotion: 'reduce' });
  return { phone, page: await phone.newPage() };
}

const signIn = (page, role) => enterBy(shop, page, role);
const showsPrice = (page) =>
  page
    .getByText(/86.?420\.97/)
    .first()
    .waitFor();

// managers is a phone on which a manager has looked at a price and half filled in another;
// everything that can hold them does.
async function managers() {
  const p = await open();
  await signIn(p.page, 'manager');
  await at(p.page, `#/entry/${entry.id}`);
  await showsPrice(p.page);
  await eventually(async () => {
    const places = await atRest(p.page, figures);
    return (
      places.some((x) => x.includes(' blobs "fold"')) &&
      places.some((x) => x.includes(' events ') || x.includes('"base"'))
    );
  });
  await receive(p.page, 'DRAFTED-1', priced.drafted);
  await eventually(async () => (await atRest(p.page, figures)).some((x) => x.includes('draft:')));
  const mia = (await people(p.page)).find((x) => x.role === 'manager');
  return { ...p, mia };
}

const gone = (page) =>
  eventually(async () => (await atRest(page, figures)).length === 0).catch(async () =>
    assert.deepEqual(await atRest(page, figures), []),
  );
const weighed = async (page) =>
  (await outbox(page))
    .map((r) => ({ ...r, entry: JSON.parse(r.text) }))
    .filter((r) => r.entry.kind === 'place.weighed');

test('signing out takes prices off the phone, also without a network; what is unsent stays and goes out', async () => {
  const { phone, page } = await managers();
  await phone.setOffline(true);
  await weigh(page, '8.51');
  await signOut(page);
  await page.getByRole('button', { name: 'Sign in' }).first().waitFor();
  await gone(page);
  assert.deepEqual(
    (await weighed(page)).map((r) => r.mark),
    [''],
  );
  await page.goto('about:blank');
  await page.goto(shop.url + '/');
  await page.getByRole('button', { name: 'Sign in' }).first().waitFor();
  assert.deepEqual(await atRest(page, figures), []);
  await phone.setOffline(false);
  await eventually(async () => ((await meta(page, 'ending')) ?? []).length === 0); // the server knows that she signed out
  await signIn(page, 'manager');
  await eventually(async () => (await weighed(page))[0].mark === 'accepted');
  await at(page, `#/entry/${entry.id}`);
  await showsPrice(page); // and her right brings them back
  await phone.close();
});

test('being shut out takes prices off the phone; it goes on recording, and letting it in brings them back', async () => {
  const { phone, page } = await managers();
  const device = await meta(page, 'device');
  await phone.setOffline(true);
  await weigh(page, '8.41');
  await manager.call('POST', `phones/${device}/revoke`, {});
  await phone.setOffline(false);
  await strip(page, /Phone shut out/);
  await gone(page);
  await eventually(async () => (await weighed(page))[0].mark === 'held');
  await weigh(page, '8.40'); // with the books without prices
  await eventually(async () => (await weighed(page)).every((r) => r.mark === 'held'));
  assert.deepEqual(await atRest(page, figures), []);
  await manager.call('POST', `phones/${device}/restore`, {});
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Try now' }).click();
  await strip(page, /All sent/);
  await at(page, `#/entry/${entry.id}`);
  await showsPrice(page);
  await phone.close();
});

test('when a coater takes over a manager’s phone prices go, at rest and in the memory of both windows', async () => {
  const { phone, page, mia } = await managers();
  const second = await phone.newPage();
  await second.goto(`${shop.url}/#/entry/${entry.id}`);
  await showsPrice(second);
  for (const p of [page, second]) {
    const { found, workers } = await inMemory(p, figures);
    assert.deepEqual([found.includes('core'), found.includes('page'), workers], [true, true, 1], 'it is there before');
  }
  await phone.setOffline(true);
  await weigh(page, '8.31');
  await phone.setOffline(false);
  await signIn(page, 'coater');
  await gone(page);
  await second
    .getByText(/86.?420\.97/)
    .first()
    .waitFor({ state: 'detached' });
  assert.deepEqual(
    (await people(page)).map((x) => x.role),
    ['coater'],
  );
  for (const p of [page, second]) {
    await eventually(async () => (await inMemory(p, figures)).found.length === 0).catch(async () =>
      assert.deepEqual(await inMemory(p, figures), { found: [], workers: 1 }),
    );
  }
  assert.deepEqual(await atRest(page, figures), []);
  assert.deepEqual(
    (await weighed(page)).map((r) => [r.entry.by, r.mark]),
    [[mia.id, 'accepted']],
    'hers was sent before she was signed out',
  );
  await weigh(page, '8.30'); // the coater has the books, without prices
  await eventually(async () => (await weighed(page))[1]?.mark === 'accepted');
  await at(page, `#/entry/${entry.id}`);
  await heading(page, 'Lot received');
  assert.equal(await page.getByText('Price per kg').count(), 0);
  await phone.close();
});

test('a form that stood open in another window writes no price down for whoever has the phone now', async () => {
  const { phone, page } = await managers();
  const second = await phone.newPage();
  await second.goto(shop.url + '/');
  await holder(second, (await people(page))[0].name);
  await signIn(second, 'coater');
  await page.getByLabel('Price per kg').waitFor({ state: 'visible' });
  assert.equal(await page.getByLabel('Price per kg').inputValue(), '', 'the form began anew');
  await gone(page);
  await phone.close();
});

test('a session that is ended elsewhere takes prices off the phone, and recording goes on', async () => {
  const { phone, page, mia } = await managers();
  await manager.call('POST', `people/${mia.id}/sign-out`, {});
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Try now' }).click();
  await strip(page, /Sign in again/);
  await gone(page);
  await weigh(page, '8.21');
  await phone.close();
  manager = await desk(shop, shop.codes.manager);
});

test('a manager who becomes a coater has no prices on the phone any more', async () => {
  const { phone, page, mia } = await managers();
  const clerk = await desk(shop, shop.codes.clerk, 'desk-of-the-clerk');
  await manager.push('person.set', { person: clerk.person.id, name: clerk.person.name, role: 'manager' });
  await clerk.push('person.set', { person: mia.id, name: mia.name, role: 'coater' });
  await gone(page);
  await at(page, `#/entry/${entry.id}`);
  await heading(page, 'Lot received');
  assert.equal(await page.getByText('Price per kg').count(), 0);
  await clerk.push('person.set', { person: mia.id, name: mia.name, role: 'manager' });
  await manager.push('person.set', { person: clerk.person.id, name: clerk.person.name, role: 'clerk' });
  await phone.close();
});

test('a phone that is killed on the way takes prices out at its next start, before it shows anything', async () => {
  const { phone, page } = await managers();
  // A slow disk: this window keeps the pulled pages busy.
  const disk = await phone.newPage();
  await disk.goto(shop.url + '/healthz');
  await disk.evaluate(
    () =>
      new Promise((ok) => {
        const open = indexedDB.open('hoppertally', 1);
        open.onsuccess = () => {
          const tx = open.result.transaction('events', 'readonly');
          const busy = () => {
            if (window.letGo !== true) tx.objectStore('events').count().onsuccess = busy;
          };
          busy();
          window.tx = tx;
          ok();
        };
      }),
  );
  await signOut(page);
  await eventually(async () => (await meta(disk, 'session')).person === null);
  const cdp = await phone.newCDPSession(page);
  cdp.send('Page.crash').catch(() => undefined);
  await page.waitForEvent('crash');
  await disk.evaluate(
    () =>
      new Promise((ok) => {
        window.tx.oncomplete = ok;
        window.letGo = true;
      }),
  );
  assert.ok(
    (await atRest(disk, figures)).some((x) => x.includes('fold')),
    'the phone died before they were taken out',
  );
  const again = await phone.newPage();
  await again.goto(shop.url + '/');
  await again.getByRole('button', { name: 'Sign in' }).first().waitFor();
  assert.deepEqual(await atRest(again, figures), []);
  await phone.close();
});
