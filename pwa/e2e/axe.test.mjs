// Every screen read by axe, in light and in dark, at phone size and the office at desktop
// size: no violation of WCAG 2.2 AA or of its best practices.
import AxeBuilder from '@axe-core/playwright';
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openPhone, openShop } from './lib.mjs';

const rules = ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'];
let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

// A screen is its name, its address, its first heading, and what to do before it is read.
const tap = (role, name) => (page) => page.getByRole(role, { name }).first().click();
const faults = async (page) => {
  await page.locator('button.main[type=submit]').click();
  await page.locator('.fault, .foot-note.is-bad').first().waitFor();
};
const overTheLimit = async (page) => {
  await page.getByLabel('How much reclaim?').fill('2.5');
  await page.getByRole('radio', { name: /Reclaim bin white/ }).check();
  await page.locator('.foot-note.is-warn').waitFor();
  await page.getByRole('button', { name: 'Save on this phone' }).click();
  await page.getByRole('dialog').waitFor();
};

const coater = [
  ['booth', '#/booth', /Booth/],
  ['change colour', '#/do/change.start?booth=booth-1', 'Change colour'],
  [
    'change colour, the need known',
    '#/do/change.start?booth=booth-1&powder=kiln-black',
    'Change colour',
    (page) => page.getByText('Cleaning needed').locator('visible=true').waitFor(),
  ],
  ['finish the change', '#/do/change.finish?booth=booth-1', 'Finish the colour change'],
  ['charge', '#/do/charge?to=hopper-1', 'Charge a hopper', tap('button', 'Use this blend')],
  ['charge, warned', '#/do/charge?to=hopper-1', 'Charge a hopper', overTheLimit],
  ['weigh', '#/do/weigh?booth=booth-1&place=hopper-1', 'Weigh'],
  ['weigh, the keypad open', '#/do/weigh?booth=booth-1&place=hopper-1', 'Weigh', tap('button', 'Open the keypad')],
  ['recover', '#/do/recover?booth=booth-1&run=run-4', 'Recovered powder'],
  ['clean', '#/do/clean?booth=booth-1', 'Cleaned'],
  ['clean, with faults', '#/do/clean?booth=booth-1', 'Cleaned', faults],
  ['parts', '#/do/parts?booth=booth-1&run=run-4', 'Parts done'],
  ['film', '#/do/film?booth=booth-1&run=run-4', 'Film readings'],
  ['scrap', '#/do/scrap?booth=booth-1&from=hopper-1', 'To scrap'],
  ['gun', '#/gun/booth-1', 'Gun and ground'],
  ['ground', '#/do/ground?booth=booth-1', 'Check the ground'],
  ['output', '#/do/output?booth=booth-1', 'Weigh what the gun gives'],
  ['cure', '#/do/cure?booth=booth-1&run=run-4', 'Curve of the oven'],
  ['set-up', '#/do/set.setup?setup=set-panels', 'Set-up of the gun'],
  ['today', '#/today', 'Today'],
  ['place', '#/place/hopper-1', /./],
  ['status', '#/status', 'This phone'],
  ['who has the phone', '#/who', 'Who has the phone?'],
  ['a PIN chosen', '#/pin', 'My PIN on this phone'],
  ['the own passphrase', '#/passphrase', 'My passphrase', (page) => page.getByLabel('New passphrase').waitFor()],
  [
    'check this phone',
    '#/check',
    'Check this phone',
    (page) => page.getByText('Airplane mode', { exact: true }).waitFor(),
  ],
  ['safety', '#/safety', 'Safety'],
];
const clerk = [
  ['room', '#/room', 'Powder room'],
  ['today', '#/today', 'Today'],
  ['plan a job', '#/do/plan', 'Plan a job'],
  ['climate', '#/do/climate', 'Climate of the store'],
  ['receive', '#/do/receive', 'Receive a lot'],
  ['receive, with faults', '#/do/receive', 'Receive a lot', faults],
  ['part box', '#/do/partbox?lot=lot-w398', 'Weigh a part box'],
  ['move', '#/do/move', 'Move powder'],
  ['hold', '#/do/hold?lot=lot-w412', 'Put on hold'],
  ['lot', '#/lot/lot-w412', /./],
  ['powder', '#/powder/salt-white', 'Salt Flat White'],
];
const manager = [
  ['office', '#/office', 'Office'],
  ['run', '#/run/run-2', /./],
  ['attention', '#/attention', 'Needs attention'],
  ['entries', '#/entries', 'Entries'],
  [
    'entry',
    '#/entries',
    'Entries',
    async (page) => {
      await page.locator('a.entry').first().click();
      await page.locator('table.facts').waitFor();
    },
  ],
  ['trace', '#/trace', 'Trace a lot or a job'],
  ['trace of a lot', '#/trace/lot/lot-w412', /./],
  ['people', '#/people', 'People'],
  [
    'person, with an invitation',
    '#/people',
    'People',
    async (page) => {
      await page.locator('a.person').first().click();
      await page.getByRole('button', { name: 'Sign-in link' }).click();
      await page.locator('.qr').waitFor();
    },
  ],
  [
    'phones, asked to shut one out',
    '#/phones',
    'Phones',
    async (page) => {
      await page.getByRole('button', { name: 'Rename' }).first().click();
      await page.getByRole('button', { name: 'Shut this phone out' }).first().click();
      await page.locator('.confirm').waitFor();
    },
  ],
  ['record of sign-ins', '#/record', 'Sign-ins', (page) => page.getByText('Signed in').first().waitFor()],
  ['first steps', '#/first', 'First steps', (page) => page.locator('.steps').waitFor()],
  ['settings', '#/settings', 'Set up the shop'],
  ['powder set up', '#/do/set.powder?powder=salt-white', 'Powder'],
  ['sums', '#/sums', 'Sums'],
  ['one sum', '#/sums/reclaim.steady', /./, tap('button', 'Example')],
];

