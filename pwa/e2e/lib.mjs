// What the browser tests share: a browser, a shop, and a door between them that can
// misbehave. Everything stays on this machine.
import { execFile, execFileSync, spawn } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  renameSync,
  rmdirSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { extname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { chromium } from 'playwright-core';

const pwa = fileURLToPath(new URL('..', import.meta.url));
export const phoneSize = { width: 390, height: 844 };

// patienceMs is how long a test waits for what must come, however busy the machine is:
// longer than the longest pause of a phone between two tries (60 s, sync/replica/doc.go).
// A limit that is a rule stands in the test that holds it.
export const patienceMs = 90_000;

// findChromium gives the browser's program: CHROME, the system's, or the npm one.
export async function findChromium() {
  if (process.env.CHROME) return process.env.CHROME;
  for (const path of ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'])
    if (existsSync(path)) return path;
  return (await import('@sparticuz/chromium')).default.executablePath();
}

const flags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

export async function openBrowser(args = [], env = process.env) {
  return chromium.launch({
    executablePath: await findChromium(),
    args: [...flags, ...args],
    env,
  });
}

// quartered runs work with browsers whose processes together get a quarter of one core.
// Where this machine does not let it (it needs root and cgroup v1) it says so and runs
// nothing.
export async function quartered(work) {
  const group = '/sys/fs/cgroup/cpu/hoppertally-bench',
    was = process.env.CHROME;
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
  await work();
  if (was === undefined) delete process.env.CHROME;
  else process.env.CHROME = was;
  for (let i = 0; existsSync(group) && i < 50; i++) {
    try {
      rmdirSync(group);
    } catch {
      execFileSync('sleep', ['0.1']);
    } // until its last process has ended
  }
}

// openInstalled opens a browser on a profile of its own on disk, as a phone has it:
// only then does the browser keep compiled code from one start to the next.
export async function openInstalled() {
  const profile = mkdtempSync(join(tmpdir(), 'profile-'));
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: await findChromium(),
    args: flags,
    locale: 'en-US',
    viewport: phoneSize,
    hasTouch: true,
  });
  context.on('close', () => setTimeout(() => rmSync(profile, { recursive: true, force: true, maxRetries: 5 }), 1000)); // its processes still write for a moment
  return context;
}

// The locale is needed: without it a headless browser may name none that Intl knows.
export async function openPhone(browser, more = {}) {
  const phone = await browser.newContext({ locale: 'en-US', viewport: phoneSize, hasTouch: true, ...more });
  phone.setDefaultTimeout(patienceMs);
  return phone;
}

// openSignedIn opens a phone on the app's own screens and signs in by the link with a code.
// The books are there then, the server has everything, and what opens the page without
// a network is on the phone.
export async function openSignedIn(browser, url, code, how = {}) {
  const phone = await openPhone(browser, { reducedMotion: 'reduce', ...how });
  const page = await phone.newPage();
  await page.goto(`${url}/#in=${code}`);
  await page.getByRole('button', { name: 'Sign in' }).first().click();
  await page.getByRole('navigation', { name: 'Sections' }).waitFor();
  await page
    .getByRole('banner')
    .getByRole('link')
    .filter({ hasText: /All sent/ })
    .waitFor();
  await installed(page);
  return { phone, page };
}

// binary is the server under test: HOPPERTALLY, or bin/hoppertally built when missing.
export function binary() {
  const path = process.env.HOPPERTALLY ?? resolve(pwa, '../bin/hoppertally');
  if (!existsSync(path))
    execFileSync('go', ['build', '-o', path, './server'], { cwd: resolve(pwa, '..'), stdio: 'inherit' });
  return path;
}

// onItsPort starts a server, again while its port is taken: between a stop and a start
// any program of this machine may be given it for a moment.
export async function onItsPort(begin) {
  for (const end = Date.now() + patienceMs; ;) {
    try {
      return await begin();
    } catch (e) {
      if (!String(e).includes('address already in use') || Date.now() > end) throw e;
    }
  }
}

