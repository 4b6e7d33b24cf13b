// Draws the icons from one list of shapes: `node icons/draw.mjs` writes icon.svg
// and the PNGs beside this file. A hopper with three layers of powder in it,
// the lowest virgin, the upper ones recovered, and a stream leaving its foot.
import { deflateSync } from 'node:zlib';
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const ground = '#1d2b33';
// Polygons on a 64 × 64 field, painted in this order.
const shapes = [
  {
    fill: '#f4f1ea',
    points: [
      [13, 12],
      [51, 12],
      [51, 28],
      [37, 46],
      [37, 53],
      [27, 53],
      [27, 46],
      [13, 28],
    ],
  },
  {
    fill: ground,
    points: [
      [16, 15],
      [48, 15],
      [48, 27],
      [34, 45],
      [34, 53],
      [30, 53],
      [30, 45],
      [16, 27],
    ],
  },
  {
    fill: '#c9a227',
    points: [
      [16, 21],
      [48, 18],
      [48, 23.2],
      [16, 24.4],
    ],
  },
  {
    fill: '#de7f3b',
    points: [
      [16, 24.4],
      [48, 23.2],
      [48, 27],
      [44.3, 31.8],
      [19.2, 31],
      [16, 27],
    ],
  },
  {
    fill: '#d8452e',
    points: [
      [19.2, 31],
      [44.3, 31.8],
      [34, 45],
      [34, 58],
      [30, 58],
      [30, 45],
    ],
  },
];

const inside = (points, x, y) => {
  let odd = false;
  for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
    const [xi, yi] = points[i],
      [xj, yj] = points[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
  }
  return odd;
};
const rgb = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));

// pixels paints a size × size picture; scale shrinks the drawing about the middle
// (a maskable icon may lose everything outside 80 % of its width); corner is the
// radius of the ground in 64ths, 32 or more means a full square.
function pixels(size, scale, corner) {
  const over = 4,
    out = Buffer.alloc(size * size * 4);
  for (let py = 0; py < size; py++)
    for (let px = 0; px < size; px++) {
      const sum = [0, 0, 0, 0];
      for (let s = 0; s < over * over; s++) {
        const u = ((px + ((s % over) + 0.5) / over) * 64) / size,
          v = ((py + (Math.floor(s / over) + 0.5) / over) * 64) / size;
        const dx = Math.max(corner - u, u - (64 - corner), 0),
          dy = Math.max(corner - v, v - (64 - corner), 0);
        if (corner && dx * dx + dy * dy > corner * corner) continue;
        const x = (u - 32) / scale + 32,
          y = (v - 32) / scale + 32;
        let colour = rgb(ground);
        for (const shape of shapes) if (inside(shape.points, x, y)) colour = rgb(shape.fill);
        sum[0] += colour[0];
        sum[1] += colour[1];
        sum[2] += colour[2];
        sum[3] += 1;
      }
      const at = (py * size + px) * 4;
      for (let c = 0; c < 3; c++) out[at + c] = sum[3] ? Math.round(sum[c] / sum[3]) : 0;
      out[at + 3] = Math.round((sum[3] * 255) / (over * over));
    }
  return out;
}

const crcTable = Array.from({ length: 256 }, (_, n) => {
  for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
  return n >>> 0;
});
const crc = (bytes) => {
  let c = 0xffffffff;
  for (const b of bytes) c = crcTable[(c ^ b) & 255] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
};
const chunk = (type, data) => {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]),
    head = Buffer.alloc(4),
    tail = Buffer.alloc(4);
  head.writeUInt32BE(data.length);
  tail.writeUInt32BE(crc(body));
  return Buffer.concat([head, body, tail]);
};

// png encodes RGBA pixels (PNG specification, third edition, W3C: colour type 6, 8 bits, filter 0).
function png(size, rgba) {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(size, 0);
  head.writeUInt32BE(size, 4);
  head[8] = 8;
  head[9] = 6;
  const rows = Buffer.alloc(size * (size * 4 + 1));
  for (let y = 0; y < size; y++) rgba.copy(rows, y * (size * 4 + 1) + 1, y * size * 4, (y + 1) * size * 4);
  return Buffer.concat([
    Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]),
    chunk('IHDR', head),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

const here = (name) => fileURLToPath(new URL(name, import.meta.url));
const polygons = shapes
  .map((s) => `<polygon fill="${s.fill}" points="${s.points.map((p) => p.join(',')).join(' ')}"/>`)
  .join('');
writeFileSync(
  here('icon.svg'),
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64"><rect width="64" height="64" rx="14" fill="${ground}"/>${polygons}</svg>\n`,
);
writeFileSync(here('icon-192.png'), png(192, pixels(192, 0.9, 14)));
writeFileSync(here('icon-512.png'), png(512, pixels(512, 0.9, 14)));
writeFileSync(here('icon-maskable.png'), png(512, pixels(512, 0.7, 0)));
