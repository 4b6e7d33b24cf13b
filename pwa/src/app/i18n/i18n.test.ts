import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { dotted } from '../../testing/go-source';
import { valueWord } from '../sums/words';
import { checkCodes, specs } from '../task/specs';
import { codes, groups } from './codes';
import { en } from './en';
import { es } from './es';

const langs = ['en', 'es'] as const;

test('every code says what it is and, where a person can act, what to do next, in both languages', () => {
  for (const [group, rows] of Object.entries(groups)) {
    for (const code of Object.keys(rows)) {
      for (const lang of langs) {
        const a = codes[code]?.[lang];
        assert.ok(a !== undefined && a.says.length > 3, `${code} says nothing in ${lang}`);
        assert.ok(a.says.length <= 70, `${code} is too long for a line in ${lang}: ${a.says.length}`);
        if (group !== 'limits')
          assert.ok(a.next.length > 3 && a.next.endsWith('.'), `${code} has no next step in ${lang}`);
      }
      assert.notEqual(codes[code]?.en.says, codes[code]?.es.says, `${code} is not translated`);
    }
  }
});

test('a code stands in one group only', () => {
  const all = Object.values(groups).flatMap((rows) => Object.keys(rows));
  assert.equal(new Set(all).size, all.length);
});

// The core's own words: what Go may send must have words here.
const go = (dir: string) =>
  readdirSync(new URL(dir, root))
    .filter((f) => f.endsWith('.go') && !f.endsWith('_test.go'))
    .map((f) => readFileSync(new URL(dir + f, root), 'utf8'))
    .join('\n');
const root = new URL('../../domain/', `file://${process.cwd()}/src/`); // tests run from pwa/
const matches = (text: string, re: RegExp) => [...new Set([...text.matchAll(re)].map((m) => m[1] ?? ''))];

test('every reason for cleaning in the core has words', () => {
  const found = matches(go('booth/'), /Reason\w+\s+Code = "([^"]+)"/g);
  assert.ok(found.length >= 10, 'the source was read');
  for (const code of found) assert.ok(codes[code], code);
});