// readBoth reads one screen in both lights and returns what axe holds against it. The
// window is as high as the screen is long: everything is read, and nothing counts as
// covered that only had to be scrolled from under a bar.
async function readBoth(page, name) {
  const found = [],
    size = page.viewportSize();
  const long = await page.evaluate(() => document.documentElement.scrollHeight);
  await page.setViewportSize({ width: size.width, height: Math.max(size.height, long) });
  for (const light of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: light, reducedMotion: 'reduce' });
    const { violations, passes } = await new AxeBuilder({ page }).setLegacyMode(true).withTags(rules).analyze();
    assert.ok(passes.length > 5, `${name}: axe found hardly anything to read`);
    for (const v of violations)
      for (const n of v.nodes)
        found.push(
          `${name}, ${light}: ${v.id} (${v.help}) at ${n.target.join(' ')}: ${n.html.slice(0, 160)}: ${n.any[0]?.message ?? n.all[0]?.message ?? ''}`,
        );
  }
  await page.setViewportSize(size);
  return found;
}

async function openAs(role, more = {}) {
  const phone = await openPhone(browser, { reducedMotion: 'reduce', ...more });
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes[role]}`);
  const found = role === 'coater' ? await readBoth(page, 'sign in') : [];
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await page.getByText('All sent').waitFor();
  return { page, found };
}

async function readAll(role, screens, more) {
  const { page, found } = await openAs(role, more);
  for (const [name, hash, heading, act] of screens) {
    await page.goto('about:blank'); // nothing of the screen before is left over
    await page.goto(`${shop.url}/${hash}`);
    await page.getByRole('heading', { level: 1, name: heading }).first().waitFor();
    await page.getByText('Reading the books…').first().waitFor({ state: 'hidden' });
    await act?.(page);
    found.push(...(await readBoth(page, name)));
  }
  assert.deepEqual(found, []);
  await page.context().close();
}

test('axe finds nothing against the coater’s screens and the sign-in', () => readAll('coater', coater));
test('axe finds nothing against the powder room’s screens', () => readAll('clerk', clerk));
test('axe finds nothing against the manager’s screens', () => readAll('manager', manager));
test('axe finds nothing against the office on a desk', () =>
  readAll('manager', [manager[0], manager[1]], { viewport: { width: 1280, height: 800 }, hasTouch: false }));
