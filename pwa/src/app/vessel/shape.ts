// The vessel picture as numbers: from what a place holds to what to draw. Pure.
// Heights are drawn from shares in per mille that the core worked out; nothing
// here adds or divides masses.

import type { Layer, VesselView } from '../../bridge/api';

// Body is the outline to draw: a hopper feeds a gun, a bin stands beside the booth,
// a rack holds boxes apart, a drum takes scrap.
export type Body = 'hopper' | 'bin' | 'rack' | 'drum';

// Outline of a body in its own box of 200 × 240. widths says how wide the inside is
// from the floor up, straight between the points: equal masses get equal areas, so a
// cone fills faster than the cylinder above it.
export interface Outline {
  path: string;
  widths: readonly (readonly [y: number, width: number])[];
  lid: string;
  feet: string;
}

export const outlines: Readonly<Record<Body, Outline>> = {
  hopper: {
    path: 'M34 26 H166 V150 L118 222 H82 L34 150 Z',
    widths: [
      [222, 36],
      [150, 132],
      [32, 132],
    ],
    lid: 'M26 26 H174 M46 26 V14 H154 V26',
    feet: 'M82 222 V234 H118 V222 M34 150 H14 V238 M166 150 H186 V238',
  },
  bin: {
    path: 'M36 34 H164 L156 228 H44 Z',
    widths: [
      [228, 112],
      [40, 127],
    ],
    lid: 'M28 34 H172',
    feet: 'M36 62 C14 62 14 100 38 100 M164 62 C186 62 186 100 162 100',
  },
  rack: {
    path: 'M32 22 H168 V226 H32 Z',
    widths: [
      [226, 136],
      [28, 136],
    ],
    lid: 'M22 12 V238 M178 12 V238',
    feet: 'M22 226 H178 M22 124 H32 M168 124 H178',
  },
  drum: {
    path: 'M42 30 H158 V228 H42 Z',
    widths: [
      [228, 116],
      [36, 116],
    ],
    lid: 'M36 30 H164 M36 92 H164 M36 164 H164 M36 228 H164',
    feet: '',
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
    case 'shelf':
      return 'rack';
    case 'scrap':
      return 'drum';
    default:
      return isFeed || v.feeds_run !== undefined ? 'hopper' : 'bin';
  }
}

// grainOf is how dense the stipple is: it grows with every pass up to the fourth.
export function grainOf(passes: number): number {
  return Math.min(Math.max(passes, 0), 4);
}

// Without a capacity the picture is two thirds full: a level nobody knows is not
// drawn as if it were measured, the caller breaks the outline instead.
const unknownFill = 660;

// levelAt is the y up to which a body is filled when `pm` per mille of its area is.
export function levelAt(body: Body, pm: number): number {
  const { widths } = outlines[body];
  const areas = widths.slice(1).map(([y, w], i) => {
    const [y0, w0] = widths[i] ?? [y, w];
    return ((w0 + w) / 2) * (y0 - y);
  });
  let left = (areas.reduce((a, b) => a + b, 0) * Math.min(Math.max(pm, 0), 1000)) / 1000;
  for (const [i, area] of areas.entries()) {
    const [y0, w0] = widths[i] ?? [0, 0],
      [y1, w1] = widths[i + 1] ?? [0, 0];
    if (left > area && i < areas.length - 1) {
      left -= area;
      continue;
    }
    const rise = y0 - y1,
      grow = (w1 - w0) / rise; // width per unit of height
    // Height h with w0·h + grow·h²/2 = left.
    const h = Math.abs(grow) < 1e-9 ? left / w0 : (Math.sqrt(w0 * w0 + 2 * grow * left) - w0) / grow;
    return y0 - Math.min(h, rise);
  }
  return widths[0]?.[0] ?? 0;
}

// picture lays the layers from the floor up, virgin first as the core orders them.
export function picture(v: VesselView, isFeed: boolean): Picture {
  const body = bodyOf(v, isFeed);
  const floor = levelAt(body, 0);
  const isCapacityKnown = v.capacity !== undefined;
  const isEmpty = v.layers.length === 0;
  const fill = isEmpty ? 0 : isCapacityKnown ? Math.min(Math.max(v.fill_pm, 40), 1000) : unknownFill;
  const level = levelAt(body, fill);
  const total = v.layers.reduce((sum, l) => sum + l.share_pm, 0);
  // Edges between layers by area, then moved apart where one would vanish.
  let share = 0;
  const edges = v.layers.map((l) => levelAt(body, (fill * (share += l.share_pm)) / Math.max(total, 1)));
  const heights = spread(
    edges.map((y, i) => (edges[i - 1] ?? floor) - y),
    floor - level,
  );
  const bands: Band[] = [];
  let y = floor;
  v.layers.forEach((layer, i) => {
    const h = heights[i] ?? 0;
    y -= h;
    bands.push({ layer, y, height: h, grain: grainOf(layer.passes), isLabelled: h >= labelHeight });
  });
  const firstReclaim = bands.find((b) => b.layer.passes > 0);
  const hasVirgin = bands.some((b) => b.layer.passes === 0);
  const canLimit = body === 'hopper' && !isEmpty && v.limit_pm < 1000; // a reclaim bin is under no limit
  return {
    body,
    bands,
    isCapacityKnown,
    level: isEmpty ? null : level,
    limit: canLimit ? levelAt(body, (fill * (1000 - v.limit_pm)) / 1000) : null,
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
