import assert from 'node:assert/strict';
import { test } from 'node:test';
import { textOf, type Way } from './scan';

const gs = '\u001d';
const rows: [string, string, Way, string][] = [
  ['a label without extras stays as it is', 'W-0412', 'typed', 'W-0412'],
  ['the identifier of Code 128 in front is no part of it', ']C110ABC', 'pasted', '10ABC'],
  ['nor is that of a Data Matrix', ']d2', 'typed', ''],
  ['nor of a QR code behind what stood there', 'old ]Q3new', 'pasted', 'old new'],
  ['keys too quick for a hand are a scanner’s', 'W-04]C1', 'quick', 'W-04'],
  ['a hand may type brackets', 'Rail [2]B3', 'typed', 'Rail [2]B3'],
  ['a separator between two parts becomes a space', `10ABC${gs}17261231`, 'pasted', '10ABC 17261231'],
  ['a separator in front is gone', `${gs}10ABC`, 'pasted', '10ABC'],
  ['so is one between identifier and text', `]C1${gs}10ABC`, 'pasted', '10ABC'],
  ['line ends of a scanner are gone too', 'ABC\r', 'pasted', 'ABC '],
];
for (const [name, typed, way, want] of rows) test(name, () => assert.equal(textOf(typed, way), want));

test('a long text keeps its lines', () => {
  assert.equal(textOf(`0 25\n9 180${gs}`, 'pasted', true), '0 25\n9 180 ');
  assert.equal(textOf('\n0 25', 'typed', true), '\n0 25');
});
