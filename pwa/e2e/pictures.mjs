// Makes the pictures of README and, with ALL=1, every screen at phone and desktop
// size, light and dark, English and Spanish: `make pictures`.
import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { openBrowser, openPhone, openShop, phoneSize } from './lib.mjs';

const out = resolve(process.env.OUT ?? join(import.meta.dirname, '../../testdata/pictures'));
mkdirSync(out, { recursive: true });
const desktop = { width: 1280, height: 800 };
const all = process.env.ALL === '1';
const shop = await openShop();
const browser = await openBrowser();

async function take(role, size, lang, dark, screens) {
  const phone = await openPhone(browser, {
    viewport: size,
    locale: lang === 'es' ? 'es-ES' : 'en-US',
    colorScheme: dark ? 'dark' : 'light',
    deviceScaleFactor: 1,
  });
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes[role]}`);
  await page
    .getByRole('button', { name: /^(sign in|entrar|iniciar)/i })
    .first()
    .click();
  await page.getByRole('navigation').first().waitFor();
  if (lang === 'es') {
    await page.goto(`${shop.url}/#/settings`);
    await page
      .getByRole('radio', { name: 'Español' })
      .or(page.getByLabel('Español'))
      .first()
      .click({ timeout: 5000 })
      .catch(() => console.log('no language switch found'));
  }
  for (const [name, hash, act] of screens) {
    await page.goto(`${shop.url}/${hash}`);
    await page.getByRole('heading').first().waitFor();
    await act?.(page);
    await page.evaluate(() => document.fonts.ready);
    await page.waitForTimeout(400); // a picture waits for what a test would look for
    const path = join(out, `${name}${all ? `-${lang}${dark ? '-dark' : ''}-${size.width}` : ''}.png`);
    await page.screenshot({ path, fullPage: all });
    console.log(path);
  }
  await phone.close();
}

const charge = [
  'charge',
  '#/do/charge?to=hopper-1',
  async (page) => {
    await page
      .getByRole('button', { name: /best blend|mejor mezcla/i })
      .click({ timeout: 5000 })
      .catch(() => undefined);
  },
];
const few = {
  coater: [['booth', '#/booth'], charge],
  clerk: [['room', '#/room']],
  manager: [['office', '#/office']],
};
const many = {
  coater: [
    ['booth', '#/booth'],
    charge,
    ['change', '#/do/change.start?booth=booth-1&powder=kiln-black'],
    ['weigh', '#/do/weigh?place=hopper-1'],
    ['recover', '#/do/recover?run=run-4'],
    ['clean', '#/do/clean?booth=booth-1'],
    ['parts', '#/do/parts?run=run-4'],
    ['place', '#/place/bin-white'],
    ['status', '#/status'],
    [
      'check',
      '#/check',
      async (page) => {
        await page.getByRole('listitem').first().waitFor();
      },
    ],
    ['who', '#/who'],
    ['pin', '#/pin'],
    ['passphrase', '#/passphrase'],
    ['safety', '#/safety'],
  ],
  clerk: [
    ['room', '#/room'],
    ['receive', '#/do/receive'],
    ['lot', '#/lot/lot-w412'],
    ['partbox', '#/do/partbox?lot=lot-w398'],
  ],
  manager: [
    ['office', '#/office'],
    ['run', '#/run/run-2'],
    ['attention', '#/attention'],
    ['entries', '#/entries/place/hopper-1'],
    ['trace', '#/trace/lot/lot-w412'],
    ['people', '#/people'],
    [
      'person',
      '#/people',
      async (page) => {
        await page.locator('a.person').first().click();
        await page.locator('.card .main').click();
        await page.locator('.qr').waitFor();
      },
    ],
    ['phones', '#/phones'],
    ['first', '#/first'],
    ['settings', '#/settings'],
    ['sums', '#/sums'],
    ['sum', '#/sums/reclaim.steady'],
    ['powder', '#/powder/salt-white'],
  ],
};

try {
  for (const [role, screens] of Object.entries(all ? many : few)) {
    await take(role, role === 'manager' && !all ? desktop : phoneSize, 'en', false, screens);
    if (!all) continue;
    if (role === 'manager') await take(role, desktop, 'en', false, screens);
    await take(role, phoneSize, 'es', true, screens);
  }
} finally {
  await browser.close();
  await shop.close();
}
