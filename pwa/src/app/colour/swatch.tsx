// A powder's colour with its finish as a drawn sign, so that colour is never the
// only way to tell two powders apart.

import { useId } from 'preact/hooks';
import type { PowderRef } from '../../bridge/api';
import { inkOn } from './ink';

// paintOf gives the fill and the ink that reads on it; a powder without a measured
// colour is drawn in the grey of the theme with a query mark.
export function paintOf(powder: PowderRef | undefined): { fill: string; ink: string; isKnown: boolean } {
  const colour = powder?.swatch ?? '';
  if (colour === '') return { fill: 'var(--unknown)', ink: 'var(--ink)', isKnown: false };
  return { fill: colour, ink: inkOn(colour), isKnown: true };
}

export function Swatch({ powder, size = 40 }: { powder: PowderRef | undefined; size?: number }) {
  const id = useId();
  const p = paintOf(powder);
  return (
    <svg class="swatch" width={size} height={size} viewBox="0 0 40 40" aria-hidden="true" focusable="false">
      <defs>
        <clipPath id={id}>
          <rect x="2" y="2" width="36" height="36" rx="3" />
        </clipPath>
      </defs>
      <rect x="2" y="2" width="36" height="36" rx="3" fill={p.fill} />
      <g clip-path={`url(#${id})`} stroke={p.ink} fill="none" stroke-width="1.500" opacity="0.8">
        {finishSign(powder?.finish ?? '', p.ink)}
      </g>
      {!p.isKnown && (
        <text x="20" y="27" text-anchor="middle" font-size="20" font-weight="700" fill={p.ink}>
          ?
        </text>
      )}
      <rect class="swatch-edge" x="1.500" y="1.500" width="37" height="37" rx="3.500" />
    </svg>
  );
}

// gloss: a highlight; satin: half of one; matt: nothing; texture: grains; metallic:
// flakes; clear: an open corner.
function finishSign(finish: string, ink: string) {
  switch (finish) {
    case 'gloss':
      return <path d="M8 26 L26 8 M8 32 L14 26" stroke-width="3" />;
    case 'satin':
      return <path d="M8 20 L20 8" stroke-width="2" />;
    case 'texture':
      return (
        <g fill={ink} stroke="none">
          {[
            [8, 9],
            [18, 7],
            [29, 10],
            [12, 19],
            [24, 20],
            [33, 24],
            [7, 30],
            [17, 32],
            [28, 33],
          ].map(([x, y]) => (
            <circle key={`${x}-${y}`} cx={x} cy={y} r="1.800" />
          ))}
        </g>
      );
    case 'metallic':
      return <path d="M8 10l3 2M20 8l-2 3M31 12l-3 1M12 22l1 3M24 19l3 2M33 26l-2 2M9 32l3-1M20 30l1 3M29 34l2-2" />;
    case 'clear':
      return <path d="M2 38 L38 2 M2 26 L26 2 M14 38 L38 14" stroke-width="1" />;
    default:
      return null;
  }
}
