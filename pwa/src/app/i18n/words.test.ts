import assert from 'node:assert/strict';
import { test } from 'node:test';
import { advise, ago, dateWords, percent } from './i18n';

const ages: [number, string][] = [
  [-5, '0 s'],
  [59_999, '59 s'],
  [60_000, '1 min'],
  [3_599_000, '59 min'],
  [3_600_000, '1 h'],
  [47 * 3_600_000, '47 h'],
  [48 * 3_600_000, '2 d'],
];
for (const [ms, want] of ages) test(`${ms} ms is ${want}`, () => assert.equal(ago(ms), want));

test('a code nobody knows still says something and shows itself', () => {
  assert.match(advise('quite_new', 'es').says, /atención.*quite_new/);
  assert.ok(advise('quite_new', 'en').next !== '');
});

test('a day without a zone stays that day', () => {
  assert.equal(dateWords('2026-12-31', 'en'), '31 Dec 2026');
  assert.equal(dateWords('soon', 'en'), 'soon');
});

test('shares are printed in whole percent unless a tenth matters', () => {
  assert.equal(percent(300, 'en'), '30%');
  assert.equal(percent(305, 'en'), '30.5%');
});
