import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { test } from 'node:test';
import type { Description, Field, Output } from '../../bridge/types.gen';
import { codes } from '../i18n/codes';
import { en } from '../i18n/en';
import { constants, dotted } from '../../testing/go-source';
import { isInstant, shownUnit } from './model';
import { calcAbout, calcNames, calcTitle, fieldWord, resultWord, valueWord } from './words';

// What every calculation takes and answers, as the core itself describes it. Tests run from pwa/.
const print = execFileSync('go', ['run', './pwa/gen', '-calcs'], { cwd: '..', maxBuffer: 1 << 26 });
const calcs = JSON.parse(print.toString()) as Description[];
const langs = ['en', 'es'] as const;

// every walks over fields, also inside of lists and objects; a list of plain values has none.
function every<T extends Field | Output>(fields: readonly T[], see: (f: T) => void): void {
  for (const f of fields) {
    if (f.name !== '') see(f);
    every((f.of ?? []) as T[], see);
  }
}

// known tells whether a code has words for people in both languages, in a calculation.
function known(calc: string, code: string): boolean {
  const tables: Readonly<Record<string, string>>[] = [en.levels, en.modes, en.chemistries, en.finishes, en.roles];
  const isShared = tables.some((t) => t[code] !== undefined) || codes[code] !== undefined;
  const isField = /_|^(kv|ua)$/.test(code); // what to set, by the name of the field
  const word = (lang: 'en' | 'es') => valueWord(calc, code, lang) ?? (isField ? fieldWord(code, lang) : undefined);
  return isShared || langs.every((lang) => word(lang) !== undefined);
}

test('every calculation of the core has a title in both languages and a sentence in Spanish', () => {
  assert.ok(calcs.length >= 38, `${calcs.length} found`);
  for (const { name } of calcs) {
    assert.ok(
      langs.every((lang) => calcTitle(name, lang) !== undefined),
      name,
    );
    assert.ok(calcAbout(name, 'es')?.endsWith('.'), name);
  }
  const gone = calcNames.filter((n) => !calcs.some((c) => c.name === n));
  assert.deepEqual(gone, [], 'words for a calculation that is gone');
});

test('every group of calculations has a title', () => {
  for (const { name } of calcs) assert.ok(en.sums.groups[name.split('.')[0] ?? ''], name);
});

test('every field and result has words in both languages, and no code among them', () => {
  for (const c of calcs) {
    for (const lang of langs) {
      every(c.inputs, (f) => assert.ok(fieldWord(f.name, lang), `${c.name}: ${f.name} in ${lang}`));
      every(c.outputs, (o) => assert.ok(resultWord(c.name, o.name, lang), `${c.name}: result ${o.name} in ${lang}`));
    }
  }
});

test('units are signs, or the label says them', () => {
  for (const c of calcs) {
    const isSign = (f: Field | Output) => isInstant(f) || !/[a-z]{4}/i.test(shownUnit(f).unit);
    for (const fields of [c.inputs, c.outputs])
      every<Field | Output>(fields, (f) => assert.ok(isSign(f), `${c.name}: ${f.name}`));
  }
});

test('every choice of a calculation has words', () => {
  for (const c of calcs) {
    every(c.inputs, (f) => {
      for (const o of f.options ?? []) assert.ok(known(c.name, o), `${c.name}: ${f.name} ${o}`);
    });
  }
});

// Codes that the packages of the trade answer stand in the Go source as constants, or
// with a dot in them.
const trade = ['booth', 'coating', 'gun', 'reclaim', 'reconcile', 'stock'];

test('every code that the trade’s packages answer has words', () => {
  const found = trade.flatMap((dir) => [...constants(`domain/${dir}`), ...dotted(`domain/${dir}`)]);
  const paths = new Set(['room.day', 'room.temp_dc']); // where in the input a fault lies: the screen leads there
  assert.ok(found.length > 80, `${found.length} found`);
  assert.deepEqual(
    found.filter((code) => !paths.has(code) && !calcs.some((c) => known(c.name, code))),
    [],
  );
});

test('a word is found by language, an unknown one is not made up, and a result may have its own', () => {
  assert.equal(fieldWord('holds_mg', 'es'), 'Contiene ahora');
  assert.equal(valueWord('gun.hose', 'hose.surges', 'en'), 'surges');
  assert.equal(fieldWord('nothing', 'en'), undefined);
  assert.equal(fieldWord('reclaim_mg', 'en'), 'Reclaim there');
  assert.equal(resultWord('reclaim.charge', 'reclaim_mg', 'en'), 'Reclaim to put in');
  assert.equal(valueWord('coating.cure', 'over', 'en'), 'too much');
});
