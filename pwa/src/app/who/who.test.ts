import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { SeatView } from '../../bridge/api';
import { isWhole, press, shouldChoosePin } from './pin';

const rows: [string, string, string, string][] = [
  ['a digit is added', '12', '3', '123'],
  ['letters and blanks are not', '12', ' a3', '123'],
  ['a seventh digit is not', '123456', '7', '123456'],
  ['what was pasted is cut', '', '1234 5678', '123456'],
];
for (const [name, was, typed, want] of rows) test(name, () => assert.equal(press(was, typed), want));
test('whole is four to six', () => assert.deepEqual(['123', '1234', '123456'].map(isWhole), [false, true, true]));

const seat = (id: string, role: SeatView['role'], hasPin = false): SeatView => ({
  id,
  name: id,
  role,
  isHere: false,
  isOver: false,
  isMoment: false,
  hasPin,
  pinDigits: null,
  waitMs: 0,
});
test('a PIN is asked of whoever shares the phone and has none, and never of a manager', () => {
  const ana = { id: 'ana', role: 'coater' as const },
    mia = { id: 'mia', role: 'manager' as const };
  assert.equal(shouldChoosePin(ana, []), false);
  assert.equal(shouldChoosePin(ana, [seat('ana', 'coater')]), false);
  assert.equal(shouldChoosePin(ana, [seat('bo', 'clerk')]), true);
  assert.equal(shouldChoosePin(ana, [seat('mia', 'manager')]), true);
  assert.equal(shouldChoosePin(ana, [seat('bo', 'clerk'), seat('ana', 'coater', true)]), false);
  assert.equal(shouldChoosePin(mia, [seat('bo', 'clerk')]), false);
});
