// Builds the phone program into dist: `node build.mjs` from pwa/.
//
//   core     pwa/core, Go to WebAssembly     assets/core-HASH.wasm
//   sums     pwa/core/sums, loaded on demand assets/sums-HASH.wasm
//   worker   src/worker/main.ts              assets/worker-HASH.js
//   page     src/app/main.tsx and main.css   assets/main-HASH.js and .css
//   sw.js    src/sw/main.ts                  knows the SHA-256 of every other file
//
// A file's name holds its hash, so a name never changes its bytes. Every file gets
// .gz and .br beside it.
//
// Environment: RELEASE=1 (brotli 11 for the core too, which takes many seconds),
// VERSION (shown to people; default dev), OUT (default dist), PAGE (another entry
// for the page: the storage tests bring their own), SHIM (a module put before the
// worker: a test's own clock).
import { build } from 'esbuild';
import { execFileSync, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { copyFile, mkdir, readFile, readdir, rename, rm, writeFile } from 'node:fs/promises';
import { join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const here = fileURLToPath(new URL('.', import.meta.url));
process.chdir(here);
const out = resolve(process.env.OUT ?? 'dist');
const isRelease = process.env.RELEASE === '1';
const version = process.env.VERSION ?? 'dev';
const page = process.env.PAGE ?? 'src/app/main.tsx';

// Limits of what a phone downloads, in bytes after brotli as released. The build
// fails above them. An everyday build compresses the cores quickly, to 1.14 times
// the size (1 283 856 against 1 124 888 bytes of one core), and is held to 1.15 times.
const quickly = isRelease ? 1 : 1.15;
const budgets = { page: 120_000, worker: 30_000, core: 1_150_000, sums: 1_300_000, sw: 3_000 };

const hashOf = (bytes) => createHash('sha256').update(bytes);
const shortHash = (bytes) => hashOf(bytes).digest('hex').slice(0, 10);
const brotli = (bytes, quality) =>
  brotliCompressSync(bytes, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: quality,
      [constants.BROTLI_PARAM_LGWIN]: 24,
      [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length,
    },
  });

await mkdir(out, { recursive: true });
for (const name of await readdir(out)) if (name !== '.gitkeep') await rm(join(out, name), { recursive: true });
await mkdir(join(out, 'assets'), { recursive: true });
await mkdir('build', { recursive: true });

// ship writes a file under its hashed name and gives the address.
async function ship(stem, ext, bytes) {
  const name = `assets/${stem}-${shortHash(bytes)}.${ext}`;
  await writeFile(join(out, name), bytes);
  return '/' + name;
}

// run has a program do its work and say what it likes.
function run(program, args, options = {}) {
  return new Promise((ok, no) => {
    const child = spawn(program, args, { stdio: 'inherit', ...options });
    child.once('error', no);
    child.once('exit', (code) => (code === 0 ? ok() : no(new Error(`${program} ended with ${code}`))));
  });
}

async function compile(name, folder) {
  await run('go', ['build', '-trimpath', '-ldflags=-s -w', '-o', `pwa/build/${name}.wasm`, folder], {
    cwd: resolve('..'),
    env: { ...process.env, GOOS: 'js', GOARCH: 'wasm' },
  });
}

// Go's own loader comes with the toolchain that made the core: they must match.
const goLoader = join(execFileSync('go', ['env', 'GOROOT']).toString().trim(), 'lib/wasm/wasm_exec.js');

const common = {
  bundle: true,
  minify: true,
  write: false,
  target: ['es2022', 'safari16.4'],
  format: 'esm',
  jsx: 'automatic',
  jsxImportSource: 'preact',
  legalComments: 'none',
  logLevel: 'warning',
  alias: { 'go-loader': goLoader },
};
const define = (more) => ({ __VERSION__: JSON.stringify(version), ...more });

async function bundle(entry, more, extra = {}) {
  const result = await build({ ...common, ...extra, entryPoints: [entry], outdir: 'build', define: define(more) });
  const pick = (ext) => result.outputFiles.find((f) => f.path.endsWith(ext))?.contents;
  return { js: pick('.js'), css: pick('.css') };
}

// wasm-opt takes a twelfth of its time off the core. It runs for half a minute, so what
// came of the same bytes is kept in build.
async function optimize(file) {
  const how = [
    '-O2',
    '--enable-bulk-memory',
    '--enable-sign-ext',
    '--enable-nontrapping-float-to-int',
    '--enable-mutable-globals',
  ];
  const kept = `build/${shortHash(Buffer.concat([await readFile(file), Buffer.from(how.join()), await readFile('node_modules/binaryen/package.json')]))}.wasm`;
  if (!existsSync(kept)) {
    for (const name of await readdir('build')) if (/^[0-9a-f]{10}\.wasm$/.test(name)) await rm(join('build', name));
    await run(process.execPath, [
      '--stack-size=4000',
      'node_modules/binaryen/bin/wasm-opt',
      ...how,
      file,
      '-o',
      kept + '.part',
    ]);
    await rename(kept + '.part', kept);
  }
  return readFile(kept);
}

await compile('core', './pwa/core');
const [core] = await Promise.all([optimize('build/core.wasm'), compile('sums', './pwa/core/sums')]);
const coreURL = await ship('core', 'wasm', core);
const sumsURL = await ship('sums', 'wasm', await readFile('build/sums.wasm'));
const worker = await bundle(
  'src/worker/main.ts',
  { __CORE__: JSON.stringify(coreURL), __SUMS__: JSON.stringify(sumsURL) },
  process.env.SHIM === undefined ? {} : { inject: [process.env.SHIM] },
);
const workerURL = await ship('worker', 'js', worker.js);
const main = await bundle(page, { __WORKER__: JSON.stringify(workerURL) });
const mainURL = await ship('main', 'js', main.js);
// The style is main.css beside the page's entry, unless the entry imports its own.
const sheet =
  main.css ?? (existsSync('src/app/main.css') ? (await bundle('src/app/main.css', {})).css : new Uint8Array());
const sheetURL = await ship('main', 'css', sheet);

const html = (await readFile('index.html', 'utf8'))
  .replace('/assets/main.js', mainURL)
  .replace('/assets/main.css', sheetURL);
await writeFile(join(out, 'index.html'), html);
await copyFile('manifest.webmanifest', join(out, 'manifest.webmanifest'));
for (const icon of ['icon.svg', 'icon-192.png', 'icon-512.png', 'icon-maskable.png'])
  await copyFile(join('icons', icon), join(out, icon));

const walk = async (dir) =>
  (
    await Promise.all(
      (await readdir(dir, { withFileTypes: true })).map((e) =>
        e.isDirectory() ? walk(join(dir, e.name)) : [join(dir, e.name)],
      ),
    )
  ).flat();
const shell = [];
for (const file of (await walk(out)).sort()) {
  if (file.endsWith('.gitkeep')) continue;
  shell.push(['/' + relative(out, file), hashOf(await readFile(file)).digest('base64')]);
}
const sw = await bundle(
  'src/sw/main.ts',
  { __SHELL__: JSON.stringify(shell), __BUILD__: JSON.stringify(shortHash(JSON.stringify(shell) + version)) },
  { format: 'iife' },
);
await writeFile(join(out, 'sw.js'), sw.js);

const sizes = {};
for (const file of await walk(out)) {
  if (file.endsWith('.gitkeep')) continue;
  const bytes = await readFile(file),
    isCore = file.endsWith('.wasm');
  const small = brotli(bytes, isRelease || !isCore ? 11 : 9),
    gz = gzipSync(bytes, { level: 9 });
  await writeFile(file + '.br', small);
  await writeFile(file + '.gz', gz);
  sizes[relative(out, file)] = { raw: bytes.length, gz: gz.length, br: small.length };
}

const kinds = {
  core: /core-.*wasm$/,
  sums: /sums-.*wasm$/,
  worker: /worker-.*js$/,
  page: /main-.*(js|css)$/,
  sw: /^sw\.js$/,
};
let isOver = false;
for (const [kind, pattern] of Object.entries(kinds)) {
  const files = Object.entries(sizes).filter(([name]) => pattern.test(name));
  const sum = (field) => files.reduce((total, [, size]) => total + size[field], 0);
  const limit = Math.round(budgets[kind] * (kind === 'core' || kind === 'sums' ? quickly : 1));
  const over = sum('br') > limit;
  isOver ||= over;
  console.log(
    `${kind.padEnd(7)} ${sum('raw')} bytes, gzip ${sum('gz')}, brotli ${sum('br')} of ${limit}${over ? '  OVER BUDGET' : ''}`,
  );
}
console.log(`shell   ${shell.length} files, version ${version}`);
if (isOver) process.exitCode = 1;
