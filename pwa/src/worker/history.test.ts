import assert from 'node:assert/strict';
import { test } from 'node:test';
import { reachesBack } from './history';

test('only what may lie behind the window is asked of the server', () => {
  assert.equal(reachesBack('trace', { runs: [] }), true, 'a lot may be on parts of any year');
  assert.equal(reachesBack('run', { run: 'r' }), false);
  assert.equal(reachesBack('run', undefined), true, 'a run that this phone does not list');
  assert.equal(reachesBack('entries', []), true);
  assert.equal(reachesBack('entries', new Array(200).fill({})), false, 'a full list ends inside the window');
  assert.equal(reachesBack('booth', {}), false);
});
