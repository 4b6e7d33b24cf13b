// A manager on a phone that several people use, on the real page and the real server: the
// phone keeps no session of hers, the PIN lets nobody be her, and what she recorded stays
// and goes out.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { buildClock, desk, eventually, openBrowser, openDoor, openPhone, openShop, outbox } from './lib.mjs';
import { atRest } from './remains.mjs';
import {
  at,
  changeOver,
  choosePin,
  digits,
  enterBy,
  heading,
  holder,
  meta,
  people,
  signOut,
  strip,
  weigh,
} from './staff.mjs';

let shop, door, browser, manager;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  door = await openDoor(shop, buildClock());
  manager = await desk(shop, shop.codes.manager);
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

async function open() {
  const phone = await openPhone(browser, { reducedMotion: 'reduce' });
  return { phone, page: await phone.newPage() };
}

const signIn = (page, role, url = shop.url) => enterBy({ ...shop, url }, page, role);
const weighed = async (page) =>
  (await outbox(page))
    .map((r) => ({ ...r, entry: JSON.parse(r.text) }))
    .filter((r) => r.entry.kind === 'place.weighed')
    .map((r) => [r.entry.by, r.mark]);

// sessionsOn counts a person's sessions on the phone in a page, as the server has them.
async function sessionsOn(page, person) {
  const device = await meta(page, 'device'),
    { sessions } = await manager.call('GET', `people/${person}/sessions`);
  return sessions.filter((s) => s.device === device).length;
}

// asks is the one fetch: whoever has the phone in their hand asks for somebody's token with
// what the browser keeps. It gives the status.
const asks = (page, person) =>
  page.evaluate(
    (id) =>
      fetch('/api/v1/session/refresh', {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ person: id }),
      }).then((r) => r.status),
    person,
  );

// shared is a phone of a coater and a clerk, each with a PIN.
async function shared(url = shop.url) {
  const p = await open();
  await signIn(p.page, 'coater', url);
  await at(p.page, '#/pin');
  await choosePin(p.page, '1357');
  await signIn(p.page, 'clerk', url);
  await choosePin(p.page, '2468');
  const list = await people(p.page);
  return { ...p, coater: list.find((s) => s.role === 'coater'), clerk: list.find((s) => s.role === 'clerk') };
}

const gate = (page) => page.getByRole('heading', { level: 1, name: 'Who has the phone?' }).waitFor();

test('on a shared phone a manager is signed in for the moment: nothing that is kept speaks for her, and the change-over ends it', async () => {
  const { phone, page, coater, clerk } = await shared();
  let access = '';
  page.on('response', async (r) => {
    const grant = /\/api\/v1\/session(\/refresh)?$/.test(r.url()) && r.ok() ? await r.json().catch(() => null) : null;
    if (grant?.person?.role === 'manager') ({ access } = grant);
  });
  await signIn(page, 'manager');
  assert.equal(
    await page.getByRole('heading', { name: 'My PIN on this phone' }).count(),
    0,
    'she is not asked for a PIN',
  );
  const mia = (await people(page)).find((x) => x.role === 'manager');
  await at(page, '#/who');
  await page.getByText(`${mia.name} is signed in for the moment`).waitFor();
  await page.getByText('It does not lock the phone').waitFor();
  assert.equal(await asks(page, mia.id), 401, 'one fetch of the refresh route');
  assert.notEqual(access, '');
  assert.deepEqual(await atRest(page, [access]), []);
  assert.equal((await phone.cookies()).filter((c) => c.value !== '').length, 2, 'one for each of the others');
  await at(page, '#/pin');
  await page.getByText('A manager has no PIN').waitFor();
  await weigh(page, '8.99');
  await changeOver(page, coater.name, '1357');
  await eventually(async () => !(await people(page)).some((x) => x.id === mia.id));
  await eventually(async () => (await sessionsOn(page, mia.id)) === 0);
  assert.deepEqual(await weighed(page), [[mia.id, 'accepted']], 'hers was sent before');
  const old = await page.evaluate(
    (token) => fetch('/api/v1/me', { headers: { Authorization: 'Bearer ' + token } }).then((r) => r.status),
    access,
  );
  assert.equal(old, 401, 'and her token is good for nothing');
  assert.equal(await asks(page, coater.id), 200, 'the coater’s session is kept as it was');

  // Nobody takes the phone over as the manager, and she is not offered.
  await at(page, '#/who');
  await page.getByRole('button', { name: new RegExp(`^${clerk.name}`) }).waitFor();
  assert.equal(await page.getByRole('button', { name: new RegExp(`^${mia.name}`) }).count(), 0);
  await phone.close();
});

test('what a manager recorded without a network waits by name after the change-over, and goes out at her next sign-in', async () => {
  const { phone, page, coater } = await shared();
  await signIn(page, 'manager');
  const mia = (await people(page)).find((x) => x.role === 'manager');
  await phone.setOffline(true);
  await weigh(page, '8.89');
  await changeOver(page, coater.name, '1357');
  await weigh(page, '8.88');
  await phone.setOffline(false);
  await strip(page, /1 waits for a sign-in/);
  await at(page, '#/who');
  await page.getByText(`1 entry of ${mia.name} cannot be sent yet.`).waitFor();
  assert.deepEqual(await weighed(page), [
    [mia.id, ''],
    [coater.id, 'accepted'],
  ]);
  await signIn(page, 'manager');
  await eventually(
    async () =>
      JSON.stringify(await weighed(page)) ===
      JSON.stringify([
        [mia.id, 'accepted'],
        [coater.id, 'accepted'],
      ]),
  );
  await phone.close();
});

