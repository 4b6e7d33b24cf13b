import assert from 'node:assert/strict';
import { test } from 'node:test';
import { levelOptions } from './level';

test('the level the rule asks for is marked in words', () => {
  const got = levelOptions({ purge: 'Purge', full: 'Full clean' }, { purge: 'gun and hose' }, 'full', 'needed');
  assert.deepEqual(got, [
    { value: 'purge', label: 'Purge', note: 'gun and hose' },
    { value: 'full', label: 'Full clean · needed', note: '' },
  ]);
});
