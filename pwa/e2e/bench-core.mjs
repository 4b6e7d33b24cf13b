// `make bench`: the phone's own core in a worker of headless Chromium, without
// throttle. It reads and folds the pages of 100 000 entries as it does after the
// store was read.
//
//   node e2e/bench-core.mjs [CORE.wasm]   default: the core in dist
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import http from 'node:http';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openBrowser } from './lib.mjs';

const entries = 100_000,
  perPage = 500,
  rounds = 9,
  mostMs = 700;
const pwa = fileURLToPath(new URL('..', import.meta.url)),
  top = resolve(pwa, '..');
const assets = join(pwa, 'dist/assets');
const core = process.argv[2] ?? join(assets, readdirSync(assets).find((f) => /^core-.*\.wasm$/.test(f)) ?? '');
const goroot = execFileSync('go', ['env', 'GOROOT'], { cwd: top }).toString().trim();
const ours = (what) =>
  execFileSync('go', ['run', './server/bench', what, String(perPage), String(entries)], {
    cwd: top,
    maxBuffer: 1 << 28,
  });
const pages = ours('pages');

// worker is what the page's worker does, without store and network.
async function worker() {
  importScripts('/wasm_exec.js');
  const answer = (op, args, ...blobs) => {
    const out = globalThis.hoppertallyCore(
      op,
      JSON.stringify({
        now: { wall_ms: 1_900_000_000_000, mono_ms: 1, segment: 's', offset_min: 0, seed: 1 },
        ...args,
      }),
      ...blobs,
    );
    if ('json' in out) return out;
    throw new Error(JSON.stringify(out));
  };
  const module = await WebAssembly.compileStreaming(fetch('/core.wasm'));
  const bytes = new Uint8Array(await (await fetch('/pages')).arrayBuffer());
  const list = [];
  for (let from = 0; from < bytes.length;) {
    const end = bytes.indexOf(10, from);
    list.push(bytes.slice(from, end));
    from = end + 1;
  }
  const cursor = { epoch: 'e1', after: 0 };
  onmessage = async () => {
    const go = new Go();
    void go.run(await WebAssembly.instantiate(module, go.importObject));
    answer('open', {
      open: {
        device: 'd',
        person: { id: 'mia', name: 'Mia', role: 'manager' },
        units: '',
        lang: 'en',
        cursor,
        counter: 0,
        server: 's',
        signed_in: true,
        skew_ms: 0,
      },
      has_snapshot: false,
      rows: [],
    });
    const t0 = performance.now();
    for (const page of list) answer('load', { epoch: 'e1' }, page);
    const t1 = performance.now();
    answer('loaded', { epoch: 'e1' });
    const lists = JSON.parse(answer('view', { name: 'lists', params: {} }).json);
    postMessage({ decodeMs: t1 - t0, foldMs: performance.now() - t1, places: lists.places.length });
  };
  postMessage('ready');
}

const files = {
  '/': ['text/html', '<!doctype html><title>bench</title>'],
  '/worker.js': ['text/javascript', `(${worker})()`],
  '/wasm_exec.js': ['text/javascript', readFileSync(join(goroot, 'lib/wasm/wasm_exec.js'))],
  '/core.wasm': ['application/wasm', readFileSync(core)],
  '/pages': ['application/octet-stream', pages],
};
const server = http.createServer((req, res) => {
  const [type, body] = files[req.url] ?? ['text/plain', ''];
  res.writeHead(200, { 'Content-Type': type }).end(body);
});
await new Promise((ok) => server.listen(0, '127.0.0.1', ok));
const browser = await openBrowser();
try {
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const times = await page.evaluate(async (rounds) => {
    const w = new Worker('/worker.js');
    const next = () =>
      new Promise((ok, no) => {
        w.onmessage = (e) => ok(e.data);
        w.onerror = (e) => no(new Error(e.message));
      });
    await next();
    const out = [];
    for (let i = 0; i < rounds; i++) {
      const told = next();
      w.postMessage('go');
      out.push(await told);
    }
    return out;
  }, rounds);
  if (times.some((t) => t.places < 20)) throw new Error('the core lists too few places: ' + JSON.stringify(times));
  const median = (of) => times.map(of).sort((a, b) => a - b)[rounds >> 1];
  const decode = median((t) => t.decodeMs),
    fold = median((t) => t.foldMs),
    sum = times.map((t) => t.decodeMs + t.foldMs).sort((a, b) => a - b);
  console.log(
    `core in Chromium, ${entries} entries in pages of ${perPage}, medians of ${rounds}: ${Math.round(sum[rounds >> 1])} ms (best ${Math.round(sum[0])}, at most ${mostMs}): decoding ${Math.round(decode)}, folding ${Math.round(fold)}`,
  );
  const [nativeDecode, nativeFold] = ours('core').toString().trim().split(' ').map(Number),
    each = (ms) => ((ms * 1000) / entries).toFixed(2);
  console.log(
    `folding one entry: ${each(nativeFold)} µs natively (at most 3), ${each(fold)} µs in Chromium (at most 9), ${(fold / nativeFold).toFixed(1)} times ours; decoding ${each(nativeDecode)} and ${each(decode)} µs`,
  );
} finally {
  await browser.close();
  server.close();
}
