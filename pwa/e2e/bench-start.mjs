// `make bench-start`: cold start of the installed app without a network, and a record
// until it is durable, on the built binary. Three speeds:
//   as it is · page's thread slowed 4 times by the browser (workers are not reached,
//   so their share is counted four times) · the whole browser held to a quarter of
//   one core by a CPU quota (needs root and cgroup v1; said so where there is none).
import { execFileSync } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, mkdtempSync, rmdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildBench, enter, findChromium, openBrowser, openDoor, openInstalled, openPhone, openShop, signIn } from './lib.mjs';

const rounds = 9;
const median = (of) => of.toSorted((a, b) => a - b)[of.length >> 1];
const shop = await openShop();

async function installed() {
  const phone = await openInstalled();
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes.coater}`);
  await page.getByRole('button', { name: /^sign in/i }).first().click();
  await page.getByRole('navigation').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await page.getByText('kg').first().waitFor();
  await page.waitForTimeout(2500); // the folded state is kept half a second after the last change
  await phone.setOffline(true);
  await page.close();
  return phone;
}

// cold gives ms from navigation until the words are on the screen.
async function cold(phone, hash, words, slow) {
  const page = await phone.newPage();
  const cdp = await phone.newCDPSession(page);
  if (slow > 1) await cdp.send('Emulation.setCPUThrottlingRate', { rate: slow });
  await page.goto(`${shop.url}/${hash}`);
  const ms = await page.waitForFunction((w) => (document.body.innerText.includes(w) ? performance.now() : false), words, { polling: 'raf', timeout: 60_000 });
  const out = await ms.jsonValue();
  await page.close();
  return out;
}

async function starts(name, slow = 1) {
  const phone = await installed();
  const books = [], core = [];
  await cold(phone, '#/do/charge?to=hopper-1', 'Best blend', 1); // the first start after installing compiles
  for (let i = 0; i < rounds; i++) books.push(await cold(phone, '#/booth', 'Charge hopper', slow));
  for (let i = 0; i < rounds; i++) core.push(await cold(phone, '#/do/charge?to=hopper-1', 'Best blend', slow));
  console.log(`${name}: books and actions on the screen ${Math.round(median(books))} ms, first answer of the core (best blend) ${Math.round(median(core))} ms, medians of ${rounds}`);
  await phone.close();
}

// saves times core.record, which resolves when the entry is on strict storage.
async function saves(browser) {
  const door = await openDoor(shop, buildBench('bench'));
  const phone = await openPhone(browser);
  const page = await enter(phone, door);
  await signIn(page, shop.codes.coater);
  door.set('down');
  const times = await page.evaluate(async () => {
    const out = [];
    for (let i = 0; i < 60; i++) {
      const t = performance.now();
      await window.bench.core.record('weigh', { place: 'hopper-1', mass: `${8900 - i} g` }, '');
      out.push(performance.now() - t);
    }
    return out;
  });
  console.log(`a record until it is durable on the phone: ${median(times).toFixed(1)} ms, median of ${times.length}`);
  await phone.close();
  await door.close();
}

// quartered starts a browser whose processes together get a quarter of one core.
async function quartered() {
  const group = '/sys/fs/cgroup/cpu/hoppertally-bench';
  try {
    mkdirSync(group, { recursive: true });
    writeFileSync(group + '/cpu.cfs_period_us', '100000');
    writeFileSync(group + '/cpu.cfs_quota_us', '25000');
  } catch (e) {
    console.log('quarter of a core: not measured here, ' + e.message);
    return;
  }
  const script = join(mkdtempSync(join(tmpdir(), 'quarter-')), 'chromium');
  writeFileSync(script, `#!/bin/sh\necho $$ > ${group}/cgroup.procs\nexec ${await findChromium()} "$@"\n`);
  chmodSync(script, 0o755);
  process.env.CHROME = script;
  await starts('whole browser on a quarter of one core');
  for (let i = 0; existsSync(group) && i < 50; i++) {
    try { rmdirSync(group); } catch { execFileSync('sleep', ['0.1']); }
  }
}

try {
  const browser = await openBrowser();
  await starts('as it is');
  await starts('page 4× slower, worker as it is', 4);
  await saves(browser);
  await browser.close();
  await quartered();
} finally {
  await shop.close();
}
