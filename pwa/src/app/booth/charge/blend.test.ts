import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { BestBlend } from '../../../bridge/api';
import { isBlendTaken, takeBlend } from './blend';

const best = (virgin: number, reclaim: number): BestBlend => ({
  virgin: { mg: virgin, text: `${virgin} kg` },
  reclaim: { mg: reclaim, text: `${reclaim} kg` },
  lot: 'l1',
  from: 's1',
  bin: 'b1',
  ratio: '70:30',
  reclaim_pm: 300,
  binding: 'share',
});

test('the whole blend goes into the form as the core wrote it', () => {
  assert.deepEqual(takeBlend(best(7, 3)), { virgin: '7 kg', reclaim: '3 kg', lot: 'l1', shelf: 's1', bin: 'b1' });
});

test('a blend without reclaim leaves no bin behind', () => {
  assert.deepEqual(takeBlend(best(7, 0)), { virgin: '7 kg', reclaim: '', lot: 'l1', shelf: 's1', bin: '' });
});

test('it counts as taken only while both amounts stand', () => {
  assert.equal(isBlendTaken(takeBlend(best(7, 3)), best(7, 3)), true);
  assert.equal(isBlendTaken({ ...takeBlend(best(7, 3)), virgin: '8 kg' }, best(7, 3)), false);
  assert.equal(isBlendTaken({}, best(0, 0)), false);
});
