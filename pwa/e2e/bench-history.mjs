// `make bench-history`: a new phone in a shop with five years of history (250 000
// entries), from the tap on "Sign in" until the booth's vessel stands on the screen,
// and the bytes of the books over the wire. The phone's program is installed already.
//
// Ana has a passphrase, so that her first screen is the booth; an invitation would ask
// her to choose one first.
//
// The browser's own slowdown (4×) reaches the page's thread and not its worker. So the
// time for which the worker's thread was busy meanwhile is counted four times too, as if
// none of it went on beside the page: that sum is what the limit of 3 s is held against.
// Harsher, and only told: the whole browser, all of its processes, held to a
// quarter of one core by a CPU quota (root and cgroup v1).
import { readdirSync, readFileSync } from 'node:fs';
import { loadavg } from 'node:os';
import { resolve } from 'node:path';
import { historyShop, openCounter } from './history.mjs';
import { openInstalled, quartered } from './lib.mjs';

const entries = Number(process.env.ENTRIES ?? 250_000),
  years = Number(process.env.YEARS ?? 5),
  rounds = 3;
const median = (of) => of.toSorted((a, b) => a - b)[of.length >> 1];
const kept = process.env.HISTORY === undefined ? undefined : resolve(process.env.HISTORY);

const shop = await historyShop(entries, years, kept, 0);
const gate = await openCounter(shop.url);

async function first(slow) {
  const phone = await openInstalled();
  const page = await phone.newPage();
  await page.goto(`${gate.url}/`);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await page.waitForTimeout(1500); // the browser keeps the compiled core
  await page.reload();
  await page.getByLabel('Your name').fill('Ana');
  await page.getByLabel('Passphrase').fill(shop.passphrase);
  const button = page.getByRole('button', { name: /^sign in/i });
  if (slow > 1) await (await phone.newCDPSession(page)).send('Emulation.setCPUThrottlingRate', { rate: slow });
  gate.bytes = 0;
  const busy = beside();
  await page.evaluate(watch);
  await button.click();
  const ms = await page.evaluate(() => window.seen),
    besideMs = beside() - busy;
  const out = { ms, counted: ms + (slow - 1) * besideMs, bytes: gate.bytes, besideMs };
  await phone.close();
  return out;
}

// watch runs in the page: seen becomes the ms from the tap to the picture that has the
// vessel and its fill in it.
function watch() {
  window.seen = new Promise((met) => {
    let from = 0;
    addEventListener(
      'click',
      () => {
        from ||= performance.now();
      },
      true,
    );
    const look = () => {
      if (from === 0 || !/Hopper 1/.test(document.body.innerText) || !/\d kg/.test(document.body.innerText)) return;
      observer.disconnect();
      requestAnimationFrame(() => setTimeout(() => met(performance.now() - from)));
    };
    const observer = new MutationObserver(look);
    observer.observe(document.body, { childList: true, subtree: true, characterData: true });
  });
}

// beside gives the CPU time in ms of our phone's worker threads.
function beside() {
  const stat = (path) => {
    try {
      return readFileSync(path, 'utf8');
    } catch {
      return '';
    }
  };
  const parent = new Map(
    readdirSync('/proc')
      .filter((p) => /^\d+$/.test(p))
      .map((p) => [
        p,
        stat(`/proc/${p}/stat`)
          .replace(/^.*\) /, '')
          .split(' ')[1],
      ]),
  );
  const isOurs = (p) => p !== undefined && (p === String(process.pid) || isOurs(parent.get(p)));
  let ns = 0;
  for (const pid of parent.keys()) {
    if (!isOurs(pid) || !stat(`/proc/${pid}/cmdline`).includes('--type=renderer')) continue;
    for (const tid of readdirSync(`/proc/${pid}/task`))
      if (stat(`/proc/${pid}/task/${tid}/comm`).startsWith('DedicatedWorker'))
        ns += Number(stat(`/proc/${pid}/task/${tid}/schedstat`).split(' ')[0] ?? 0);
  }
  return ns / 1e6;
}

const seconds = (ms) => (ms / 1000).toFixed(2) + ' s';

async function series(name, slow = 1) {
  const got = [];
  for (let i = 0; i < rounds; i++) got.push(await first(slow));
  const of = (what) => median(got.map((g) => g[what])),
    bytes = of('bytes');
  console.log(
    `${name}: ${seconds(of('ms'))} to the vessel on the screen, of it ${seconds(of('besideMs'))} of work in the worker; ${(bytes / 1e6).toFixed(3)} MB over the wire; medians of ${rounds}, load ${loadavg()[0].toFixed(1)}`,
  );
  return { ms: of('counted'), bytes };
}

try {
  console.log(`${entries} entries over ${years} years`);
  await series('as it is');
  const { ms, bytes } = await series('page 4× slower', 4);
  const say = (is, text) => {
    if (!is) process.exitCode = 1;
    console.log(`${is ? 'met ' : 'MISSED'}  ${text}`);
  };
  say(ms <= 3000, `${seconds(ms)} at 4× CPU slowdown, the worker's time counted four times; wanted at most 3 s`);
  say(bytes <= 1e6, `${bytes} bytes over the wire, wanted at most 1000000`);
  await quartered(() => series('whole browser on a quarter of one core'));
} finally {
  await gate.close();
  if (kept === undefined) await shop.close();
  else await shop.stop();
}