// openShop starts the invented shop on a folder of its own and gives its address and
// a sign-in code for each role. stop ends it; start brings it back on the same data.
export async function openShop() {
  const shop = { url: '', port: 0, codes: {}, data: mkdtempSync(join(tmpdir(), 'shop-')) };
  let child = null;
  const begin = async () => {
    child = spawn(binary(), ['demo', '--port', String(shop.port), '--data', shop.data], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let text = '';
    await new Promise((ok, no) => {
      const more = (chunk) => {
        text += chunk;
        if (/manager .*#in=\S+\n/.test(text)) ok();
      };
      child.stdout.on('data', more);
      child.stderr.on('data', more);
      child.once('exit', (code) => no(new Error(`the shop ended with ${code}: ${text}`)));
    });
    shop.url = /http:\/\/[^\s/]+/.exec(text)[0];
    shop.port = Number(new URL(shop.url).port);
    for (const [, role, code] of text.matchAll(/^\s*(coater|clerk|manager) .*#in=(\S+)/gm)) shop.codes[role] = code;
  };
  shop.start = () => onItsPort(begin);
  shop.stop = () =>
    new Promise((ok) => {
      if (child === null || child.exitCode !== null || child.signalCode !== null) return ok();
      child.once('exit', ok);
      child.kill('SIGTERM');
    });
  // backup writes a backup while the shop is open; restore puts a folder made from it
  // in the place of the shop's, under the same address. The door lives in this process:
  // nothing here may stop it.
  shop.backup = (file) => promisify(execFile)(binary(), ['backup', file, '--data', shop.data]);
  shop.restore = async (file) => {
    await shop.stop();
    rmSync(shop.data, { recursive: true, force: true });
    shop.data = mkdtempSync(join(tmpdir(), 'restored-'));
    await promisify(execFile)(binary(), ['restore', file, '--data', shop.data]);
    await shop.start();
  };
  // copyFolder and putBack are what a restore is there to spare people.
  shop.copyFolder = async () => {
    await shop.stop();
    cpSync(shop.data, shop.data + '-copy', { recursive: true });
    await shop.start();
  };
  shop.putBack = async () => {
    await shop.stop();
    rmSync(shop.data, { recursive: true, force: true });
    renameSync(shop.data + '-copy', shop.data);
    await shop.start();
  };
  shop.close = async () => {
    await shop.stop();
    rmSync(shop.data, { recursive: true, force: true });
  };
  await shop.start();
  return shop;
}

// openNewShop serves an empty folder, as somebody does who begins, and gives the code
// that the terminal shows.
export async function openNewShop(args = []) {
  const data = mkdtempSync(join(tmpdir(), 'new-'));
  const child = spawn(binary(), ['serve', '--addr', '127.0.0.1:0', '--data', data, ...args], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let text = '';
  const link = await new Promise((ok, no) => {
    child.stdout.on('data', (chunk) => {
      text += chunk;
      const found = /(http:\/\/\S+)\/#setup=(\S+)\n/.exec(text);
      if (found) ok(found);
    });
    child.once('exit', (code) => no(new Error(`the shop ended with ${code}: ${text}`)));
  });
  const close = async () => {
    await new Promise((ok) => {
      child.once('exit', ok);
      child.kill('SIGTERM');
    });
    rmSync(data, { recursive: true, force: true });
  };
  return { url: link[1], code: link[2], said: () => text, close };
}

// desk signs a program in beside the phones, to look at the server from outside.
export async function desk(shop, code, device = 'desk-of-the-test') {
  const ask = async (path, { method = 'GET', body, access } = {}) => {
    const answer = await fetch(`${shop.url}/api/v1/${path}`, {
      method,
      headers: {
        'Content-Type': 'application/json',
        ...(access === undefined ? {} : { Authorization: `Bearer ${access}` }),
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
    return answer.status === 204 ? null : answer.json();
  };
  const grant = await ask('session', { method: 'POST', body: { code, device, app_version: '1' } });
  const call = (method, path, body) => ask(path, { method, body, access: grant.access });
  // log gives every entry that the server has, with what became of it.
  const log = async () => {
    const all = [],
      { epoch } = await call('GET', 'hello'); // the log may have begun a new one
    for (let after = 0; ;) {
      const page = await call('GET', `pull?epoch=${epoch}&after=${after}&max=500`);
      all.push(...page.entries);
      if (!page.more) return all;
      after = page.next;
    }
  };
  // push records something in that person's name, as a phone would.
  let n = 0;
  const push = async (kind, body) => {
    const now = Date.now(),
      random = () =>
        Math.floor(Math.random() * 2 ** 32)
          .toString(16)
          .padStart(8, '0'),
      id = now.toString(16).padStart(12, '0');
    const entry = {
      id: `${id.slice(0, 8)}-${id.slice(8)}-7${random().slice(0, 3)}-8${random().slice(0, 3)}-${random()}${random().slice(0, 4)}`,
      kind,
      v: 1,
      by: grant.person.id,
      device,
      n: ++n,
      at: new Date(now).toISOString(),
      clock: { wall_ms: now, mono_ms: 1, segment: 's' },
      body,
    };
    const {
      results: [r],
    } = await call('POST', 'push', { now: { wall_ms: now, mono_ms: 1, segment: 's' }, entries: [entry] });
    if (r.outcome !== 'accepted') throw new Error(`${kind}: ${r.outcome} ${r.reason}`);
    return entry;
  };
  return { person: grant.person, device, call, log, push };
}

const kinds = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
};
const policy =
  "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; worker-src 'self'; object-src 'none'; base-uri 'none'";

// openDoor stands between phone and shop: it serves one build of the phone's program
// and passes /api/ on. door.mode says how:
//   pass · down (connections end) · blackhole (nothing ever answers) · portal (a login
//   page for everything) · redirect · empty · stranger (another server's answer) ·
//   deaf (the shop gets the request, the phone no answer) · slow (every answer takes
//   two seconds more)
// door.instead, if set, answers what it likes of the requests to the shop: it gives true
// for one that it took (request, response); door.pass passes one on.
// What is asked for at /api/held is answered once door.letGo is called.
export async function openDoor(shop, dist) {
  const door = { mode: 'pass', dist, requests: [], broken: null, instead: null };
  const open = new Set();
  const held = new Promise((ok) => {
    door.letGo = ok;
  });
  const server = http.createServer((req, res) => {
    door.requests.push(`${req.method} ${req.url}`);
    if (door.mode === 'blackhole') return;
    if (door.mode === 'portal')
      return res
        .writeHead(200, { 'Content-Type': 'text/html' })
        .end('<html><h1>Welcome to the guest network</h1></html>');
    if (door.mode === 'redirect') return res.writeHead(302, { Location: 'http://localhost:1/login' }).end();
    if (door.mode === 'empty') return res.writeHead(200).end();
    if (door.mode === 'stranger')
      return res
        .writeHead(200, { 'Content-Type': 'application/json', 'X-Hoppertally': 'srv-of-another-shop' })
        .end('{"server_id":"x","epoch":"x","head":9,"now_ms":1}');
    if (req.url === '/api/held') return void held.then(() => res.writeHead(204).end());
    if (door.instead?.(req, res) === true) return;
    if (req.url.startsWith('/api/'))
      return door.mode === 'slow' ? setTimeout(() => pass(req, res), 2000) : pass(req, res);
    const path = new URL(req.url, 'http://x').pathname,
      name = extname(path) === '' ? '/index.html' : path;
    const file = join(door.dist, name);
    if (!existsSync(file)) return res.writeHead(404).end();
    let body = readFileSync(file);
    if (door.broken !== null && name.includes(door.broken)) body = Buffer.concat([body, Buffer.from('\n')]);
    res
      .writeHead(200, {
        'Content-Type': kinds[extname(name)] ?? 'application/octet-stream',
        'Content-Security-Policy': policy,
        'Cache-Control': name.startsWith('/assets/') ? 'public, max-age=31536000, immutable' : 'no-cache',
      })
      .end(body);
  });
  function pass(req, res) {
    const up = http.request(shop.url + req.url, { method: req.method, headers: req.headers }, (answer) => {
      if (door.mode === 'deaf') return res.destroy();
      res.writeHead(answer.statusCode, answer.headers);
      res.flushHeaders();
      answer.pipe(res);
      answer.on('error', () => res.destroy());
    });
    up.on('error', () => res.destroy());
    res.on('close', () => up.destroy());
    req.pipe(up);
  }
  door.pass = pass;
  server.on('connection', (socket) => {
    if (door.mode === 'down') return socket.destroy();
    open.add(socket);
    socket.on('close', () => open.delete(socket));
  });
  door.set = (mode) => {
    door.mode = mode;
    for (const socket of open) socket.destroy();
  };
  await new Promise((ok) => server.listen(0, 'localhost', ok));
  door.url = `http://localhost:${server.address().port}`;
  door.close = () =>
    new Promise((ok) => {
      door.set('down');
      server.close(ok);
    });
  return door;
}

// buildBench builds the phone's program with the bench page, once for each version.
export function buildBench(version) {
  const out = join(pwa, 'build', 'bench-' + version);
  execFileSync('node', ['build.mjs'], {
    cwd: pwa,
    stdio: ['ignore', 'ignore', 'inherit'],
    env: { ...process.env, PAGE: 'e2e/bench.ts', OUT: out, VERSION: version },
  });
  return out;
}

// buildClock builds the phone's program with a worker whose clock a test can set.
export function buildClock() {
  const out = join(pwa, 'build', 'clock');
  execFileSync('node', ['build.mjs'], {
    cwd: pwa,
    stdio: ['ignore', 'ignore', 'inherit'],
    env: { ...process.env, SHIM: 'e2e/clock.js', OUT: out, VERSION: 'clock' },
  });
  return out;
}

// enter opens the bench page in a phone and waits until the books can be read.
export async function enter(phone, door) {
  const page = await phone.newPage();
  await page.goto(door.url + '/');
  await page.getByText(/^ready/).waitFor();
  return page;
}

// signIn signs a page's phone in and waits for the shop's books.
export async function signIn(page, code) {
  await page.evaluate((c) => window.bench.core.signIn({ code: c }), code);
  await until(
    page,
    () =>
      window.bench.status?.lastSyncMs !== null && window.bench.core.view('lists', {}).then((v) => v.places.length > 0),
  );
}

// until waits for something to come true in the page.
export async function until(page, check, arg, timeout = patienceMs) {
  const end = Date.now() + timeout;
  for (;;) {
    if (await page.evaluate(check, arg).catch(() => false)) return;
    if (Date.now() > end)
      throw new Error(
        `not true within ${timeout} ms: ${check}; status ${JSON.stringify(await page.evaluate(() => window.bench?.status).catch(String))}`,
      );
    await new Promise((ok) => setTimeout(ok, 50));
  }
}

// eventually waits for what is not a page's to know: what a door saw, what the store
// holds, what two windows agree on.
export async function eventually(check, timeout = patienceMs) {
  for (const end = Date.now() + timeout; !(await check());) {
    if (Date.now() > end) throw new Error(`not true within ${timeout} ms: ${check}`);
    await new Promise((ok) => setTimeout(ok, 50));
  }
}

// sent waits until the server has answered for every entry of a phone, and the page says
// so. The store is asked first: what a page was told last may be of before an entry.
export async function sent(page) {
  await eventually(async () => (await outbox(page)).every((r) => r.mark !== ''));
  await until(page, () => window.bench.status?.unsent === 0 && window.bench.status.online === 'yes');
}

// installed waits until the phone can open the program without a server.
export function installed(page) {
  return until(page, () => navigator.serviceWorker.getRegistration().then((r) => r?.active?.state === 'activated'));
}

// pace tells how slow the machine is just now: 1 where the limits in these tests were
// set, 2 when it needs twice as long. What it times is not ours: a browser opens a fresh
// window on a few bytes and counts. The worst of three.
const freshMs = 900; // two cores of 2026, nothing else running: 680 to 930
export async function pace(browser, shop) {
  const took = [];
  for (let i = 0; i < 3; i++) {
    const from = performance.now();
    const window = await browser.newContext(),
      page = await window.newPage();
    await page.goto(shop.url + '/healthz', { timeout: patienceMs });
    await page.evaluate(() => {
      for (let at = 0, sum = 0; at < 5e7; at++) sum = (sum + at) % 7919;
    });
    await window.close();
    took.push(performance.now() - from);
  }
  return Math.max(1, Math.max(...took) / freshMs);
}

// weigh books a harmless entry: the weight of a vessel as the books have it.
export function weigh(page, grams) {
  return page.evaluate(async (g) => {
    const lists = await window.bench.core.view('lists', {});
    const vessel = lists.places.find((p) => p.kind === 'vessel');
    return window.bench.core.record('weigh', { place: vessel.place, mass: `${g} g` }, 'test');
  }, grams);
}

// outbox reads the stored rows themselves.
export function outbox(page) {
  return page.evaluate(
    () =>
      new Promise((ok, no) => {
        const open = indexedDB.open('hoppertally', 1);
        open.onerror = () => no(open.error);
        open.onsuccess = () => {
          const all = open.result.transaction('outbox').objectStore('outbox').getAll();
          all.onsuccess = () => {
            open.result.close();
            const rows = all.result.filter((r) => !Array.isArray(r)),
              fates = new Map(
                all.result
                  .filter((r) => Array.isArray(r))
                  .flat()
                  .map((f) => [f.n, f]),
              );
            ok(
              rows.map((r) => ({
                n: r.n,
                id: r.id,
                mark: fates.get(r.n)?.mark ?? r.mark,
                text: new TextDecoder().decode(r.bytes),
              })),
            );
          };
          all.onerror = () => no(all.error);
        };
      }),
  );
}
