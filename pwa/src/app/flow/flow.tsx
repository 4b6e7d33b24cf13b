// The flow picture: where the powder of a run, or of all time, went. Each stream has
// its own hatch, name and figure; the widths follow the masses.

import { useId } from 'preact/hooks';
import type { Balance, FlowView } from '../../bridge/api';
import { percent, words } from '../i18n/i18n';
import { band, picture, type Ribbon, type Stream } from './shape';

type RunKey = 'on_parts' | 'recovered' | 'scrapped' | 'lost';
type AllKey = 'received' | 'found' | 'shelves' | 'vessels' | 'scrap' | 'parts' | 'open' | 'lost' | 'missing';

// Hatches by what became of the powder: still good, on parts, gone.
const hatchOf: Readonly<Record<RunKey | AllKey, 'solid' | 'dots' | 'lines' | 'cross' | 'thin'>> = {
  on_parts: 'solid',
  parts: 'solid',
  recovered: 'dots',
  vessels: 'dots',
  shelves: 'thin',
  received: 'thin',
  found: 'cross',
  scrapped: 'lines',
  scrap: 'lines',
  lost: 'cross',
  missing: 'cross',
  open: 'thin',
};

function Hatches({ id }: { id: string }) {
  return (
    <defs>
      <pattern id={`${id}dots`} width="8" height="8" patternUnits="userSpaceOnUse">
        <rect class="flow-soft" width="8" height="8" />
        <circle class="flow-ink" cx="4" cy="4" r="1.700" />
      </pattern>
      <pattern id={`${id}lines`} width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <rect class="flow-soft" width="7" height="7" />
        <rect class="flow-ink" width="2" height="7" />
      </pattern>
      <pattern id={`${id}cross`} width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <rect class="flow-soft" width="8" height="8" />
        <rect class="flow-ink" width="1.500" height="8" />
        <rect class="flow-ink" width="8" height="1.500" />
      </pattern>
      <pattern id={`${id}thin`} width="6" height="6" patternUnits="userSpaceOnUse">
        <rect class="flow-soft" width="6" height="6" />
        <rect class="flow-ink" y="2.500" width="6" height="1" />
      </pattern>
    </defs>
  );
}

function Bands({ id, ribbons, x0, x1 }: { id: string; ribbons: Ribbon<RunKey | AllKey>[]; x0: number; x1: number }) {
  return (
    <>
      {ribbons
        .filter((r) => r.width > 0)
        .map((r) => {
          const hatch = hatchOf[r.stream.key];
          return (
            <path
              key={r.stream.key}
              class="flow-band"
              fill={hatch === 'solid' ? 'var(--flow)' : `url(#${id}${hatch})`}
              d={band(x0, r.from, x1, r.to, r.width)}
            />
          );
        })}
    </>
  );
}

function Words({
  ribbons,
  x,
  names,
  of,
}: {
  ribbons: Ribbon<RunKey | AllKey>[];
  x: number;
  names: Readonly<Record<string, string>>;
  of?: Readonly<Partial<Record<string, string>>>;
}) {
  return (
    <>
      {ribbons.map((r) => (
        <g key={r.stream.key}>
          <text class="flow-figure" x={x} y={r.row - 2}>
            {r.stream.text}
          </text>
          <text class="flow-name" x={x} y={r.row + 15}>
            {names[r.stream.key] ?? r.stream.key}
            {of?.[r.stream.key] !== undefined ? ` · ${of[r.stream.key]}` : ''}
          </text>
        </g>
      ))}
    </>
  );
}

const describe = (names: Readonly<Record<string, string>>, streams: readonly Stream<string>[]) =>
  streams.map((s) => `${names[s.key] ?? s.key} ${s.text}`).join(', ');

// RunFlow draws a run's balance from the gun.
export function RunFlow({ balance }: { balance: Balance }) {
  const id = useId();
  const w = words();
  const outs: Stream<RunKey>[] = (['on_parts', 'recovered', 'scrapped', 'lost'] as const).map((key) => ({
    key,
    mg: balance[key].mg,
    text: balance[key].text,
  }));
  const p = picture<RunKey>([], outs, 150);
  const top = p.trunk.y,
    low = p.trunk.y + p.trunk.height,
    mid = (top + low) / 2;
  const shares: Partial<Record<RunKey, string>> = balance.te_pm >= 0 ? { on_parts: percent(balance.te_pm) } : {};
  return (
    <svg
      class="flow"
      viewBox={`0 0 358 ${Math.ceil(p.height)}`}
      role="img"
      aria-label={`${w.balance.gross} ${balance.gross.text}: ${describe(w.balance, outs)}`}
    >
      <Hatches id={id} />
      <path class="flow-cloud" d={`M62 ${mid} L104 ${top} V${low} Z`} />
      <Bands id={id} ribbons={p.outs} x0={104} x1={206} />
      <path
        class="flow-gun"
        d={`M4 ${mid - 12} H46 L62 ${mid - 5} V${mid + 5} L46 ${mid + 12} H30 L26 ${mid + 44} H10 L16 ${mid + 12} H4 Z`}
      />
      <text class="flow-figure" x="2" y={mid - 40}>
        {balance.gross.text}
      </text>
      <text class="flow-name" x="2" y={mid - 24}>
        {w.balance.grossShort}
      </text>
      <Words ribbons={p.outs} x={216} names={w.balance} of={shares} />
    </svg>
  );
}

// AllFlow draws where all powder ever booked is now.
export function AllFlow({ flow }: { flow: FlowView }) {
  const id = useId();
  const w = words();
  const stream = (key: AllKey): Stream<AllKey> => ({ key, mg: flow[key].mg, text: flow[key].text });
  const ins = (['received', 'found'] as const).map(stream).filter((s) => s.key === 'received' || s.mg !== 0);
  const outs = (['shelves', 'vessels', 'open', 'parts', 'scrap', 'lost', 'missing'] as const)
    .map(stream)
    .filter((s) => s.mg !== 0 || s.key === 'parts' || s.key === 'shelves');
  const p = picture<AllKey>(ins, outs, 200);
  return (
    <svg
      class="flow"
      viewBox={`0 0 358 ${Math.ceil(p.height)}`}
      role="img"
      aria-label={`${describe(w.flow, ins)}: ${describe(w.flow, outs)}`}
    >
      <Hatches id={id} />
      <Bands id={id} ribbons={p.ins} x0={98} x1={132} />
      <rect class="flow-trunk" x="132" y={p.trunk.y} width="12" height={p.trunk.height} />
      <Bands id={id} ribbons={p.outs} x0={144} x1={226} />
      <Words ribbons={p.ins} x={2} names={w.flow} />
      <Words ribbons={p.outs} x={234} names={w.flow} />
    </svg>
  );
}
