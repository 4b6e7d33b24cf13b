import assert from 'node:assert/strict';
import { test } from 'node:test';
import { perMille, withDeviation } from './figures';

test('a figure carries its uncertainty when there is one', () => {
  assert.equal(withDeviation('62 %', '3 %'), '62 % ± 3 %');
  assert.equal(withDeviation('62 %', ''), '62 %');
});

test('an uncertainty alone says nothing', () => assert.equal(withDeviation('', '3 %'), ''));

test('a share in percent is read to the tenth, with a point or a comma', () => {
  for (const [text, pm] of [
    ['', 0],
    ['2.5', 25],
    ['2,5 %', 25],
    ['.5', 5],
    ['100', 1000],
    ['100.1', null],
    ['-1', null],
    ['x', null],
    ['1.2.3', null],
  ] as const)
    assert.equal(perMille(text), pm, text);
});
