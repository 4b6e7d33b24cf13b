import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Clock, jumpMs } from './clock';

function fake() {
  const at = { wall: 1_700_000_000_000, mono: 10, segments: 0 };
  const clock = new Clock({ wall: () => at.wall, mono: () => at.mono, newSegment: () => `s${++at.segments}` });
  return { at, clock };
}

test('a segment lasts while both clocks run alike', () => {
  const { at, clock } = fake();
  at.wall += 3_600_000;
  at.mono += 3_600_000.7;
  assert.deepEqual(clock.read(), { wall_ms: 1_700_003_600_000, mono_ms: 3_600_010, segment: 's1' });
});

test('a slow drift over a day does not end it', () => {
  const { at, clock } = fake();
  for (let i = 0; i < 1_440; i++) {
    at.wall += 60_000;
    at.mono += 60_010;
    assert.equal(clock.read().segment, 's1');
  }
});

test('setting the clock, back or forward, ends it', () => {
  const { at, clock } = fake();
  at.wall -= jumpMs + 1;
  assert.equal(clock.read().segment, 's2');
  at.wall += 7_200_000;
  at.mono += 1;
  assert.equal(clock.read().segment, 's3');
  assert.equal(clock.read().segment, 's3');
});

test('a sleep in which the monotonic clock stood still ends it', () => {
  const { at, clock } = fake();
  at.wall += 600_000;
  at.mono += 50;
  assert.equal(clock.read().segment, 's2');
});

test('a jump of exactly the limit does not', () => {
  const { at, clock } = fake();
  at.wall += jumpMs;
  assert.equal(clock.read().segment, 's1');
});