test('every form error, warning and issue in the core has words', () => {
  const shop = ['shop/', 'view/', 'task/'].map(go).join('\n');
  const found = [
    ...matches(shop, /"(form\.[a-z_]+)"/g),
    ...matches(shop, /\.warn\("([a-z_]+)"/g),
    ...matches(shop, /\.issue\("([a-z_]+)"/g),
    ...matches(shop, /Code: "([a-z_]+)"/g),
    ...matches(shop, /b\.Why = "([a-z_]+)"/g),
    ...matches(shop, /return Held, "([a-z_]+)"/g),
  ];
  assert.ok(found.length >= 25, `only ${found.length} found`);
  for (const code of found) assert.ok(codes[code], code);
});

test('every refusal of the server and every reason an entry is held or refused has words', () => {
  const top = new URL('../', root);
  const read = (path: string) => readFileSync(new URL(path, top), 'utf8');
  const found = [
    ...matches(read('server/api/problem.go'), /\{"([a-z_]+\.[a-z_]+)", \d+/g),
    ...matches(read('server/auth/auth.go'), /Code\w+\s+= "([a-z_.]+)"/g),
    ...matches(read('sync/hub/hub.go'), /= "(entry\.[a-z_]+)"/g),
    ...matches(go('../sync/entry/'), /Code = "(entry\.[a-z_]+)"/g),
    ...matches(go('form/'), /Code = "(field\.[a-z_]+)"/g),
  ];
  assert.ok(found.length >= 40, `only ${found.length} found`);
  for (const code of found) assert.ok(codes[code], code);
});

test('every problem that the phone itself raises has words', () => {
  const src = new URL('../pwa/src/', root);
  const dirs = ['worker/', 'shared/', 'bridge/'];
  const text = dirs
    .flatMap((d) =>
      readdirSync(new URL(d, src))
        .filter((f) => f.endsWith('.ts') && !f.includes('.test.'))
        .map((f) => readFileSync(new URL(d + f, src), 'utf8')),
    )
    .join('\n');
  const found = [
    ...matches(text, /ProblemError\('([a-z_.]+)'/g),
    ...matches(go('../pwa/core/phone/'), /Code: "([a-z_.]+)"/g),
  ];
  assert.ok(found.length >= 5, `only ${found.length} found`);
  for (const code of found) assert.ok(codes[code], code);
});

// Whatever looks like a code in the source of the core is one that may reach a screen,
// unless it stands here.
test('every code with a dot in it has words', () => {
  const dirs = [
    'booth',
    'coating',
    'form',
    'gun',
    'kind',
    'ledger',
    'measure',
    'reclaim',
    'reconcile',
    'shop',
    'stock',
    'task',
    'view',
  ].map((d) => `domain/${d}`);
  const isOther = (code: string) =>
    code.startsWith('text.') || // of typed quantities: the form has codes of its own for them
    /^(film_um10|clock|seen)\.(min|target|max|wall_ms|mono_ms|segment|epoch|seq)$/.test(code) ||
    ['room.day', 'room.temp_dc', 'from.lab', 'to.lab'].includes(code); // where a fault lies
  const found = [...dirs, 'pwa/core/sums', 'pwa/core/phone', 'sync/entry', 'sync/hub', 'server/auth']
    .flatMap(dotted)
    .filter((code) => !isOther(code));
  assert.ok(found.length > 150, `only ${found.length} found`);
  const words = (code: string) =>
    [codes[code], en.kinds[code], en.tasks[code], valueWord('', code, 'en')].some((w) => w !== undefined);
  assert.deepEqual(
    found.filter((code) => !words(code)),
    [],
  );
});

test('every limit of a blend has words', () => {
  const found = matches(go('reclaim/'), /Limit\w+\s+Limit = "([a-z]+)"/g);
  assert.ok(found.length >= 5);
  for (const code of found) assert.ok(codes[`limit.${code}`], code);
});

test('every fact the core prints has a label', () => {
  const names = matches(go('kind/'), /v\.\w+\("([a-z0-9_]+)", &b\.\w+/g);
  assert.ok(names.length > 40);
  const hidden = new Set(['run', 'change', 'entry', 'min', 'target', 'max']); // printed under another name or not at all
  assert.deepEqual(
    names.filter((n) => !hidden.has(n) && (en.facts[n] === undefined || es.facts[n] === undefined)),
    [],
  );
});

test('every field of a plain form has a label, every check a word', () => {
  for (const w of [en, es]) {
    for (const [task, fields] of Object.entries(specs))
      for (const f of fields) assert.ok(w.fields[`${task}:${f.name}`] ?? w.fields[f.name], `${task}.${f.name}`);
    for (const c of checkCodes) assert.ok(w.checks[c], c);
  }
});

// same walks both dictionaries: the same keys, nothing empty, tables of words included.
function same(a: unknown, b: unknown, path: string): void {
  assert.equal(typeof a, typeof b, path);
  if (typeof a === 'string') {
    assert.ok(a !== '' && b !== '', `${path} is empty`);
    return;
  }
  if (typeof a !== 'object' || a === null || typeof b !== 'object' || b === null) return;
  assert.deepEqual(Object.keys(b).sort(), Object.keys(a).sort(), path);
  const left: Readonly<Record<string, unknown>> = { ...a },
    right: Readonly<Record<string, unknown>> = { ...b };
  for (const key of Object.keys(left)) same(left[key], right[key], `${path}.${key}`);
}

test('both dictionaries have the same keys and no empty words', () => same(en, es, 'words'));

test('one and many differ where the language says so', () => {
  assert.deepEqual([0, 1, 2].map(en.passes), ['virgin', '1 pass', '2 passes']);
  assert.deepEqual([0, 1, 2].map(es.passes), ['virgen', '1 pasada', '2 pasadas']);
});
