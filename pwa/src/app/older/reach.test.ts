import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { EntryView, TraceView, Views } from '../../bridge/api';
import { isCut, rowsMax } from './reach';

const trace = (more: Partial<TraceView>) => ({ runs: [], ...more }) as unknown as TraceView;
const entries = (...ids: string[]) => ids.map((id) => ({ id }) as EntryView);

test('only an answer that earlier runs may belong to is cut', () => {
  assert.equal(isCut('trace', { lot: 'l' }, trace({ cut_ms: 1 })), true);
  assert.equal(isCut('trace', { lot: 'l' }, trace({})), false);
});

test('what this phone does not list may be at the server', () => {
  assert.equal(isCut('run', { run: 'r' }, undefined), true);
  assert.equal(isCut('run', { run: 'r' }, { run: 'r' } as Views['run']), false);
});

test('a list of entries is cut unless it is full, one entry unless it is here', () => {
  assert.equal(isCut('entries', {}, []), true);
  const full = entries(...Array.from({ length: rowsMax }, String));
  assert.equal(isCut('entries', {}, full), false, 'a full list ends inside the window');
  assert.equal(isCut('entries', { entry: 'b' }, entries('a')), true);
  assert.equal(isCut('entries', { entry: 'a' }, entries('b', 'a')), false);
});
