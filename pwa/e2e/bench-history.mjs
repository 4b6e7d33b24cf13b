// `make bench-history`: a new phone in a shop with five years of history (250 000
// entries), from the tap on "Sign in" until the booth's vessel stands on the screen,
// and the bytes of the books over the wire. The phone's program is installed already.
//
// The browser's own slowdown does not reach workers, so two slow figures are given: the
// whole browser held to a quarter of one core by a CPU quota (root and cgroup v1), and
// the unthrottled time counted four times.
import { mkdirSync, mkdtempSync, writeFileSync, chmodSync, rmdirSync, existsSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { loadavg, tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { historyShop, openCounter } from './history.mjs';
import { findChromium, openInstalled } from './lib.mjs';

const entries = Number(process.env.ENTRIES ?? 250_000), years = Number(process.env.YEARS ?? 5), rounds = 3;
const median = (of) => of.toSorted((a, b) => a - b)[of.length >> 1];
const kept = process.env.HISTORY === undefined ? undefined : resolve(process.env.HISTORY);

const shop = await historyShop(entries, years, kept, 8);
const gate = await openCounter(shop.url);

async function first(slow) {
  const phone = await openInstalled();
  const page = await phone.newPage();
  await page.goto(`${gate.url}/`);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await page.waitForTimeout(1500); // the browser keeps the compiled core
  await page.goto(`${gate.url}/#in=${shop.code('p-ana')}`);
  const button = page.getByRole('button', { name: /^sign in/i }).first();
  await button.waitFor();
  if (slow > 1) await (await phone.newCDPSession(page)).send('Emulation.setCPUThrottlingRate', { rate: slow });
  gate.bytes = 0;
  const start = performance.now();
  await button.click();
  await page.getByText('Hopper 1').first().waitFor({ timeout: 120_000 });
  await page.getByText(/\d kg/).first().waitFor({ timeout: 120_000 });
  const out = { ms: performance.now() - start, bytes: gate.bytes };
  await phone.close();
  return out;
}

async function series(name, slow = 1) {
  const got = [];
  for (let i = 0; i < rounds; i++) got.push(await first(slow));
  const ms = median(got.map((g) => g.ms)), bytes = median(got.map((g) => g.bytes));
  console.log(`${name}: ${(ms / 1000).toFixed(2)} s to the vessel on the screen (limit 3), ${(bytes / 1e6).toFixed(3)} MB over the wire (limit 1); medians of ${rounds}, load ${loadavg()[0].toFixed(1)}`);
  return ms;
}

async function quartered() {
  const group = '/sys/fs/cgroup/cpu/hoppertally-history';
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
  await series('whole browser on a quarter of one core');
  for (let i = 0; existsSync(group) && i < 50; i++) {
    try { rmdirSync(group); } catch { execFileSync('sleep', ['0.1']); }
  }
}

try {
  console.log(`${entries} entries over ${years} years`);
  const ms = await series('as it is');
  console.log(`  counted four times, worker and page: ${(4 * ms / 1000).toFixed(2)} s`);
  await series('page 4× slower, worker as it is', 4);
  await quartered();
} finally {
  await gate.close();
  if (kept === undefined) await shop.close();
  else await shop.stop();
}
