import assert from 'node:assert/strict';
import { test } from 'node:test';
import { build, outText, pathOf, range, seed, type Field } from './model';

const fields: Field[] = [
  { name: 'want_mg', type: 'mass', unit: 'mg', min: 0, max: 2 ** 53 - 1 },
  { name: 'share_pm', type: 'int', unit: '‰', min: 0, max: 1000 },
  { name: 'note', type: 'text', optional: true },
  { name: 'spots', type: 'list', unit: 'µm·10', min: 1, max: 9, of: [{ name: '', type: 'int', unit: 'µm·10' }] },
  {
    name: 'lots',
    type: 'list',
    optional: true,
    of: [
      { name: 'lot', type: 'id' },
      { name: 'mass_mg', type: 'mass', unit: 'mg' },
      { name: 'held', type: 'bool', optional: true },
    ],
  },
];

test('kilograms become whole milligrams and percent becomes per mille, by moving the mark', () => {
  const { input, faults } = build(fields, { want_mg: '12,5', share_pm: '30', spots: '72 68.5' });
  assert.deepEqual(input, { want_mg: 12_500_000, share_pm: 300, spots: [720, 685] });
  assert.deepEqual(faults, []);
});

test('what is missing or no figure is named', () => {
  const { faults } = build(fields, { want_mg: 'much' });
  assert.deepEqual(faults, [
    { path: 'want_mg', code: 'form.number' },
    { path: 'share_pm', code: 'form.missing' },
    { path: 'spots', code: 'form.missing' },
  ]);
});

test('the example fills the form and comes out of it unchanged', () => {
  const example = {
    want_mg: 20_000_001,
    share_pm: 305,
    spots: [600],
    lots: [
      { lot: 'A', mass_mg: 1, held: true },
      { lot: 'B', mass_mg: 5_000_000 },
    ],
  };
  const { input, faults } = build(fields, seed(fields, example, '.'));
  assert.deepEqual(input, example);
  assert.deepEqual(faults, []);
});

test('figures stand with the mark of the person, and are read with either', () => {
  const typed = seed(fields, { want_mg: 12_500_000, share_pm: 305, spots: [685] }, ',');
  assert.deepEqual([typed['want_mg'], typed['share_pm'], typed['spots']], ['12,5', '30,5', '68,5']);
  assert.deepEqual(build(fields, typed).input, { want_mg: 12_500_000, share_pm: 305, spots: [685] });
  assert.equal(outText({ type: 'int', unit: '‰' }, 305, ','), '30,5 %');
});

test('a list that may be empty is left out when it is', () => {
  assert.equal('lots' in build(fields, { want_mg: '1', share_pm: '0', spots: '1' }).input, false);
});

test('outputs are shown in people’s units', () => {
  assert.equal(outText({ type: 'int', unit: '‰' }, 305, '.'), '30.5 %');
  assert.equal(outText({ type: 'float', unit: 'd' }, 8.3333333, '.'), '8.33333 d');
  assert.equal(outText({ type: 'text' }, 'share', '.'), 'share');
  assert.equal(outText({ type: 'text' }, undefined, '.'), '');
});

test('a range is told in the unit of the field', () => {
  assert.equal(range(fields[1] ?? { name: '', type: '' }, '.'), '0–100 %');
  assert.equal(range(fields[0] ?? { name: '', type: '' }, '.'), '');
});

test('what the core complains of is found on the screen', () => {
  assert.equal(pathOf(fields, 'lots[1].mass_mg'), 'lots.1.mass_mg');
  assert.equal(pathOf(fields, 'spots[3]'), 'spots', 'a list typed in one field');
  assert.equal(pathOf(fields, 'want_mg'), 'want_mg');
  assert.equal(pathOf(fields, 'nothing'), '');
});

test('a moment is a day, and none is nothing', () => {
  const f = { type: 'int', unit: 'ms since 1970-01-01 UTC' };
  assert.equal(outText(f, Date.parse('2026-03-31T12:00:00Z'), '.'), '2026-03-31');
  assert.equal(outText(f, 0, '.'), '');
});
