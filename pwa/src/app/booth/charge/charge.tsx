// Charge a hopper: a lot from the shelf and reclaim from a bin, seen before it is done.

import type { BestBlend, VesselView } from '../../../bridge/api';
import { Shown } from '../../controls/page';
import { advise, percent, words } from '../../i18n/i18n';
import { Icon } from '../../icon/icon';
import { useView } from '../../store/store';
import { LotPicker, MassIn, PlaceIn } from '../../task/fields';
import type { Form } from '../../task/task';
import { TaskScreen } from '../../task/task-screen';
import { useTask, type Handle } from '../../task/use-task';
import { BeforeAfter, LotPowders, powdersOf, VesselPanel } from '../../vessel/vessel';
import { isBlendTaken, takeBlend } from './blend';

export function Charge({ start }: { start: Form }) {
  const w = words();
  const lists = useView('lists', {});
  const h = useTask('charge', start);
  const plan = h.state.plan;
  const to = h.value('to');
  const before = plan?.before.find((v) => v.place === to);
  const after = plan?.ok === true ? plan.after.find((v) => v.place === to) : undefined;
  const now: VesselView | undefined =
    before ?? (lists.kind === 'here' ? lists.value.places.find((v) => v.place === to) : undefined);
  const bins =
    lists.kind === 'here'
      ? lists.value.places.filter(
          (v) =>
            v.kind === 'vessel' &&
            v.place !== to &&
            v.reclaim.mg > 0 &&
            v.feeds_run === undefined &&
            (now?.powder === undefined || v.powder?.id === now.powder.id),
        )
      : [];
  return (
    <TaskScreen
      h={h}
      title={w.tasks['charge'] ?? ''}
      under={now?.name}
      up={{ at: 'booth', booth: '' }}
      {...(now === undefined
        ? {}
        : {
            previewAt: 'first',
            preview: (
              <LotPowders.Provider value={powdersOf(lists.kind === 'here' ? lists.value.lots : [])}>
                <ChargePreview
                  before={now}
                  after={after}
                  others={plan?.ok === true ? plan.after.filter((v) => v.place !== to) : []}
                  all={plan?.before ?? []}
                />
              </LotPowders.Provider>
            ),
          })}
    >
      <Shown of={lists}>
        {(l) => (
          <>
            {start['to'] === undefined && <PlaceIn h={h} name="to" places={l.places} only={['vessel']} />}
            {plan?.best !== undefined && <Best best={plan.best} h={h} />}
            <section class="part">
              <h2>{w.charge.virgin}</h2>
              <MassIn h={h} name="virgin" isLarge />
              <LotPicker h={h} name="lot" lots={plan?.offer ?? []} />
            </section>
            <section class="part">
              <h2>{w.charge.reclaim}</h2>
              {bins.length === 0 ? (
                <p class="empty">{w.charge.noBins}</p>
              ) : (
                <>
                  <MassIn h={h} name="reclaim" isLarge />
                  <PlaceIn h={h} name="bin" places={bins} only={['vessel']} />
                </>
              )}
            </section>
          </>
        )}
      </Shown>
    </TaskScreen>
  );
}

// Best is the core's own blend; one tap takes it over.
function Best({ best, h }: { best: BestBlend; h: Handle }) {
  const w = words();
  const isTaken = isBlendTaken(h.state.form, best);
  const why = best.binding === '' ? '' : advise(`limit.${best.binding}`).says;
  return (
    <section class="best">
      <div class="best-words">
        <p class="eyebrow">{w.charge.best}</p>
        <p class="best-figures">
          <span>
            <small>{w.vessel.virgin}</small> <b>{best.virgin.text}</b>
          </span>{' '}
          <i>+</i>{' '}
          <span>
            <small>{w.vessel.reclaim}</small> <b>{best.reclaim.text}</b>
          </span>
        </p>
        <p>
          {best.ratio !== '' && (
            <>
              {w.charge.gives} <b>{best.ratio}</b>
            </>
          )}
          {why !== '' && <> · {why}</>}
        </p>
        {best.over_by !== undefined && <p class="stamp is-warn">{w.charge.overBy(best.over_by.text)}</p>}
        {best.dilute !== undefined && <p>{w.charge.dilute(best.dilute.text)}</p>}
      </div>
      <button type="button" class="plain" disabled={isTaken} onClick={() => h.fill(takeBlend(best))}>
        <Icon name={isTaken ? 'ok' : 'charge'} />
        <span>{isTaken ? w.charge.taken : w.charge.take}</span>
      </button>
    </section>
  );
}

function ChargePreview({
  before,
  after,
  others,
  all,
}: {
  before: VesselView;
  after: VesselView | undefined;
  others: VesselView[];
  all: VesselView[];
}) {
  const w = words();
  if (after === undefined || after.mass.mg === before.mass.mg) return <VesselPanel vessel={before} isFeed />;
  return (
    <>
      <BeforeAfter before={before} after={after} isFeed />
      {after.limit_pm < 1000 && (
        <p class="limit-words">
          {w.vessel.limit} {percent(after.limit_pm)} · {w.vessel.reclaim} {percent(after.reclaim_pm)}
        </p>
      )}
      <ul class="others">
        {others.map((v) => (
          <li key={v.place}>
            {v.name}{' '}
            <b>
              {all.find((b) => b.place === v.place)?.mass.text ?? ''} → {v.mass.text}
            </b>
          </li>
        ))}
      </ul>
    </>
  );
}
