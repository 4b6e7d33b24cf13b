// Thirty days without a network on a phone whose clock is two days ahead, closed and
// opened again and again; then it is back. Nothing is lost, nobody signs in again, and
// every entry counts when it happened.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { buildClock, desk, eventually, installed, openBrowser, openDoor, openPhone, openShop, outbox } from './lib.mjs';

const dayMs = 86_400_000,
  wrongMs = 2 * dayMs;
let shop, browser, door;
before(async () => {
  const dist = buildClock();
  shop = await openShop();
  door = await openDoor(shop, dist);
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

// openAt opens the app with its page's and its worker's clock ahead of the machine's.
async function openAt(phone, aheadMs) {
  await phone.addInitScript((ahead) => {
    if (window.isClockSet !== undefined) return;
    window.isClockSet = false;
    const real = Date.now.bind(Date);
    globalThis.Date = class extends Date {
      constructor(...args) {
        if (args.length === 0) super(real() + window.aheadMs);
        else super(...args);
      }
      static now() {
        return real() + window.aheadMs;
      }
    };
    const tell = new BroadcastChannel('clock-of-the-test');
    window.aheadMs = Number(localStorage.getItem('ahead') ?? ahead);
    tell.onmessage = (e) => {
      if (e.data === 'started') tell.postMessage(window.aheadMs);
      if (e.data === 'set') window.isClockSet = true;
    };
  }, aheadMs);
  return phone.newPage();
}

const strip = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();

async function weigh(page, kg) {
  await page.evaluate(() => {
    location.hash = '#/do/weigh?booth=booth-1&place=hopper-1';
  });
  await page.getByLabel('What does the scale say?').fill(kg);
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor({ state: 'detached' }); // the form is left once it is saved
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
}

test('thirty days without a network and a clock two days ahead', async () => {
  const phone = await openPhone(browser, { reducedMotion: 'reduce' });
  // The story ends now: it began thirty days ago, by a clock that is two days ahead.
  const aheadOn = (day) => (day - 30) * dayMs + wrongMs;
  const page = await openAt(phone, aheadOn(0));
  await page.goto(`${door.url}/#in=${shop.codes.coater}`);
  await page.waitForFunction(() => window.isClockSet);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await strip(page, /All sent/);
  await installed(page);
  door.set('down');

  const days = [0, 1, 2, 7, 14, 21, 29, 30],
    want = [];
  for (const [i, day] of days.entries()) {
    await page.evaluate((ahead) => localStorage.setItem('ahead', String(ahead)), aheadOn(day));
    await page.goto('about:blank'); // the phone was off
    await page.goto(door.url + '/');
    await page.waitForFunction(() => window.isClockSet);
    const mg = 8_000_000 - i * 100_000;
    await weigh(page, String(mg / 1e6));
    want.push({ mg, atMs: Date.now() - (30 - day) * dayMs }); // seen there, and recorded a moment before
    await strip(page, new RegExp(`${i + 1} not sent yet`));
  }
  const walls = (await outbox(page))
    .map((r) => JSON.parse(r.text))
    .filter((e) => e.kind === 'place.weighed')
    .map((e) => e.clock.wall_ms);
  const now = Date.now();
  assert.deepEqual(
    walls.map((w) => Math.round((w - now - wrongMs) / dayMs) + 30),
    days,
    'the worker’s own clock runs two days ahead, day by day',
  );

  const signIns = () => door.requests.filter((r) => r === 'POST /api/v1/session').length,
    before = signIns();
  door.set('pass');
  await eventually(async () => (await outbox(page)).every((r) => r.mark !== ''));
  await strip(page, /All sent/);
  assert.equal(signIns() - before, 0, 'nobody had to sign in');
  const rows = (await outbox(page)).filter((r) => JSON.parse(r.text).kind === 'place.weighed');
  assert.deepEqual(
    rows.map((r) => r.mark),
    days.map(() => 'accepted'),
  );
  const ids = new Map(rows.map((r) => [r.id, r]));
  const arrived = (await (await desk(shop, shop.codes.manager)).log()).filter((e) => ids.has(e.entry.id));
  assert.deepEqual(
    arrived.map((e) => e.entry.body.mass_mg),
    want.map((w) => w.mg),
    'each once, in order',
  );
  const off = arrived.map((e, i) => e.effective_at - want[i].atMs);
  console.log(
    `${rows.length} entries of 30 days, clock 2 days ahead: all accepted, 0 sign-ins; they count within ${Math.round(Math.max(...off.map(Math.abs)) / 1000)} s of when they happened`,
  );
  for (const o of off) assert.ok(Math.abs(o) < 120_000, `off by ${o} ms`);
  assert.ok(
    arrived.every((e) => e.reason.includes('clock.wrong')),
    'and the wrong clock is told',
  );
  await phone.close();
});
