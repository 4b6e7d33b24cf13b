import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isWhole, press } from './pin';

const rows: [string, string, string, string][] = [
  ['a digit is added', '12', '3', '123'],
  ['letters and blanks are not', '12', ' a3', '123'],
  ['a seventh digit is not', '123456', '7', '123456'],
  ['what was pasted is cut', '', '1234 5678', '123456'],
];
for (const [name, was, typed, want] of rows) test(name, () => assert.equal(press(was, typed), want));
test('whole is four to six', () => assert.deepEqual(['123', '1234', '123456'].map(isWhole), [false, true, true]));
