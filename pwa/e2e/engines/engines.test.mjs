// One day of a phone on three engines, over HTTPS under the shop's own root: the page
// loads, the service worker registers, a coater signs in and records, and with the
// server stopped the page opens again from the phone. `make test-engines` runs it; an
// engine that is not installed is a failure there, with what to install.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openPhone } from '../lib.mjs';
import { hasCertutil, name, openLocal, strangers, trusting } from '../local.mjs';
import { session } from './driver.mjs';
import { firefox, openFirefox } from './firefox.mjs';
import { openWebKit, webkit } from './webkit.mjs';

const install = 'Debian, as root: apt-get install chromium firefox-esr webkit2gtk-driver xvfb xauth libnss3-tools';
let shop;
before(async () => {
  shop = await openLocal();
});
after(async () => {
  await shop?.close();
});

// scripted puts Playwright's page behind the same few steps as the other two.
async function openChromium({ trusts }) {
  const trust = trusts ? trusting(shop.root) : { ...strangers, end: () => undefined };
  const browser = await openBrowser(trust.args, trust.env),
    page = await (await openPhone(browser)).newPage();
  const it = session({
    goto: (url) => page.goto(url),
    shot: () => page.screenshot(),
    js: (script, args) =>
      page.evaluate(
        ([s, a]) =>
          new Promise((ok) => {
            new Function(s)(...a, ok);
          }),
        [script, args],
      ),
  });
  it.close = async () => {
    await browser.close();
    trust.end();
  };
  return it;
}

const engines = [
  ['Chromium', true, name, (trusts) => openChromium({ trusts })],
  [
    'Firefox',
    firefox !== undefined && hasCertutil,
    name,
    (trusts) => openFirefox({ hosts: [name], ...(trusts ? { root: shop.root } : {}) }),
  ],
  ['WebKit', webkit !== undefined, '127.0.0.1', (trusts) => openWebKit({ trusts })],
];

// Each weighs less than the one before: more than the books hold would ask for a reason.
for (const [i, [engine, isHere, host, open]] of engines.entries()) {
  test(`${engine}: a shift over HTTPS, and the page again without the server`, async (t) => {
    assert.ok(isHere, `${engine} is not installed. ${install}`);
    await shop.stop(); // whatever an engine before left behind
    await shop.start();
    const stranger = await open(false);
    t.after(() => stranger.close().catch(() => undefined));
    await stranger.goto(shop.at(host)).catch(() => undefined); // some throw, some show a page of their own
    assert.equal(
      await stranger.run("return document.getElementById('app') !== null").catch(() => false),
      false,
      'a browser that does not trust the root does not open the shop',
    );
    await stranger.close();

    const page = await open(true);
    t.after(() => page.close().catch(() => undefined));
    await page.goto(`${shop.at(host)}/#in=${shop.codes.coater}`);
    await page.tap('Sign in');
    await page.see('All sent');
    assert.equal(await page.run('return isSecureContext'), true);
    assert.equal(await page.run('return navigator.serviceWorker.ready.then((r) => r.active !== null)'), true);
    await weigh(page, (9 - i * 0.2).toFixed(2));
    await page.until('the entry is with the server', isSent); // the strip may still say so of what came before
    await page.see('All sent');

    await shop.stop();
    await page.reload();
    await page.see('Hopper 1');
    assert.equal(await page.run('return navigator.serviceWorker.controller !== null'), true);
    await weigh(page, (8.9 - i * 0.2).toFixed(2));
    await page.see('1 not sent yet');

    await shop.start();
    await page.reload();
    await page.see('All sent');
  });
}

async function weigh(page, kg) {
  await page.tap('Weigh');
  await page.see('What does the scale say?');
  await page.type('What does the scale say?', kg);
  await page.see('Difference');
  await page.tap('Save on this phone');
  await page.see('Saved on this phone');
  await page.until('the form is left', "return document.querySelector('h1')?.innerText !== 'Weigh'");
}

// isSent reads the stored rows themselves: each has its fate.
const isSent = `const open = indexedDB.open('hoppertally', 1);
  return new Promise((ok, no) => {
    open.onerror = () => no(open.error);
    open.onsuccess = () => {
      const all = open.result.transaction('outbox').objectStore('outbox').getAll();
      all.onerror = () => no(all.error);
      all.onsuccess = () => {
        open.result.close();
        const rows = all.result.filter((r) => !Array.isArray(r)), fates = all.result.filter((r) => Array.isArray(r)).flat();
        ok(rows.length > 0 && rows.every((r) => fates.some((f) => f.n === r.n && f.mark !== '')));
      };
    };
  });`;
