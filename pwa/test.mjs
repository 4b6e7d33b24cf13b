// Bundles every src/**/*.test.ts into build/test and runs them with node --test:
// `npm test`, or `node test.mjs PATTERN` for those whose path contains it.
import { build } from 'esbuild';
import { spawnSync } from 'node:child_process';
import { readdirSync, rmSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

process.chdir(fileURLToPath(new URL('.', import.meta.url)));
const pattern = process.argv[2] ?? '';
const entries = readdirSync('src', { recursive: true })
  .map(String)
  .filter((f) => /\.test\.tsx?$/.test(f) && f.includes(pattern))
  .map((f) => join('src', f));
if (entries.length === 0) throw new Error(`no test file matches ${pattern}`);
rmSync('build/test', { recursive: true, force: true });
await build({
  entryPoints: entries,
  outdir: 'build/test',
  outbase: 'src',
  outExtension: { '.js': '.mjs' },
  bundle: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  jsx: 'automatic',
  jsxImportSource: 'preact',
  sourcemap: 'inline',
  logLevel: 'warning',
  define: { __VERSION__: '"test"', __CORE__: '"/core.wasm"', __SUMS__: '"/sums.wasm"', __WORKER__: '"/worker.js"' },
});
const files = entries.map((f) => join('build/test', relative('src', f).replace(/\.tsx?$/, '.mjs')));
const run = spawnSync('node', ['--enable-source-maps', '--test', ...files], { stdio: 'inherit' });
process.exit(run.status ?? 1);
