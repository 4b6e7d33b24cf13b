import assert from 'node:assert/strict';
import { test } from 'node:test';
import { offBy, phoneName } from './phone';

const numbered = (n: number) => `Phone ${n}`;
test('a phone is called by its name, else by its number', () => {
  assert.equal(phoneName({ name: 'Booth 1', number: 3 }, numbered), 'Booth 1');
  assert.equal(phoneName({ name: '', number: 3 }, numbered), 'Phone 3');
});

const rows: [string, number, string][] = [
  ['a clock two days ahead', -172_800_000, '+2 d'],
  ['a clock seven minutes behind', 420_000, '-7 min'],
  ['a clock 90 s ahead', -90_000, '+90 s'],
  ['a clock five hours behind', 18_000_000, '-5 h'],
];
for (const [name, offset, want] of rows) test(name, () => assert.equal(offBy(offset), want));
