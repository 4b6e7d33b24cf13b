import assert from 'node:assert/strict';
import { test } from 'node:test';
import { crewFor, levelOptions } from './level';

test('the level the rule asks for is marked in words', () => {
  const got = levelOptions({ purge: 'Purge', full: 'Full clean' }, { purge: 'gun and hose' }, 'full', 'needed');
  assert.deepEqual(got, [{ value: 'purge', label: 'Purge', note: 'gun and hose' }, { value: 'full', label: 'Full clean · needed', note: '' }]);
});

test('a person’s own crew counts before the expected one', () => {
  assert.equal(crewFor('3', '2'), '3');
  assert.equal(crewFor('', '2'), '2');
  assert.equal(crewFor('', undefined), '');
});
