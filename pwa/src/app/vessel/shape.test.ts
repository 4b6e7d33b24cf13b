import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Layer, VesselView } from '../../bridge/api';
import { bodyOf, grainOf, levelAt, outlines, picture, spread } from './shape';

const qty = (mg: number) => ({ mg, text: `${mg} mg` });
const layer = (passes: number, share_pm: number): Layer => ({
  lot: `l${passes}`,
  batch: `B${passes}`,
  passes,
  mass: qty(share_pm),
  share_pm,
});
const vessel = (more: Partial<VesselView>): VesselView => ({
  place: 'p',
  name: 'Hopper',
  kind: 'vessel',
  mass: qty(1000),
  fill_pm: 500,
  capacity: qty(2000),
  virgin: qty(700),
  reclaim: qty(300),
  ratio: '70:30',
  reclaim_pm: 300,
  limit_pm: 300,
  over_limit: false,
  max_passes: 1,
  layers: [layer(0, 700), layer(1, 300)],
  ...more,
});
const near = (a: number | null, b: number) => assert.ok(a !== null && Math.abs(a - b) < 0.5, `${a} is not near ${b}`);

test('half a fill is half the area, in a cone as in a drum', () => {
  near(levelAt('drum', 500), (228 + 36) / 2);
  near(levelAt('rack', 250), 226 - (226 - 28) / 4);
  // By hand: cone (36+132)/2·72 = 6048, cylinder 132·118 = 15576, half of both 10812; 10812−6048 = 4764 = 132·36.1 above y 150.
  near(levelAt('hopper', 500), 150 - 36.1);
  near(picture(vessel({}), true).level, 150 - 36.1);
});

test('empty is the floor and full is the brim, whatever the body', () => {
  for (const body of ['hopper', 'bin', 'rack', 'drum'] as const) {
    const w = outlines[body].widths;
    near(levelAt(body, 0), w[0]?.[0] ?? 0);
    near(levelAt(body, 1000), w.at(-1)?.[0] ?? 0);
    near(levelAt(body, 2000), w.at(-1)?.[0] ?? 0);
  }
});

test('a vessel exactly at its limit has the mark where reclaim begins', () => {
  const p = picture(vessel({}), true);
  assert.ok(p.split !== null);
  near(p.limit, p.split);
});

test('over the limit reclaim begins below the mark', () => {
  const p = picture(vessel({ layers: [layer(0, 500), layer(1, 500)] }), true);
  assert.ok(p.split !== null && p.limit !== null && p.split > p.limit); // y runs downwards
});

test('an empty vessel has neither level nor marks', () => {
  const p = picture(vessel({ layers: [], fill_pm: 0 }), true);
  assert.deepEqual([p.level, p.limit, p.split, p.bands.length], [null, null, null, 0]);
});

test('a powder without a limit and a shelf carry no mark', () => {
  assert.equal(picture(vessel({ limit_pm: 1000 }), true).limit, null);
  assert.equal(picture(vessel({ kind: 'shelf' }), false).limit, null);
});

test('a layer of one per mille is still seen and the layers still fill the height', () => {
  const h = spread([999, 1], 100);
  assert.ok((h[1] ?? 0) >= 2.9);
  near(
    h.reduce((a, b) => a + b, 0),
    100,
  );
});

test('more layers than pixels share the height evenly', () => {
  assert.deepEqual(spread([1, 1, 1, 1], 4), [1, 1, 1, 1]);
});

test('the stipple grows with passes and stops at four', () => {
  assert.deepEqual([0, 1, 2, 4, 9].map(grainOf), [0, 1, 2, 4, 4]);
});

test('each kind of place has its own body', () => {
  assert.equal(bodyOf(vessel({ kind: 'shelf' }), false), 'rack');
  assert.equal(bodyOf(vessel({ kind: 'scrap' }), false), 'drum');
  assert.equal(bodyOf(vessel({}), false), 'bin');
  assert.equal(bodyOf(vessel({ feeds_run: 'r1' }), false), 'hopper');
});
