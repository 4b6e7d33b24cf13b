import assert from 'node:assert/strict';
import { test } from 'node:test';
import { band, picture, type Stream } from './shape';

const s = (key: string, mg: number): Stream<string> => ({ key, mg, text: `${mg}` });

test('streams are as wide as their part of what left the gun', () => {
  const p = picture([], [s('parts', 600), s('recovered', 300), s('scrapped', 0), s('lost', 100)], 200);
  assert.deepEqual(
    p.outs.map((r) => Math.round(r.width)),
    [120, 60, 0, 20],
  );
});

test('a tiny stream is still two wide', () => {
  const p = picture([], [s('parts', 1_000_000), s('lost', 1)], 100);
  assert.equal(p.outs[1]?.width, 2);
});

test('a loss below nothing has no width but keeps its words', () => {
  const p = picture([], [s('parts', 100), s('lost', -5)], 100);
  assert.equal(p.outs[1]?.width, 0);
  assert.ok((p.outs[1]?.row ?? 0) > (p.outs[0]?.row ?? 0));
});

test('words never lie on each other', () => {
  const p = picture(
    [s('in', 10)],
    ['a', 'b', 'c', 'd', 'e'].map((k) => s(k, 2)),
    60,
  );
  const rows = p.outs.map((r) => r.row);
  rows.forEach((y, i) => {
    if (i > 0) assert.ok(y - (rows[i - 1] ?? 0) >= 40);
  });
  assert.ok(Math.max(...rows) < p.height);
});

test('nothing at all can be drawn', () => {
  const p = picture([], [s('parts', 0)], 100);
  assert.equal(p.outs[0]?.width, 0);
});

test('a band is a closed path', () => {
  assert.match(band(0, 0, 10, 5, 4), /^M0\.0 0\.0 C.*Z$/);
});
