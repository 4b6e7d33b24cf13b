import assert from 'node:assert/strict';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { test } from 'node:test';

const root = join(process.cwd(), 'src'); // tests run from pwa/
const isSource = (file: string) => /\.tsx?$/.test(file) && !file.includes('.test.');
const sources = readdirSync(root, { recursive: true, encoding: 'utf8' })
  .filter(isSource)
  .map((file) => join(root, file));

// importsOf lists the files that a file names, types among them.
function importsOf(file: string): string[] {
  const named = [...readFileSync(file, 'utf8').matchAll(/from '(\.[^']+)'/g)].map((m) =>
    join(dirname(file), m[1] ?? ''),
  );
  return named.flatMap((path) => ['.ts', '.tsx'].map((ext) => path + ext).filter((found) => existsSync(found)));
}

test('no file comes back to itself by what it imports', () => {
  assert.ok(sources.length > 100, `only ${sources.length} files were found`);
  const imports = new Map(sources.map((file) => [file, importsOf(file)]));
  const done = new Set<string>();
  const walk = (file: string, way: readonly string[]): void => {
    const at = way.indexOf(file);
    assert.equal(at, -1, [...way.slice(at), file].map((f) => relative(root, f)).join(' → '));
    if (done.has(file)) return;
    for (const next of imports.get(file) ?? []) walk(next, [...way, file]);
    done.add(file);
  };
  for (const file of sources) walk(file, []);
});