test('a manager’s own phone keeps her signed in, until somebody else signs in on it', async () => {
  const { phone, page } = await open();
  await signIn(page, 'manager');
  const [mia] = await people(page);
  assert.equal(await asks(page, mia.id), 200);
  await page.goto('about:blank');
  await page.goto(shop.url + '/');
  await holder(page, mia.name);
  await phone.setOffline(true);
  await weigh(page, '8.79');
  await at(page, '#/who');
  await page.getByText(`When somebody else signs in here, ${mia.name} is signed out`).waitFor();
  await phone.setOffline(false);
  await signIn(page, 'coater');
  assert.equal(await asks(page, mia.id), 401);
  assert.deepEqual(
    (await people(page)).map((x) => x.role),
    ['coater'],
  );
  assert.deepEqual(await weighed(page), [[mia.id, 'accepted']]);
  const [ana] = await people(page);
  await signOut(page);
  await page.getByLabel('Your name').waitFor();
  assert.equal(await asks(page, ana.id), 401);
  assert.equal(await asks(page, mia.id), 401, 'an old cookie does not come to life again');
  await signIn(page, 'manager');
  assert.equal(await asks(page, mia.id), 200, 'she has it alone again');
  await phone.close();
});

test('the session ends when the app is closed, not with one of its windows', async () => {
  const { phone, page, coater } = await shared();
  await signIn(page, 'manager');
  const mia = (await people(page)).find((x) => x.role === 'manager');
  const second = await phone.newPage();
  await second.goto(shop.url + '/');
  await holder(second, mia.name);
  await page.close();
  await weigh(second, '8.69');
  await eventually(async () => JSON.stringify(await weighed(second)) === JSON.stringify([[mia.id, 'accepted']]));
  await phone.setOffline(true);
  await weigh(second, '8.68');
  const cdp = await phone.newCDPSession(second);
  cdp.send('Page.crash').catch(() => undefined); // as a dead battery does
  await second.waitForEvent('crash');
  await second.close();
  const again = await phone.newPage();
  await again.goto(shop.url + '/');
  await gate(again);
  assert.equal((await meta(again, 'session')).person, null);
  assert.deepEqual(
    (await people(again)).map((x) => x.role),
    ['coater', 'clerk'],
  );
  await again.getByRole('button', { name: new RegExp(`^${coater.name}`) }).click();
  await digits(again, '1357');
  await holder(again, coater.name);
  await phone.setOffline(false);
  await strip(again, /1 waits for a sign-in/);
  assert.deepEqual(
    await weighed(again),
    [
      [mia.id, 'accepted'],
      [mia.id, ''],
    ],
    'hers is there and waits',
  );
  await phone.close();
});

test('the session ends after ten minutes without a tap, in all windows, and a form that was open records nothing', async () => {
  const { phone, page } = await shared(door.url);
  await signIn(page, 'manager', door.url);
  const mia = (await people(page)).find((x) => x.role === 'manager');
  const second = await phone.newPage();
  await second.goto(door.url + '/');
  await holder(second, mia.name);
  const clock = await phone.newPage();
  await clock.goto(door.url + '/healthz');
  const pass = (minutes) =>
    clock.evaluate(
      (ms) =>
        new Promise((ok) => {
          const c = new BroadcastChannel('clock-of-the-test');
          c.onmessage = (e) => {
            if (e.data === 'set') ok();
          };
          c.postMessage(ms);
        }),
      minutes * 60_000,
    );
  await at(page, '#/do/weigh?booth=booth-1&place=hopper-1');
  await heading(page, 'Weigh');
  await page.getByRole('textbox', { name: 'What does the scale say?' }).click();
  await page.keyboard.type('8.5');
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await pass(9);
  await page.keyboard.type('9'); // somebody is there
  await pass(18);
  await page.getByRole('textbox', { name: 'What does the scale say?' }).click(); // and again
  await holder(page, mia.name);
  await pass(28);
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await gate(page);
  await gate(second);
  assert.deepEqual(await weighed(page), []);
  assert.equal(await asks(page, mia.id), 401);
  await eventually(async () => (await sessionsOn(page, mia.id)) === 0);
  await phone.close();
});

test('a coater of a shared phone who becomes manager must sign in anew, and then for the moment', async () => {
  const { phone, page, coater } = await shared();
  await changeOver(page, coater.name, '1357');
  await manager.push('person.set', { person: coater.id, name: coater.name, role: 'manager' });
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Try now' }).click();
  await strip(page, /Sign in again/);
  assert.equal(await asks(page, coater.id), 401);
  await signIn(page, 'coater');
  await at(page, '#/who');
  await page.getByText(`${coater.name} is signed in for the moment`).waitFor();
  assert.equal(await asks(page, coater.id), 401);
  await manager.push('person.set', { person: coater.id, name: coater.name, role: 'coater' });
  await phone.close();
});

test('a manager takes somebody off the phone who uses it no more; their entries wait', async () => {
  const { phone, page, clerk } = await shared();
  await manager.call('POST', `people/${clerk.id}/sign-out`, {}); // elsewhere: the phone does not know yet
  await phone.setOffline(true);
  await weigh(page, '8.49');
  await phone.setOffline(false);
  await signIn(page, 'manager');
  await at(page, '#/who');
  const card = page.locator('section').filter({ has: page.getByRole('heading', { name: clerk.name, exact: true }) });
  await card.getByRole('button', { name: 'Take off this phone' }).click();
  await card.getByRole('button', { name: 'Take off', exact: true }).click();
  await page
    .getByRole('status')
    .filter({ hasText: `${clerk.name} is off this phone` })
    .waitFor();
  await page.getByText(`1 entry of ${clerk.name} cannot be sent yet.`).waitFor();
  assert.ok(!(await people(page)).some((x) => x.id === clerk.id));
  assert.equal(await asks(page, clerk.id), 401);
  await phone.close();
});
