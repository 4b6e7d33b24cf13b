// The shop under a root of its own, in a browser that trusts it: by name and by
// address, without the server, after a move; and what the root may not do.
import AxeBuilder from '@axe-core/playwright';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import https from 'node:https';
import { after, before, test } from 'node:test';
import { openBrowser, openPhone, openSignedIn } from './lib.mjs';
import { address, forge, hasCertutil, name, openLocal, strangers, trusting } from './local.mjs';

let shop, trust, browser;
before(async () => {
  shop = await openLocal();
  trust = trusting(shop.root);
  browser = await openBrowser(trust.args, trust.env);
  if (!hasCertutil)
    console.log(
      'certutil (Debian: libnss3-tools) is missing: Chromium is told the root by its key instead of trusting it',
    );
});
after(async () => {
  await browser?.close();
  trust?.end();
  await shop?.close();
});

const banner = (page, text) => page.getByRole('banner').getByRole('link').filter({ hasText: text }).waitFor();
const enter = (host, role) => openSignedIn(browser, shop.at(host), shop.codes[role]);

async function weigh(page, kg) {
  await page.getByRole('navigation', { name: 'What to do' }).getByRole('link', { name: 'Weigh', exact: true }).click();
  await page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor();
  await page.getByLabel('What does the scale say?').fill(kg);
  await page.getByRole('region', { name: 'Difference to the books' }).first().waitFor();
  await page.getByRole('button', { name: 'Save on this phone' }).first().click();
  await page.getByRole('status').filter({ hasText: 'Saved on this phone' }).waitFor();
  await page.getByRole('heading', { level: 1, name: 'Weigh' }).waitFor({ state: 'detached' });
}

test('under a name and under an address: secure, signed in, working without the server, sent once it is back', async () => {
  const opened = [await enter(name, 'coater'), await enter(address, 'coater')];
  for (const { page } of opened) {
    assert.equal(await page.evaluate(() => isSecureContext), true);
    assert.equal(
      await page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => r?.active?.state)),
      'activated',
    );
  }
  await shop.stop();
  for (const [i, { page }] of opened.entries()) {
    await page.reload();
    await page.getByRole('navigation', { name: 'Sections' }).waitFor();
    assert.equal(await page.evaluate(() => navigator.serviceWorker.controller !== null), true);
    await weigh(page, i === 0 ? '9.00' : '8.90');
    await banner(page, /1 not sent yet/);
  }
  await shop.start();
  for (const { page, phone } of opened) {
    await page.reload(); // the person comes back to the network and looks
    await banner(page, /All sent/);
    await phone.close();
  }
});

test('the phone checks itself, airplane mode included, and says what to do', async () => {
  const { phone, page } = await enter(name, 'clerk');
  await page.goto(`${shop.at(name)}/#/status`);
  await page.getByRole('link', { name: 'Check this phone' }).click();
  await page.getByRole('heading', { level: 1, name: 'Check this phone' }).waitFor();
  const row = (of) => page.getByRole('listitem').filter({ hasText: of });
  await page.reload(); // the first load came from the server
  for (const good of [
    'Secure address good',
    'Opens without a network good',
    'Storage good',
    'Calculates on the phone good',
  ])
    await row(good).waitFor();
  await row('On the home screen with a drawback').getByText('This is a browser tab').waitFor();
  await page.getByText('So far so good: try airplane mode').waitFor();
  const again = page.getByRole('button', { name: 'Load again now' });
  await again.click();
  await row('Airplane mode to do').getByText('the network was still on').waitFor();
  await phone.setOffline(true);
  await again.click();
  await row('Airplane mode good').getByText('It loaded without a network').waitFor();
  await page.getByText('This phone works without a network, with drawbacks').waitFor();
  const { violations } = await new AxeBuilder({ page })
    .setLegacyMode(true)
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'])
    .analyze();
  assert.deepEqual(
    violations.map((v) => `${v.id}: ${v.nodes[0].html}`),
    [],
  );
  await phone.close();
});

test('a browser that was not led through trusting the root refuses the shop', async () => {
  const other = await openBrowser(strangers.args);
  const page = await other.newPage();
  await assert.rejects(page.goto(shop.at(name)), /ERR_CERT_AUTHORITY_INVALID/);
  await other.close();
});

test('a certificate for a public name under the root is refused, one for a private name is not', async (t) => {
  const thief = await forge(shop.folder, 'www.example.com'),
    own = await forge(shop.folder, name);
  t.after(() => Promise.all([thief.close(), own.close()]));
  if (hasCertutil) {
    const phone = await browser.newContext(),
      page = await phone.newPage(),
      other = await phone.newPage();
    await assert.rejects(page.goto(`https://www.example.com:${thief.port}/`), /ERR_CERT_INVALID/);
    await other.goto(`https://${name}:${own.port}/`);
    await other.getByText('forged').waitFor();
    await phone.close();
  }
  // The same, asked of OpenSSL.
  const ask = (host, port) =>
    new Promise((ok) => {
      https
        .get(
          { host: '127.0.0.1', port, servername: host, headers: { Host: host }, ca: readFileSync(shop.root) },
          (res) => {
            res.resume();
            ok(res.statusCode);
          },
        )
        .on('error', (e) => ok(e.message));
    });
  assert.equal(await ask('www.example.com', thief.port), 'permitted subtree violation');
  assert.equal(await ask(name, own.port), 200);
});

test('the page of trust reads well in both languages and both lights, and gives the root of the terminal', async () => {
  for (const [locale, agent, first, get] of [
    ['en-US', 'iPhone', 'iPhone, iPad', 'Get the profile'],
    ['es-ES', 'Android', 'Android', 'Descargar el certificado'],
  ]) {
    for (const colorScheme of ['light', 'dark']) {
      const phone = await openPhone(browser, { locale, colorScheme, userAgent: `Mozilla/5.0 (${agent})` });
      const page = await phone.newPage();
      await page.goto(shop.trust.replace('/trust/', '/'));
      await page.getByRole('link', { name: get }).waitFor();
      assert.equal(await page.getByRole('heading', { level: 2 }).first().innerText(), first);
      const print = (await page.locator('.print').innerText()).replace(/[^0-9A-F]/g, '');
      assert.equal(
        print,
        /SHA-256 ([0-9A-F:\s]+)/
          .exec(shop.text)[1]
          .replace(/[^0-9A-F]/g, '')
          .slice(0, 64),
      );
      assert.equal(
        await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth),
        true,
        'nothing sticks out to the side',
      );
      await page.locator('details:not([open]) summary').click();
      const { violations } = await new AxeBuilder({ page })
        .setLegacyMode(true)
        .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'])
        .analyze();
      assert.deepEqual(
        violations.map((v) => `${v.id}: ${v.nodes[0].html}`),
        [],
      );
      await phone.close();
    }
  }
});

test('after a move to another port the terminal warns, and the sign-in page says where the unsent entries are', async () => {
  const before = shop.at(name);
  await shop.stop();
  shop.port = 0;
  await shop.start();
  assert.notEqual(shop.at(name), before);
  await shop.says(`CAUTION: phones synced at ${before} until`);
  const phone = await openPhone(browser);
  const page = await phone.newPage();
  await page.goto(shop.at(name));
  await page.getByText('what it has not sent yet is still there').waitFor();
  assert.equal(await page.getByRole('link', { name: before }).getAttribute('href'), before);
  await phone.close();
});
