// The flow picture as numbers: how wide each stream is and where it runs. Pure.
// Widths are drawn from the exact masses; no mass is made here.

// Stream is one way in or one way out.
export interface Stream<Key extends string> {
  key: Key;
  mg: number;
  text: string;
}

export interface Ribbon<Key extends string> {
  stream: Stream<Key>;
  from: number; // y of its upper edge at the left
  to: number; // y of its upper edge at the right
  width: number; // 0 for a stream that is empty or runs backwards
  row: number; // y of its words
}

export interface Picture<Key extends string> {
  ins: Ribbon<Key>[];
  outs: Ribbon<Key>[];
  height: number;
  trunk: { y: number; height: number };
}

const gap = 10; // between streams
const rowHeight = 46; // words of a stream: two lines

// picture lays streams beside a trunk. The trunk is `body` high for the larger of
// both sides; each stream's width is its part of it. Empty streams keep their words.
export function picture<Key extends string>(
  ins: readonly Stream<Key>[],
  outs: readonly Stream<Key>[],
  body: number,
): Picture<Key> {
  const total = Math.max(sum(ins), sum(outs), 1);
  const scale = body / total;
  const left = column(ins, scale),
    right = column(outs, scale);
  const height = Math.max(left.height, right.height, body + 2 * gap);
  const trunkY = (height - body) / 2;
  return {
    height,
    trunk: { y: trunkY, height: body },
    ins: place(left.ribbons, height, left.height, trunkY + (body - sum(ins) * scale) / 2, 'from'),
    outs: place(right.ribbons, height, right.height, trunkY + (body - sum(outs) * scale) / 2, 'to'),
  };
}

const sum = (s: readonly { mg: number }[]): number => s.reduce((a, b) => a + Math.max(b.mg, 0), 0);

function column<Key extends string>(streams: readonly Stream<Key>[], scale: number) {
  let y = 0;
  const ribbons = streams.map((stream) => {
    const width = stream.mg > 0 ? Math.max(2, stream.mg * scale) : 0;
    const slot = Math.max(width, rowHeight);
    const at = y + (slot - width) / 2;
    const row = y + slot / 2;
    y += slot + gap;
    return { stream, outer: at, width, row };
  });
  return { ribbons, height: Math.max(0, y - gap) };
}

function place<Key extends string>(
  ribbons: { stream: Stream<Key>; outer: number; width: number; row: number }[],
  height: number,
  own: number,
  trunkY: number,
  outerSide: 'from' | 'to',
): Ribbon<Key>[] {
  const shift = (height - own) / 2;
  let inner = trunkY;
  return ribbons.map(({ stream, outer, width, row }) => {
    const edge = { outer: outer + shift, inner };
    inner += width;
    return {
      stream,
      width,
      row: row + shift,
      from: outerSide === 'from' ? edge.outer : edge.inner,
      to: outerSide === 'to' ? edge.outer : edge.inner,
    };
  });
}

// band is the SVG path of a ribbon between x0 and x1.
export function band(x0: number, y0: number, x1: number, y1: number, width: number): string {
  const m = (x0 + x1) / 2,
    n = (v: number) => v.toFixed(1);
  return `M${n(x0)} ${n(y0)} C${n(m)} ${n(y0)} ${n(m)} ${n(y1)} ${n(x1)} ${n(y1)} V${n(y1 + width)} C${n(m)} ${n(y1 + width)} ${n(m)} ${n(y0 + width)} ${n(x0)} ${n(y0 + width)} Z`;
}
