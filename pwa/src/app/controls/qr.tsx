import type { QR } from '../../bridge/api';

const quiet = 4; // the light frame that a reader needs, in modules (ISO/IEC 18004, "quiet zone")

// QrCode draws a code from its modules, always dark on light: readers want it so.
export function QrCode({ rows, label }: { rows: QR; label: string }) {
  const size = rows.length + 2 * quiet;
  const d = rows
    .flatMap((row, y) => [...row].map((m, x) => (m === '1' ? `M${x + quiet} ${y + quiet}h1v1h-1z` : '')))
    .join('');
  return (
    <svg class="qr" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label} shape-rendering="crispEdges">
      <path d={d} />
    </svg>
  );
}
