// Line icons, drawn for this program on a 24 × 24 grid.

const paths = {
  gun: 'M3 9h11l3-2v8l-3-2H9l-1 7H5l1-7H3zM20 6v1M21 11h1M20 15v1',
  box: 'M3 8l9-4 9 4v9l-9 4-9-4zM3 8l9 4 9-4M12 12v9',
  ledger: 'M5 3h13v18H5zM9 3v18M12 8h4M12 12h4M12 16h2',
  sum: 'M17 5H7l6 7-6 7h10',
  change: 'M4 8h13l-4-4M20 16H7l4 4',
  charge: 'M12 2v8M8 7l4 4 4-4M5 12h14l-5 8h-4z',
  scale: 'M4 20h16l-2-8H6zM8 12V9h8v3M12 9V5M8 5h8',
  recover: 'M20 12a8 8 0 1 1-3-6.2M20 3v5h-5M12 8v5',
  clean: 'M14 3l-3 9M7 12h8l2 8H5zM9 16v4M13 16v4',
  parts: 'M4 4h16M9 4v4M15 4v4M6 8h6v9H6zM14 8h4v6h-4z',
  film: 'M3 17h18M3 20h18M12 3v9M9 9l3 3 3-3M5 13h14',
  scrap: 'M5 6h14M7 6l1 15h8l1-15M10 6V3h4v3M9 11l6 6M15 11l-6 6',
  receive: 'M3 14v6h18v-6M12 3v11M8 10l4 4 4-4',
  move: 'M3 12h16M14 7l5 5-5 5M3 6v12',
  hold: 'M6 11h12v9H6zM9 11V7a3 3 0 0 1 6 0v4M12 15v2',
  release: 'M6 11h12v9H6zM9 11V7a3 3 0 0 1 5.6-1.5M12 15v2',
  warn: 'M12 3L2 20h20zM12 10v4M12 17v.5',
  ok: 'M4 12l5 6L20 6',
  phone: 'M7 2h10v20H7zM11 19h2',
  sent: 'M7 18a4 4 0 0 1 0-8 5 5 0 0 1 10-1 4 4 0 0 1 0 9M9 15l3-3 3 3M12 12v8',
  off: 'M3 3l18 18M7 18a4 4 0 0 1 0-8M10 6a5 5 0 0 1 7 3 4 4 0 0 1 3 7',
  back: 'M15 4l-8 8 8 8',
  go: 'M9 4l8 8-8 8',
  close: 'M5 5l14 14M19 5L5 19',
  pad: 'M5 4h3v3H5zM10.500 4h3v3h-3zM16 4h3v3h-3zM5 10h3v3H5zM10.500 10h3v3h-3zM16 10h3v3h-3zM10.500 16h3v3h-3z',
  erase: 'M9 5h12v14H9l-6-7zM12 9l6 6M18 9l-6 6',
  keys: 'M2 6h20v12H2zM6 10h.5M10 10h.5M14 10h.5M18 10h.5M7 14h10',
  plus: 'M12 4v16M4 12h16',
  minus: 'M4 12h16',
  person: 'M12 12a4 4 0 1 0 0-8 4 4 0 0 0 0 8zM4 21c1-5 4-7 8-7s7 2 8 7',
  people:
    'M9 12a3.500 3.500 0 1 0 0-7 3.500 3.500 0 0 0 0 7zM2 20c.7-4 3.500-6 7-6s6.300 2 7 6M16 5.500a3.500 3.500 0 0 1 0 6M18 14.500c2 .8 3.500 2.700 4 5.500',
  trace: 'M5 6h.5M12 12h.5M19 18h.5M5 6c0 6 7 0 7 6s7 0 7 6',
  set: 'M4 7h10M18 7h2M4 17h2M10 17h10M16 4.500v5M8 14.500v5',
  shield: 'M12 3l8 3v6c0 5-4 8-8 9-4-1-8-4-8-9V6zM12 8v5M12 16v.5',
  note: 'M5 3h14v14l-4 4H5zM9 8h6M9 12h6',
  download: 'M12 3v12M7 11l5 5 5-5M4 20h16',
  oven: 'M4 3h16v18H4zM4 8h16M8 5.500h.5M8 18c-2-2 2-3 0-6M12 18c-2-2 2-3 0-6M16 18c-2-2 2-3 0-6',
  today: 'M4 5h16v15H4zM4 10h16M8 3v4M16 3v4M8 15l3 2 5-4',
  dot: 'M12 11v2',
} as const;

export type IconName = keyof typeof paths;

// Icon is decoration: the words beside it carry the meaning.
export function Icon({ name, size = 24 }: { name: IconName; size?: number }) {
  return (
    <svg class="icon" width={size} height={size} viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      <path d={paths[name]} />
    </svg>
  );
}
