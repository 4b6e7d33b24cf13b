// Ink that reads on a powder's own colour. The colour itself comes from the core.

// luminance of "#rrggbb" by WCAG 2.2, 0 to 1; 1 for a text that is no colour.
export function luminance(hex: string): number {
  const m = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex);
  if (m === null) return 1;
  const [r, g, b] = [m[1], m[2], m[3]].map((h) => linear(parseInt(h ?? 'ff', 16) / 255));
  return 0.2126 * (r ?? 1) + 0.7152 * (g ?? 1) + 0.0722 * (b ?? 1);
}

const linear = (c: number): number => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);

// inkOn gives black or white, whichever reads better.
export function inkOn(hex: string): '#000000' | '#ffffff' {
  const y = luminance(hex);
  return (y + 0.05) / 0.05 >= 1.05 / (y + 0.05) ? '#000000' : '#ffffff';
}
