// Our side: the built binary, its own page, worker and core as a phone gets them.
// Nothing is replaced: the page's talk with its worker is listened to, and one more
// voice joins in.
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { binary, openInstalled } from '../lib.mjs';
import { entries } from './entries.mjs';
import { pipeTo } from './pipe.mjs';

export const name = 'hoppertally';

// spy runs in the page before its own scripts.
function spy() {
  const Real = window.Worker;
  const s = { worker: null, status: null, waiting: new Map(), next: 1e9, until: null, heard: 0 };
  window.Worker = class extends Real {
    constructor(address, options) {
      super(address, options);
      s.worker = this;
      this.addEventListener('message', (e) => {
        const m = e.data;
        s.heard = performance.now();
        if (m.type === 'status') {
          s.status = m.status;
          if (s.until?.is(m.status)) {
            s.until.met(performance.now());
            s.until = null;
          }
        } else if (s.waiting.has(m.id)) {
          s.waiting.get(m.id)(m.type === 'done' ? { value: m.value } : { problem: m.problem });
          s.waiting.delete(m.id);
        }
      });
    }
  };
  s.call = (call, ...args) =>
    new Promise((ok, no) => {
      const id = s.next++;
      s.waiting.set(id, (r) => (r.problem ? no(new Error(JSON.stringify(r.problem))) : ok(r.value)));
      s.worker.postMessage({ type: 'call', id, call, args, request: crypto.randomUUID() });
    });
  // once gives the time at which a status comes that passes.
  s.once = (is) =>
    new Promise((met) => {
      if (s.status !== null && is(s.status)) met(performance.now());
      else s.until = { is, met };
    });
  // rest waits until the worker has had nothing to say for a while: the page has its views.
  s.rest = async () => {
    while (performance.now() - s.heard < 400) await new Promise((ok) => setTimeout(ok, 100));
  };
  window.spy = s;
}

