// People on phones, on the real page and the real server: two share one phone without a
// network, sessions and phones are ended meanwhile, roles change in mid-outage. Whatever
// is recorded arrives under its author's name or waits for a manager; nothing is lost.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { desk, eventually, openBrowser, openPhone, openShop, outbox } from './lib.mjs';
import { at, changeOver, choosePin, digits, enterBy, heading, holder, people, strip, weigh } from './staff.mjs';

let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
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

// shared is a phone with the coater and the clerk on it, each with a PIN.
async function shared() {
  const p = await open();
  await signIn(p.page, 'coater');
  await at(p.page, '#/pin');
  await choosePin(p.page, '1357');
  await signIn(p.page, 'clerk');
  await choosePin(p.page, '246810');
  const seats = await people(p.page);
  return { ...p, coater: seats.find((s) => s.role === 'coater'), clerk: seats.find((s) => s.role === 'clerk') };
}

// marked waits until the phone's own weighings have met their fate.
async function marked(page, want) {
  let got = [];
  await eventually(
    async () => JSON.stringify((got = (await own(page)).map((r) => r.mark))) === JSON.stringify(want),
  ).catch(() => assert.deepEqual(got, want));
}

// answered waits until the server has said what becomes of everything recorded here.
const answered = (page) => eventually(async () => (await outbox(page)).every((r) => r.mark !== ''));

const own = async (page, text) =>
  (await outbox(page))
    .map((r) => ({ ...r, entry: JSON.parse(r.text) }))
    .filter((r) => r.entry.kind === 'place.weighed' && (text === undefined || r.text.includes(text)));

test('two people on one phone without a network change over by PIN, and both sets arrive under the right names', async () => {
  const { phone, page, coater, clerk } = await shared();
  await phone.setOffline(true);
  await weigh(page, '8.99'); // the clerk has the phone
  await changeOver(page, coater.name, '1357');
  await weigh(page, '8.98');
  await weigh(page, '8.97');

  // A wrong PIN is said to be wrong, and whoever has the phone goes on.
  await page.getByRole('link', { name: /has the phone\. Change over/ }).click();
  await page.getByRole('button', { name: new RegExp(`^${clerk.name}`) }).click();
  await digits(page, '111111');
  await page.getByRole('alert').filter({ hasText: 'That is not the PIN' }).waitFor();
  await weigh(page, '8.96');

  // Drafts are one's own: what the coater has begun the clerk does not see.
  await at(page, '#/do/weigh?booth=booth-1&place=hopper-1');
  await page.getByLabel('What does the scale say?').fill('8.5');
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await changeOver(page, clerk.name, '246810');
  await at(page, '#/do/weigh?booth=booth-1&place=hopper-1');
  await heading(page, 'Weigh');
  assert.equal(await page.getByLabel('What does the scale say?').inputValue(), '');
  await weigh(page, '8.95');

  // Closed and opened without a network, the phone still knows who has it.
  await page.goto('about:blank');
  await page.goto(shop.url + '/');
  await holder(page, clerk.name);
  await weigh(page, '8.94');
  const want = [
    [8.99, clerk.id],
    [8.98, coater.id],
    [8.97, coater.id],
    [8.96, coater.id],
    [8.95, clerk.id],
    [8.94, clerk.id],
  ].map(([kg, by]) => [Math.round(kg * 1e6), by]);
  assert.deepEqual(
    (await own(page)).map((r) => [r.entry.body.mass_mg, r.entry.by]),
    want,
  );

  await phone.setOffline(false);
  await strip(page, /All sent/);
  const mine = new Set((await own(page)).map((r) => r.id));
  const manager = await desk(shop, shop.codes.manager);
  const arrived = (await manager.log()).filter((e) => mine.has(e.entry.id));
  assert.deepEqual(
    arrived.map((e) => [e.entry.body.mass_mg, e.entry.by, e.outcome, e.reason]),
    want.map(([mg, by]) => [mg, by, 'accepted', '']),
    'each under its author, in order, without a gap',
  );
  await phone.close();
});

test('a form filled in by one is not recorded for another who took the phone in a second window', async () => {
  const { phone, page, coater, clerk } = await shared();
  await at(page, '#/do/weigh?booth=booth-1&place=hopper-1'); // the clerk's
  await heading(page, 'Weigh');
  await page.getByLabel('What does the scale say?').fill('8.91');
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  const second = await phone.newPage();
  await second.goto(shop.url + '/');
  await holder(second, clerk.name);
  await changeOver(second, coater.name, '1357');
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('alert').filter({ hasText: 'Somebody else has the phone now' }).waitFor();
  assert.deepEqual(await own(page, '8910000'), [], 'nothing is recorded under anybody’s name');
  await phone.close();
});

test('one whose session was ended meanwhile must sign in, the other’s entries go on, and nothing is lost', async () => {
  const { phone, page, coater, clerk } = await shared();
  const manager = await desk(shop, shop.codes.manager);
  await phone.setOffline(true);
  await weigh(page, '8.89'); // the clerk's
  await changeOver(page, coater.name, '1357');
  await weigh(page, '8.88');
  await manager.call('POST', `people/${clerk.id}/sign-out`, {});
  await phone.setOffline(false);

  await strip(page, /1 waits for a sign-in/);
  await marked(page, ['', 'accepted']); // the clerk's waits, the coater's went out
  await at(page, '#/who');
  await page.getByText(`1 entry of ${clerk.name} cannot be sent yet.`).waitFor();
  assert.equal(
    await page.getByRole('button', { name: 'Hand in, to be held' }).count(),
    0,
    'a coater hands in for nobody',
  );

  // The clerk can take the phone and record on; it only waits longer.
  await changeOver(page, clerk.name, '246810');
  await strip(page, /Sign in again; recording goes on/);
  await weigh(page, '8.87');
  await signIn(page, 'clerk');
  await strip(page, /All sent/);
  const all = await own(page);
  assert.deepEqual(
    all.map((r) => [r.entry.by, r.mark]),
    [
      [clerk.id, 'accepted'],
      [coater.id, 'accepted'],
      [clerk.id, 'accepted'],
    ],
  );
  await phone.close();
});

