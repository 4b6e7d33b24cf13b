import assert from 'node:assert/strict';
import { test } from 'node:test';
import { withDeviation } from './figures';

test('a figure carries its uncertainty when there is one', () => {
  assert.equal(withDeviation('62 %', '3 %'), '62 % ± 3 %');
  assert.equal(withDeviation('62 %', ''), '62 %');
});

test('an uncertainty alone says nothing', () => assert.equal(withDeviation('', '3 %'), ''));
