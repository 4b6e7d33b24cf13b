import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { BoothView, ChangeView, RunView, VesselView } from '../../bridge/api';
import { actionsFor } from './actions';

const view = (more: Partial<BoothView>): BoothView => ({
  booths: [],
  booth: { id: 'b1', name: 'Booth 1' },
  bins: [],
  recent: [],
  attention: [],
  powders: [],
  ...more,
});
const run = { run: 'r1' } as RunView; // only the id matters here
const feed = { place: 'h1' } as VesselView;
const change = { change: 'c1' } as ChangeView;
const starts = (v: BoothView) =>
  Object.fromEntries([...actionsFor(v).first, ...actionsFor(v).more].map((a) => [a.task, a.start]));

test('without a run, what belongs to a run is not offered', () => {
  const s = starts(view({}));
  assert.deepEqual([s['recover'], s['parts'], s['film']], [null, null, null]);
  assert.deepEqual(s['clean'], { booth: 'b1' });
});

test('with a run every action starts with what is known', () => {
  const s = starts(view({ run, feed }));
  assert.deepEqual(s['recover'], { booth: 'b1', run: 'r1' });
  assert.deepEqual(s['charge'], { to: 'h1' });
  assert.deepEqual(s['weigh'], { booth: 'b1', place: 'h1' });
});

test('while a change runs the first action finishes it', () => {
  assert.equal(actionsFor(view({ change })).first[0]?.task, 'change.finish');
  assert.equal(actionsFor(view({ change: { ...change, finished_ms: 5 } })).first[0]?.task, 'change.start');
});