test('a manager hands in what somebody left on a phone, and the server holds it', async () => {
  const { phone, page, clerk } = await shared();
  await phone.setOffline(true);
  await weigh(page, '8.79');
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Sign out' }).click();
  await heading(page, 'Who has the phone?');
  await phone.setOffline(false);
  await page.getByText(`1 entry of ${clerk.name} cannot be sent yet.`).waitFor();
  await signIn(page, 'manager');
  await at(page, '#/who');
  await page.getByRole('button', { name: 'Hand in, to be held' }).click();
  await marked(page, ['held']);
  await at(page, '#/attention');
  await page
    .getByRole('link', { name: /Handed in by a manager for somebody else/ })
    .first()
    .click();
  await page.getByRole('link', { name: 'Accept', exact: true }).waitFor();
  await phone.close();
});

test('a phone that was shut out goes on recording; what it hands in is held, and it can be let in again', async () => {
  const { phone, page, coater } = await shared();
  await changeOver(page, coater.name, '1357');
  await phone.setOffline(true);
  await weigh(page, '8.69');
  const other = await open();
  await signIn(other.page, 'manager');
  await at(other.page, '#/phones');
  const device = (await own(page))[0].entry.device,
    name = 'Spare of booth 1';
  const { phones } = await (await desk(shop, shop.codes.manager)).call('GET', 'phones');
  const { number } = phones.find((p) => p.device === device);
  const mine = other.page
    .locator('section')
    .filter({ has: other.page.getByRole('heading', { name: `Phone ${number}`, exact: true }) });
  await mine.getByRole('button', { name: 'Rename' }).click();
  await other.page.getByLabel('Name of the phone').fill(name);
  await other.page.getByRole('button', { name: 'Keep the name' }).click();
  const it = other.page.locator('section').filter({ has: other.page.getByRole('heading', { name }) });
  await it.getByRole('button', { name: 'Shut this phone out' }).click();
  await it.getByRole('button', { name: 'Shut it out' }).click();
  await it
    .getByText(/shut out/)
    .first()
    .waitFor();

  await phone.setOffline(false);
  await strip(page, /Phone shut out: entries are held/);
  await weigh(page, '8.68');
  await marked(page, ['held', 'held']);
  await it.getByRole('button', { name: 'Let it back in' }).click();
  await it.getByRole('button', { name: 'Shut this phone out' }).waitFor();
  await at(page, '#/status');
  await page.getByRole('button', { name: 'Try now' }).click();
  await strip(page, /All sent/);
  await weigh(page, '8.67');
  await marked(page, ['held', 'held', 'accepted']);
  await phone.close();
  await other.phone.close();
});

test('a role that changed in mid-outage: held, told to the author, accepted by a manager on another phone, seen by both', async () => {
  const clerk = await open(),
    manager = await open();
  await signIn(clerk.page, 'clerk');
  await signIn(manager.page, 'manager');
  const who = (await desk(shop, shop.codes.clerk, 'desk-of-the-clerk')).person;
  await clerk.phone.setOffline(true);
  await at(clerk.page, '#/do/receive');
  await clerk.page.getByLabel('Powder', { exact: true }).selectOption({ index: 1 });
  await clerk.page.getByLabel('Batch on the label').fill('OUTAGE-1');
  await clerk.page.getByLabel('Net mass of all boxes').fill('20');
  await clerk.page.getByRole('radio', { name: /^Rack A/ }).check();
  await clerk.page.getByRole('button', { name: 'Save on this phone' }).click();
  await clerk.page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();

  const role = async (label) => {
    await at(manager.page, `#/person/${who.id}`);
    await manager.page.getByRole('link', { name: 'Change name or role' }).click();
    await manager.page.getByRole('radio', { name: label }).check();
    await manager.page.getByRole('button', { name: /^Save/ }).click();
    await manager.page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
    await heading(manager.page, who.name);
    await manager.page.locator('.page-title').getByText(label, { exact: true }).waitFor();
    await answered(manager.page); // the strip may still say so of what came before
    await manager.page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor({ state: 'hidden' });
  };
  await role('Coater');
  await clerk.phone.setOffline(false);
  await answered(clerk.page);
  await strip(clerk.page, /All sent/);
  await at(clerk.page, '#/attention');
  await clerk.page
    .getByRole('link', { name: /Held/ })
    .filter({ hasText: /Lot received/ })
    .first()
    .click();
  await clerk.page.getByText('held', { exact: true }).first().waitFor();

  await at(manager.page, '#/attention');
  await manager.page
    .getByRole('link', { name: /Held/ })
    .filter({ hasText: /Lot received/ })
    .first()
    .click();
  await manager.page.getByRole('link', { name: 'Accept', exact: true }).click();
  await manager.page.getByLabel(/Why/).fill('The role changed while he was in the cellar');
  await manager.page.getByRole('button', { name: 'Accept it' }).click();
  await manager.page.getByText('accepted', { exact: true }).first().waitFor();
  await clerk.page.getByText('accepted', { exact: true }).first().waitFor();
  await role('Powder room');
  await clerk.phone.close();
  await manager.phone.close();
});
