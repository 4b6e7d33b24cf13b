// An address without HTTPS: the first thing that many try. The page must say that phones
// need HTTPS and how to get it, instead of an app that cannot work there.
import AxeBuilder from '@axe-core/playwright';
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openNewShop, openPhone } from './lib.mjs';

const name = 'hopper.lan'; // leads to this machine, and no browser trusts it without HTTPS
let shop, browser, port;
before(async () => {
  shop = await openNewShop(['--host', name]);
  port = new URL(shop.url).port;
  browser = await openBrowser([`--host-resolver-rules=MAP ${name} 127.0.0.1`]);
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

const says = {
  'en-US': { title: 'Phones need HTTPS', way: 'For a network of your own', lang: 'en' },
  'es-MX': { title: 'Los teléfonos necesitan HTTPS', way: 'Para una red propia', lang: 'es' },
};
for (const [locale, want] of Object.entries(says)) {
  for (const path of ['/', '/#in=ABCD-EFGH', '/booth', '/people']) {
    test(`${path} without HTTPS says in ${want.lang} that phones need it, and the three ways`, async () => {
      const phone = await openPhone(browser, { locale }),
        page = await phone.newPage(),
        faults = [];
      page.on('pageerror', (e) => faults.push(String(e)));
      await page.goto(`http://${name}:${port}${path}`);
      await page.getByRole('heading', { level: 1, name: want.title }).waitFor();
      assert.equal(await page.evaluate(() => isSecureContext), false);
      const text = await page.getByRole('main').innerText();
      for (const part of [
        want.way,
        'serve --https local',
        'serve --https acme --domain',
        'serve --proxied --domain',
        `http://localhost:${port}`,
      ])
        assert.ok(text.includes(part), `${part} is missing in: ${text}`);
      assert.equal(await page.evaluate(() => document.documentElement.lang), want.lang);
      assert.equal(
        await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth),
        true,
        'the page is wider than the phone',
      );
      assert.deepEqual(
        (await new AxeBuilder({ page }).analyze()).violations.map((v) => v.id),
        [],
      );
      assert.deepEqual(faults, []);
      await phone.close();
    });
  }
}

test('on the machine itself the app starts without HTTPS', async () => {
  const phone = await openPhone(browser),
    page = await phone.newPage();
  await page.goto(`${shop.url}/#setup=${shop.code}`);
  await page.getByLabel('Your name').waitFor();
  await phone.close();
});
