import assert from 'node:assert/strict';
import { test } from 'node:test';
import { inkOn, luminance } from './ink';

const rows: [string, string, string][] = [
  ['white powder takes black ink', '#ffffff', '#000000'],
  ['black powder takes white ink', '#000000', '#ffffff'],
  ['a deep blue takes white ink', '#123a6b', '#ffffff'],
  ['a signal yellow takes black ink', '#f5c400', '#000000'],
];
for (const [name, colour, ink] of rows) test(name, () => assert.equal(inkOn(colour), ink));

test('the chosen ink reaches 4.5:1 on every grey', () => {
  for (let v = 0; v < 256; v++) {
    const c = '#' + v.toString(16).padStart(2, '0').repeat(3),
      y = luminance(c);
    const ratio = inkOn(c) === '#000000' ? (y + 0.05) / 0.05 : 1.05 / (y + 0.05);
    assert.ok(ratio >= 4.5, `${c}: ${ratio.toFixed(2)}`);
  }
});

test('a text that is no colour counts as white', () => assert.equal(luminance('teal'), 1));
