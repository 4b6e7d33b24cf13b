import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { calcAbout, calcNames, calcTitle, fieldWord, valueWord } from './words';

const dir = new URL('../../domain/calc/', `file://${process.cwd()}/src/`); // tests run from pwa/
const source = readdirSync(dir).filter((f) => f.endsWith('.go') && !f.endsWith('_test.go')).map((f) => readFileSync(new URL(f, dir), 'utf8')).join('\n');

test('every calculation of the core has a title in both languages and a sentence in Spanish', () => {
  const names = [...source.matchAll(/Name:\s+"([a-z]+\.[a-z-]+)"/g)].map((m) => m[1] ?? '');
  assert.ok(names.length >= 30, `${names.length} found`);
  for (const name of names) {
    assert.ok(calcTitle(name, 'en') !== undefined && calcTitle(name, 'es') !== undefined, name);
    assert.ok(calcAbout(name, 'es')?.endsWith('.'), name);
  }
  assert.deepEqual(calcNames.filter((n) => !names.includes(n)), [], 'words for a calculation that is gone');
});

test('a word is found by language, an unknown one is not made up', () => {
  assert.equal(fieldWord('holds_mg', 'es'), 'Contiene ahora');
  assert.equal(valueWord('hose.surges', 'en'), 'surges');
  assert.equal(fieldWord('nothing', 'en'), undefined);
});
