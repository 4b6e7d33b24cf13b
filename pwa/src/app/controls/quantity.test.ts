import assert from 'node:assert/strict';
import { test } from 'node:test';
import { asList, join, lastOf, press, readings, shift, split } from './quantity';

test('a mass is taken apart into figure and unit', () => {
  assert.deepEqual(split('12,5 kg', ['kg', 'g']), { figure: '12,5', unit: 'kg' });
  assert.deepEqual(split('500 g', ['kg', 'g']), { figure: '500', unit: 'g' });
  assert.deepEqual(split('500g', ['kg', 'g']), { figure: '500', unit: 'g' });
  assert.deepEqual(split('0.5 m²', ['m²', 'cm²']), { figure: '0.5', unit: 'm²' });
  assert.deepEqual(split('7 cm²', ['m²', 'cm²']), { figure: '7', unit: 'cm²' });
});

test('a figure without a unit gets the first one', () => {
  assert.deepEqual(split('12', ['kg', 'g']), { figure: '12', unit: 'kg' });
  assert.deepEqual(split('', ['kg', 'g']), { figure: '', unit: 'kg' });
});

test('pounds typed before the units were switched stay pounds', () => {
  assert.deepEqual(split('27.5 lb', ['kg', 'g']), { figure: '27.5', unit: 'lb' });
});

test('nothing typed is nothing said', () => {
  assert.equal(join('  ', 'kg'), '');
  assert.equal(join('3', 'kg'), '3 kg');
  assert.equal(join('3', ''), '3');
});

const keys: [string, string, string][] = [
  ['a figure takes one decimal mark only', '12.5..', '12.5'],
  ['a mark first is nought and a mark', ',5', '0,5'],
  ['a leading nought gives way', '07', '7'],
  ['readings are parted by one space, each with its own mark', '72.5  68.1', '72.5 68.1'],
  ['a sign is turned, of the last figure only', '12 5-', '12 -5'],
  ['a sign turned twice is gone', '5--', '5'],
  ['a mark after a sign is nought and a mark', '-,5', '-0,5'],
  ['taking away works on the last character', '12<3', '13'],
];
for (const [name, pressed, want] of keys) {
  test(name, () => assert.equal([...pressed].reduce(press, ''), want));
}

test('readings typed one after the other stay apart, by pad and by keyboard', () => {
  const typed = [...'2.4 2.6 2.5'].reduce((was, key) => asList(was + key), '');
  assert.equal(typed, '2.4 2.6 2.5');
  assert.equal(
    [...'68 72 70'].reduce((was, key) => asList(press(was, key)), ''),
    '68 72 70',
  );
  assert.equal(asList('  '), '');
  assert.equal(asList(' 68 '), '68 ');
  assert.deepEqual(['', '68', '68 ', '68;72  70'].map(readings), [0, 1, 1, 3]);
});

test('of a long list its end is shown', () => {
  assert.equal(lastOf('68 72'), '68 72');
  assert.equal(lastOf('68 72 70 69.5 71 '), '… 72 70 69.5 71');
});

const shifts: [string, number, boolean, string | null][] = [
  ['12,5', 6, true, '12500000'],
  ['0.000001', 6, true, '1'],
  ['0.0000001', 6, true, null],
  ['30', 1, true, '300'],
  ['12500000', -6, false, '12.5'],
  ['5', -1, false, '0.5'],
  ['0', 6, true, '0'],
  ['-3.5', 1, true, '-35'],
  ['1e3', 6, true, null],
  ['', 1, true, null],
];
for (const [figure, n, isWhole, want] of shifts) {
  test(`"${figure}" moved ${n} places is ${want}`, () => assert.equal(shift(figure, n, isWhole), want));
}
