// The vessel picture: a hopper or bin drawn to its fill, its layers by lot and by
// passes, the limit of reclaim as a flag at the side.

import { createContext } from 'preact';
import { useContext, useId } from 'preact/hooks';
import type { LotView, VesselView } from '../../bridge/api';
import type { PowderRef } from '../../bridge/types.gen';
import { paintOf, Swatch } from '../colour/swatch';
import { moment, percent, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { LotTable } from './lot-table';
import { outlines, picture, type Band } from './shape';

// Stipples for one to four passes: larger and closer dots with every pass.
const grains: readonly { step: number; r: number }[] = [
  { step: 0, r: 0 },
  { step: 13, r: 1.5 },
  { step: 10, r: 1.9 },
  { step: 8, r: 2.2 },
  { step: 6, r: 2.3 },
];

// Which powder a lot is of: a shelf and a scrap drum hold several, and each keeps its colour.
export const LotPowders = createContext<ReadonlyMap<string, PowderRef>>(new Map());
export const powdersOf = (lots: readonly LotView[]): ReadonlyMap<string, PowderRef> =>
  new Map(lots.map((l) => [l.lot, l.powder]));

interface DrawProps {
  vessel: VesselView;
  isFeed?: boolean;
  isSmall?: boolean;
}

// VesselDrawing is the picture alone. Its words for those who do not see it are in label().
export function VesselDrawing({ vessel, isFeed = false, isSmall = false }: DrawProps) {
  const id = useId();
  const w = words();
  const p = picture(vessel, isFeed);
  const o = outlines[p.body];
  const known = useContext(LotPowders);
  const paint = paintOf(vessel.powder);
  const paintFor = (b: Band) => (vessel.powder === undefined ? paintOf(known.get(b.layer.lot)) : paint);
  const flag = p.limit;
  return (
    <svg
      class={isSmall ? 'vessel is-small' : 'vessel'}
      viewBox={isSmall ? '0 0 200 244' : '0 0 262 244'}
      role="img"
      aria-label={label(vessel)}
    >
      <defs>
        <clipPath id={`${id}c`}>
          <path d={o.path} />
        </clipPath>
        {p.bands.map((b, i) => {
          const { step, r } = grains[b.grain] ?? { step: 6, r: 2.3 };
          return b.grain === 0 ? null : (
            <pattern
              key={i}
              id={`${id}g${i}`}
              width={step}
              height={step}
              patternUnits="userSpaceOnUse"
              patternTransform="rotate(20)"
            >
              <rect width={step} height={step} fill={paintFor(b).fill} />
              <circle cx={step / 2} cy={step / 2} r={r} fill={paintFor(b).ink} />
            </pattern>
          );
        })}
        <pattern id={`${id}x`} width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect class="hazard-a" width="5" height="10" />
          <rect class="hazard-b" x="5" width="5" height="10" />
        </pattern>
      </defs>
      <path class="vessel-inside" d={o.path} />
      <g clip-path={`url(#${id}c)`}>
        {p.bands.map((b, i) => (
          <g key={`${b.layer.lot}-${b.layer.passes}`}>
            <rect
              x="0"
              y={b.y}
              width="200"
              height={b.height + 0.5}
              fill={b.grain === 0 ? paintFor(b).fill : `url(#${id}g${i})`}
            />
            {(b.layer.held === true || b.layer.expired === true) && (
              <rect x="0" y={b.y} width="12" height={b.height} fill={`url(#${id}x)`} />
            )}
            <path class="vessel-seam" d={`M0 ${b.y} H200`} stroke={paintFor(b).ink} />
          </g>
        ))}
        {vessel.mixed === true && <rect x="0" y={p.level ?? 0} width="200" height="9" fill={`url(#${id}x)`} />}
      </g>
      {p.split !== null && (
        <path class="vessel-split" d={`M30 ${p.split} H170`} stroke={paint.ink} clip-path={`url(#${id}c)`} />
      )}
      {p.level !== null && <path class="vessel-surface" d={`M0 ${p.level} H200`} clip-path={`url(#${id}c)`} />}
      <path class={p.isCapacityKnown || p.level === null ? 'vessel-wall' : 'vessel-wall is-open'} d={o.path} />
      <path class="vessel-fittings" d={`${o.lid} ${o.feet}`} />
      {!isSmall &&
        p.bands
          .filter((b) => b.isLabelled)
          .map((b) => (
            <g key={`t${b.layer.lot}-${b.layer.passes}`}>
              <rect class="vessel-tag" x="58" y={b.y + b.height / 2 - 9.5} width="84" height="19" rx="2" />
              <text class="vessel-tag-text" x="100" y={b.y + b.height / 2 + 4.5} text-anchor="middle">
                {short(b.layer.batch)}
                {b.layer.passes > 0 ? ` · ${b.layer.passes}×` : ''}
              </text>
            </g>
          ))}
      {p.level === null && (
        <text class="vessel-empty" x="100" y="128" text-anchor="middle">
          {w.vessel.empty}
        </text>
      )}
      {flag !== null && (
        <g class={vessel.over_limit ? 'limit is-over' : 'limit'}>
          <path class="limit-line" d={`M24 ${flag} H${isSmall ? 192 : 190}`} />
          {isSmall ? (
            <path class="limit-flag" d={`M184 ${flag} l14 -8 v16 z`} />
          ) : (
            <>
              <path class="limit-flag" d={`M186 ${flag} l10 -12 h64 v24 h-64 z`} />
              <text
                class="limit-text"
                x="230"
                y={flag + 5}
                text-anchor="middle"
              >{`≤ ${percent(vessel.limit_pm)}`}</text>
            </>
          )}
        </g>
      )}
    </svg>
  );
}

const short = (batch: string): string => (batch.length > 9 ? '…' + batch.slice(-8) : batch);

// label says in words what the picture shows.
export function label(v: VesselView): string {
  const w = words();
  if (v.layers.length === 0) return `${v.name}: ${w.vessel.empty}`;
  const layers = v.layers.map((l) => `${w.vessel.lot} ${l.batch}, ${w.passes(l.passes)}, ${l.mass.text}`).join('; ');
  const ratio = v.ratio === '' ? '' : ` ${w.vessel.ratio} ${v.ratio}.`;
  const limit =
    v.kind === 'vessel' && v.limit_pm < 1000
      ? ` ${w.vessel.limit} ${percent(v.limit_pm)}${v.over_limit ? ', ' + w.vessel.over : ''}.`
      : '';
  return `${v.name}: ${v.mass.text}.${ratio}${limit} ${layers}`;
}

// VesselPanel is the picture with mass and virgin : reclaim beside it.
export function VesselPanel({
  vessel,
  isFeed = false,
  title,
}: {
  vessel: VesselView;
  isFeed?: boolean;
  title?: string;
}) {
  const w = words();
  const [virgin = '', reclaim = ''] = vessel.ratio.split(':');
  return (
    <div class="vessel-panel">
      <VesselDrawing vessel={vessel} isFeed={isFeed} />
      <div class="vessel-words">
        <p class="eyebrow">{title ?? vessel.name}</p>
        <p class="vessel-mass">{vessel.mass.text}</p>
        {vessel.capacity !== undefined && <p class="vessel-of">{w.vessel.of(vessel.capacity.text)}</p>}
        {vessel.ratio !== '' && vessel.layers.length > 0 && vessel.kind === 'vessel' && (
          <dl class="ratio">
            <div>
              <dt>{w.vessel.virgin}</dt>
              <dd>{virgin}</dd>
            </div>
            <span aria-hidden="true">:</span>
            <div>
              <dt>{w.vessel.reclaim}</dt>
              <dd>{reclaim}</dd>
            </div>
          </dl>
        )}
        {vessel.over_limit && (
          <p class="stamp is-warn">
            <Icon name="warn" size={18} />
            {w.vessel.over}
          </p>
        )}
        {vessel.mixed === true && (
          <p class="stamp is-warn">
            <Icon name="warn" size={18} />
            {w.vessel.mixed}
          </p>
        )}
        {vessel.weighed_ms !== undefined && <p class="vessel-of">{w.vessel.weighed(moment(vessel.weighed_ms))}</p>}
      </div>
    </div>
  );
}

// LayerList spells every layer out, topmost first, as they lie in the picture.
export function LayerList({ vessel }: { vessel: VesselView }) {
  const w = words();
  if (vessel.layers.length === 0) return <p class="empty">{w.vessel.empty}</p>;
  return (
    <LotTable
      rows={[...vessel.layers].reverse()}
      name={(l) => (
        <>
          <a href={`#/lot/${encodeURIComponent(l.lot)}`}>{l.batch}</a>
          {l.held === true && <em class="stamp is-warn">{w.lotStates['held']}</em>}
          {l.expired === true && <em class="stamp is-warn">{w.lotStates['expired']}</em>}
        </>
      )}
    />
  );
}

// VesselTile is the small picture for lists.
export function VesselTile({ vessel, isFeed = false }: { vessel: VesselView; isFeed?: boolean }) {
  const w = words();
  return (
    <a class="vessel-tile" href={`#/place/${encodeURIComponent(vessel.place)}`}>
      <VesselDrawing vessel={vessel} isFeed={isFeed} isSmall />
      <span class="vessel-tile-words">
        <b>{vessel.name}</b>
        {vessel.powder !== undefined && (
          <span class="with-swatch">
            <Swatch powder={vessel.powder} size={20} />
            {vessel.powder.name}
          </span>
        )}
        <span class="tile-mass">
          {vessel.layers.length === 0 ? w.vessel.empty : vessel.mass.text}
          {vessel.kind === 'vessel' && vessel.ratio !== '' && vessel.layers.length > 0 && <em> {vessel.ratio}</em>}
        </span>
        {vessel.over_limit && <em class="stamp is-warn">{w.vessel.over}</em>}
        {vessel.mixed === true && <em class="stamp is-warn">{w.vessel.mixed}</em>}
      </span>
    </a>
  );
}

// BeforeAfter shows what an action would do to one place.
export function BeforeAfter({
  before,
  after,
  isFeed = false,
}: {
  before: VesselView | undefined;
  after: VesselView;
  isFeed?: boolean;
}) {
  const w = words();
  return (
    <figure class="before-after">
      <figcaption>{after.name}</figcaption>
      {before !== undefined && (
        <div>
          <p class="eyebrow">{w.before}</p>
          <VesselDrawing vessel={before} isFeed={isFeed} isSmall />
          <p>
            <b>{before.mass.text}</b>
            <span>{before.layers.length > 0 ? before.ratio : ''}</span>
          </p>
        </div>
      )}
      <div class="ba-arrow" aria-hidden="true">
        <Icon name="go" />
      </div>
      <div>
        <p class="eyebrow">{w.after}</p>
        <VesselDrawing vessel={after} isFeed={isFeed} isSmall />
        <p>
          <b>{after.mass.text}</b>
          <span>{after.layers.length > 0 ? after.ratio : ''}</span>
        </p>
        {after.over_limit && <em class="stamp is-warn">{w.vessel.over}</em>}
      </div>
    </figure>
  );
}
