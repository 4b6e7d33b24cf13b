// Runs one peer as run.mjs runs ours: a server of its own, one browser that has the
// entries and pushes them, one fresh browser that fetches them.
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { openInstalled } from '../lib.mjs';
import { entries } from './entries.mjs';
import { pipeTo } from './pipe.mjs';

const here = fileURLToPath(new URL('.', import.meta.url));

async function openServer(script, page) {
  const folder = mkdtempSync(join(tmpdir(), 'peer-'));
  const child = spawn('node', [join(here, script), folder, page], {
    stdio: ['ignore', 'pipe', 'inherit'],
    env: { ...process.env, NODE_ENV: 'production' },
  });
  const port = await new Promise((ok, no) => {
    child.stdout.on('data', (chunk) => {
      const m = /at (\d+)/.exec(chunk);
      if (m) ok(Number(m[1]));
    });
    child.once('exit', (code) => no(new Error(`${script} ended with ${code}`)));
  });
  return {
    port,
    close: () =>
      new Promise((ok) => {
        child.once('exit', () => {
          rmSync(folder, { recursive: true, force: true });
          ok();
        });
        child.kill('SIGTERM');
      }),
  };
}

async function pageOf(script) {
  const folder = join(here, 'node_modules/.page', script);
  mkdirSync(folder, { recursive: true });
  await build({
    entryPoints: [join(here, script)],
    bundle: true,
    minify: true,
    format: 'iife',
    target: 'es2022',
    outfile: join(folder, 'page.js'),
    logLevel: 'error',
    define: { 'process.env.NODE_ENV': '"production"', global: 'globalThis' },
  });
  writeFileSync(
    join(folder, 'index.html'),
    '<!doctype html><meta charset="utf-8"><title>peer</title><script src="page.js"></script>',
  );
  return folder;
}

// peer gives a side for run.mjs. open, push and pull go to the page's calls.
export async function peer({ name, page, server, open, push, pull }) {
  const folder = await pageOf(page);
  const client = async (url) => {
    const context = await openInstalled(),
      tab = await context.newPage();
    await tab.goto(url + '/page/');
    await tab.evaluate((a) => window.peer.open(a), open);
    return { context, tab };
  };
  return {
    name,
    async run({ count, isCounted }) {
      const at = await openServer(server, folder);
      const pipe = isCounted ? await pipeTo(at.port) : null;
      const url = pipe?.url ?? `http://localhost:${at.port}`;
      const all = entries({ count, by: 'p-mia', device: 'd-one', epoch: 'e-one', endMs: Date.now() - 60_000 });
      const made = [];
      try {
        const one = await client(url);
        made.push(one);
        await one.tab.evaluate((list) => window.peer.fill(list), all);
        pipe?.reset();
        const pushMs = await one.tab.evaluate((o) => window.peer.push(o), push);
        const up = pipe?.count();
        await one.context.close();
        const two = await client(url);
        made.push(two);
        pipe?.reset();
        const pullMs = await two.tab.evaluate((o) => window.peer.pull(o), pull);
        const down = pipe?.count();
        const has = await two.tab.evaluate(() => window.peer.count());
        if (has !== count) throw new Error(`${name}: the fresh client has ${has} of ${count}`);
        return { push: pushMs, pull: pullMs, up, down };
      } finally {
        for (const c of made) await c.context.close().catch(() => undefined);
        await pipe?.close();
        await at.close();
      }
    },
  };
}