async function openShop() {
  const data = mkdtempSync(join(tmpdir(), 'sync-'));
  const shop = { url: '', code: '', data };
  let child = null,
    port = 0;
  shop.start = async () => {
    child = spawn(binary(), ['serve', '--data', data, '--addr', `127.0.0.1:${port}`, '--log', 'error'], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let text = '';
    await new Promise((ok, no) => {
      child.stdout.on('data', (chunk) => {
        text += chunk;
        if (/ is at /.test(text) && (port !== 0 || /#setup=\S+\s/.test(text))) ok();
      });
      child.once('exit', (code) => no(new Error(`the server ended with ${code}: ${text}`)));
    });
    if (port !== 0) return;
    port = Number(/localhost:(\d+)/.exec(text)[1]);
    shop.port = port;
    shop.url = `http://localhost:${port}`;
    shop.code = /#setup=(\S+)/.exec(text)[1];
  };
  shop.stop = () =>
    new Promise((ok) => {
      child.once('exit', ok);
      child.kill('SIGTERM');
    });
  shop.close = async () => {
    await shop.stop();
    rmSync(data, { recursive: true, force: true });
  };
  await shop.start();
  return shop;
}

async function openApp(context, url) {
  const page = await context.newPage();
  page.on('pageerror', (e) => console.error('page:', e.message));
  page.on('console', (m) => {
    if (m.type() === 'warning' && m.text().startsWith('hoppertally')) console.error(m.text());
  });
  await page.goto(url);
  await page.waitForFunction(() => window.spy.worker !== null);
  await page.evaluate(() => window.spy.call('boot'));
  return page;
}

const seeder = (
  await build({
    entryPoints: [fileURLToPath(new URL('seed.ts', import.meta.url))],
    bundle: true,
    write: false,
    format: 'iife',
    target: 'es2022',
    logLevel: 'warning',
  })
).outputFiles[0].text;

// blank is a page of the shop's origin without the program.
async function blank(context, url) {
  const page = await context.newPage();
  await page.goto(url + '/healthz');
  await page.evaluate(seeder);
  return page;
}

const signedIn = (s) => s.signedIn && s.lastSyncMs !== null && s.unsent === 0;

// run gives ms of push; of a fresh pull until all is stored, with the sign-in before it
// (pull) and from when the page hears that somebody is signed in (signed); and with the
// sign-in until all is in the books; and bytes when it goes through a pipe that counts.
export async function run({ count, isCounted }) {
  const shop = await openShop();
  const pipe = isCounted ? await pipeTo(shop.port) : null;
  const url = pipe?.url ?? shop.url;
  const one = await openInstalled(),
    two = await openInstalled();
  try {
    await one.addInitScript(spy);
    await two.addInitScript(spy);
    let page = await openApp(one, url + '/');
    const boot = await page.evaluate(
      (code) =>
        window.spy.call('setUp', {
          code,
          name: 'Mia',
          passphrase: 'a bench of four words',
          shop: { name: 'Bench', zone: 'Europe/Madrid', units: 'metric', currency: 'EUR', lang: 'en' },
        }),
      shop.code,
    );
    await page.evaluate(`window.spy.once(${signedIn})`);
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
    await page.close();
    const { epoch, head } = await (await fetch(shop.url + '/api/v1/hello')).json();

    const all = entries({ count, by: boot.person.id, device: boot.device, epoch, endMs: Date.now() - 60_000 });
    page = await blank(one, url);
    await page.evaluate((list) => window.seed(list), all);
    await page.close();
    await shop.stop();
    page = await openApp(one, url + '/');
    await page.evaluate((n) => window.spy.once((s) => s.unsent === n && s.online === 'no'), count);
    await page.evaluate(() => window.spy.rest());
    await shop.start();
    pipe?.reset();
    const push = await page.evaluate(
      () =>
        new Promise((ok) => {
          const from = performance.now();
          void window.spy.once((s) => s.unsent === 0).then((t) => ok(t - from));
          window.spy.worker.postMessage({ type: 'sync' });
        }),
    );
    const up = pipe?.count();
    await page.evaluate(`window.spy.once(${signedIn})`);
    const invite = await page.evaluate((p) => window.spy.call('invite', p), boot.person.id);
    const seen = await page.evaluate(() => window.spy.call('view', 'lists', {}));
    const total = (await (await fetch(shop.url + '/api/v1/hello')).json()).head;
    if (total !== head + count) throw new Error(`the server has ${total} entries, not ${head + count}`);
    await page.close();
    page = await blank(one, url);
    const fates = await page.evaluate(() => window.fates());
    if (fates.accepted !== count) throw new Error('not all are marked accepted: ' + JSON.stringify(fates));
    await one.close();

    const fresh = await openApp(two, url + '/');
    await fresh.evaluate(() => navigator.serviceWorker.ready.then(() => true)); // what the phone downloads once is not ours to measure
    await fresh.evaluate(() => window.spy.rest()); // nor how long somebody takes to find the invitation
    await fresh.evaluate(seeder);
    pipe?.reset();
    const { pull, signed, books } = await fresh.evaluate(
      async ({ code, total }) => {
        const from = performance.now();
        const stored = window.stored(total),
          folded = window.spy.once((s) => s.signedIn && s.lastSyncMs !== null);
        await window.spy.call('signIn', { code });
        const signedIn = performance.now(),
          end = await stored;
        return { pull: end - from, signed: end - signedIn, books: (await folded) - from };
      },
      { code: invite.link.split('=').pop(), total },
    );
    const down = pipe?.count();
    const same = await fresh.evaluate(() => window.spy.call('view', 'lists', {}));
    if (JSON.stringify(same) !== JSON.stringify(seen)) throw new Error('the two phones show different books');
    await fresh.close();
    const bare = await blank(two, url),
      at = await bare.evaluate(() => window.cursor());
    if (at.epoch !== epoch || at.after !== total)
      throw new Error(`the fresh phone keeps the log up to ${at.after}, not ${total}`);
    if (same.places.length !== 7) throw new Error(`the fresh phone knows ${same.places.length} places`);
    return { push, pull, signed, books, up, down };
  } finally {
    await one.close().catch(() => undefined);
    await two.close().catch(() => undefined);
    await pipe?.close();
    await shop.close();
  }
}
