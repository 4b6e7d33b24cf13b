// A recall five years back, through the screen: the lot stands on parts that this phone
// no longer lists. What the server says is shown whole; what could not be had is never
// shown as "none".
import assert from 'node:assert/strict';
import { resolve } from 'node:path';
import { after, before, test } from 'node:test';
import { historyShop } from './history.mjs';
import { openBrowser, openDoor, openPhone } from './lib.mjs';

let shop, door, browser, phone, page, lot, trace;
before(async () => {
  shop = await historyShop(1500, 5.2);
  browser = await openBrowser();
  door = await openDoor(shop, resolve(import.meta.dirname, '../dist'));
  const old = Date.now() - 5 * 365 * 24 * 3600e3;
  for (const l of (await shop.view('lots')).toSorted((a, b) => a.received_ms - b.received_ms)) {
    trace = await shop.view('trace', '&lot=' + l.lot);
    if (l.received_ms < old && trace.runs.length > 0) {
      lot = l;
      break;
    }
  }
  assert.ok(lot, 'a lot of five years ago that is on parts');
  phone = await openPhone(browser, { reducedMotion: 'reduce' });
  page = await phone.newPage();
  await page.goto(`${door.url}/#in=${shop.code('p-mia')}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /All sent/ })
    .waitFor();
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
});

const answer = () => page.locator('#main');
const cut = /Not complete: what happened before .* is not on this phone\./;
const runRows = () => page.locator('li.trail').filter({ has: page.locator('a[href^="#/run/"]') });
const nothing = /On no parts so far|In no place any more|Nothing recorded yet|There is no such thing/;

// refused has the server refuse views for a while.
const refused = (status) => {
  door.instead = (req, res) => req.url.startsWith('/api/v1/export/') && refuse(res, status);
};
function refuse(res, status) {
  res
    .writeHead(status, { 'Content-Type': 'application/problem+json', 'X-Hoppertally': door.server })
    .end('{"code":"server.busy","status":503,"title":"too much at once; try again"}');
  return true;
}
// held has the server think about views until the test lets go.
function held() {
  const waiting = [];
  door.instead = (req, res) => req.url.startsWith('/api/v1/export/') && waiting.push([req, res]) > 0;
  return () => {
    door.instead = null;
    for (const [req, res] of waiting) door.pass(req, res);
  };
}

test('a lot of five years ago is traced to its parts', async () => {
  await page.getByRole('navigation', { name: 'Sections' }).getByRole('link', { name: 'Office' }).click();
  await page.getByRole('link', { name: 'Trace a lot or a job' }).click();
  await page.getByLabel('A lot', { exact: true }).selectOption(lot.lot);
  await runRows().first().waitFor();
  assert.equal(await runRows().count(), trace.runs.length);
  assert.deepEqual(
    await runRows()
      .locator('a[href^="#/run/"]')
      .evaluateAll((list) => list.map((a) => a.getAttribute('href'))),
    trace.runs.map((r) => `#/run/${r.run}`),
  );
  assert.doesNotMatch(await answer().innerText(), cut);
  await page.emulateMedia({ media: 'print' });
  assert.doesNotMatch(await page.locator('.recall').innerText(), cut);
  await page.emulateMedia({ media: 'screen' });
});

test('a run of five years ago opens with its balance', async () => {
  await runRows().locator('a[href^="#/run/"]').first().click();
  await page.getByRole('heading', { name: 'Where the powder went' }).waitFor();
  await page.goBack();
});

test('while the server is being asked the answer says that it is cut, and never none', async () => {
  await page.goto(`${door.url}/#/status`);
  await page.reload(); // what was shown before is forgotten
  const letGo = held();
  await page.goto(`${door.url}/#/trace/lot/${lot.lot}`);
  await page.getByText(cut).first().waitFor();
  assert.match(await answer().innerText(), /The server is being asked/);
  assert.doesNotMatch(await answer().innerText(), nothing);
  letGo();
  await runRows().first().waitFor();
  assert.doesNotMatch(await answer().innerText(), cut);
});

test('a question that the server refuses is shown as that, on paper too, and can be asked again', async () => {
  door.server = (await fetch(shop.url + '/api/v1/hello')).headers.get('X-Hoppertally');
  refused(503);
  await page.goto(`${door.url}/#/status`);
  await page.goto(`${door.url}/#/trace/lot/${lot.lot}`);
  const note = page.getByText(/Not loaded from the server\. The server is busy/);
  await note.first().waitFor();
  assert.doesNotMatch(await answer().innerText(), nothing);
  assert.match(await page.locator('#main > .problem').innerText(), cut);
  const [says, tells] = await Promise.all([
    page.locator('#main > .problem').boundingBox(),
    page.locator('#main .figures').first().boundingBox(),
  ]);
  assert.ok(says.y < tells.y, 'it stands above the figures');
  await page.emulateMedia({ media: 'print' });
  const paper = await page.locator('.recall').innerText();
  assert.match(paper.trim().split('\n')[0], cut, 'the first line of the sheet');
  assert.doesNotMatch(paper, nothing);
  await page.emulateMedia({ media: 'screen' });
  door.instead = null;
  await page.getByRole('button', { name: 'Try again' }).click();
  await runRows().first().waitFor();
  assert.equal(await runRows().count(), trace.runs.length);
  assert.doesNotMatch(await answer().innerText(), cut);
});

test('entries and runs that only the server has say why they are not there', async () => {
  refused(503);
  for (const to of [`#/entries/lot/${lot.lot}`, `#/run/${trace.runs.at(-1).run}`]) {
    await page.goto(`${door.url}/${to}`);
    await page
      .getByText(/The server is busy/)
      .first()
      .waitFor();
    assert.doesNotMatch(await answer().innerText(), nothing, to);
    assert.equal(await page.getByRole('button', { name: 'Try again' }).count(), 1, to);
  }
  door.instead = null;
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.getByRole('heading', { name: 'Where the powder went' }).waitFor();
});

test('without a network a cut answer says so, and is made whole when the network is back', async () => {
  await page.goto(`${door.url}/#/status`);
  await page.reload();
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /All sent/ })
    .waitFor();
  door.set('down');
  await page.goto(`${door.url}/#/trace/lot/${lot.lot}`).catch(() => undefined);
  await page
    .getByText(/Not loaded from the server\. The server did not answer/)
    .first()
    .waitFor();
  assert.doesNotMatch(await answer().innerText(), nothing);
  door.set('pass');
  await runRows().first().waitFor();
  assert.equal(await runRows().count(), trace.runs.length);
});
