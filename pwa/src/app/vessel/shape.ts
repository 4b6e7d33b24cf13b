// The vessel picture as numbers: from what a place holds to what to draw. Pure.
// Heights are drawn from shares in per mille that the core worked out; nothing
// here adds or divides masses.

import type { Layer, VesselView } from '../../bridge/api';

// Body is the outline to draw: a hopper feeds a gun, a bin stands beside the booth,
// a rack holds boxes apart, a drum takes scrap.
export type Body = 'hopper' | 'bin' | 'rack' | 'drum';

// Outline of a body in its own box of 200 × 240. The powder lies between top and
// floor; its width at a height follows the path, so layers are clipped, not computed.
export interface Outline { path: string; top: number; floor: number; lid: string; feet: string }

export const outlines: Readonly<Record<Body, Outline>> = {
  hopper: {
    path: 'M34 26 H166 V150 L118 222 H82 L34 150 Z', top: 34, floor: 222,
    lid: 'M26 26 H174 M46 26 V14 H154 V26', feet: 'M82 222 V234 H118 V222 M34 150 H14 V238 M166 150 H186 V238',
  },
  bin: {
    path: 'M36 34 H164 L156 228 H44 Z', top: 42, floor: 228,
    lid: 'M28 34 H172', feet: 'M36 62 C14 62 14 100 38 100 M164 62 C186 62 186 100 162 100',
  },
  rack: {
    path: 'M32 22 H168 V226 H32 Z', top: 30, floor: 226,
    lid: 'M22 12 V238 M178 12 V238', feet: 'M22 226 H178 M22 124 H32 M168 124 H178',
  },
  drum: {
    path: 'M42 30 H158 V228 H42 Z', top: 38, floor: 228,
    lid: 'M36 30 H164 M36 92 H164 M36 164 H164 M36 228 H164', feet: '',
  },
};

// Band is one drawn layer. y runs downwards.
export interface Band {
  layer: Layer;
  y: number;
  height: number;
  grain: number; // 0 virgin, then 1 to 4: how dense the stipple is
  isLabelled: boolean; // tall enough to carry its words
}

export interface Picture {
  body: Body;
  bands: Band[];
  level: number | null; // y of the powder's surface; null when empty
  limit: number | null; // y above which reclaim would begin at the powder's limit; null when no limit
  split: number | null; // y where virgin ends and reclaim begins; null when only one of them
  isCapacityKnown: boolean;
}

const labelHeight = 22; // enough for one line of words
const thinnest = 3; // a layer that is there is always seen

export function bodyOf(v: VesselView, isFeed: boolean): Body {
  switch (v.kind) {
    case 'shelf': return 'rack';
    case 'scrap': return 'drum';
    default: return isFeed || v.feeds_run !== undefined ? 'hopper' : 'bin';
  }
}

// grainOf is how dense the stipple is: it grows with every pass up to the fourth.
export function grainOf(passes: number): number {
  return Math.min(Math.max(passes, 0), 4);
}

// Without a capacity the picture is two thirds full: a level nobody knows is not
// drawn as if it were measured, the caller breaks the outline instead.
const unknownFill = 660;

// picture lays the layers from the floor up, virgin first as the core orders them.
export function picture(v: VesselView, isFeed: boolean): Picture {
  const body = bodyOf(v, isFeed);
  const { top, floor } = outlines[body];
  const isCapacityKnown = v.capacity !== undefined;
  const isEmpty = v.layers.length === 0;
  const fill = isEmpty ? 0 : isCapacityKnown ? Math.min(Math.max(v.fill_pm, 30), 1000) : unknownFill;
  const height = ((floor - top) * fill) / 1000;
  const heights = spread(v.layers.map((l) => l.share_pm), height);
  const bands: Band[] = [];
  let y = floor;
  v.layers.forEach((layer, i) => {
    const h = heights[i] ?? 0;
    y -= h;
    bands.push({ layer, y, height: h, grain: grainOf(layer.passes), isLabelled: h >= labelHeight });
  });
  const firstReclaim = bands.find((b) => b.layer.passes > 0);
  const hasVirgin = bands.some((b) => b.layer.passes === 0);
  const canLimit = v.kind === 'vessel' && !isEmpty && v.limit_pm < 1000;
  return {
    body, bands, isCapacityKnown,
    level: isEmpty ? null : floor - height,
    limit: canLimit ? floor - (height * (1000 - v.limit_pm)) / 1000 : null,
    split: firstReclaim && hasVirgin ? firstReclaim.y + firstReclaim.height : null,
  };
}

// spread shares a height by weights; every part is at least `thinnest` high and
// together they fill the height.
export function spread(weights: readonly number[], height: number): number[] {
  const total = weights.reduce((a, b) => a + b, 0);
  if (weights.length === 0 || height <= 0) return weights.map(() => 0);
  const least = Math.min(thinnest, height / weights.length);
  const raw = weights.map((w) => Math.max(least, total > 0 ? (height * w) / total : height / weights.length));
  const sum = raw.reduce((a, b) => a + b, 0);
  const spare = sum - least * weights.length;
  if (spare <= 0) return weights.map(() => height / weights.length);
  const scale = (height - least * weights.length) / spare;
  return raw.map((h) => least + (h - least) * scale);
}
