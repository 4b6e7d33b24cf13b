// Weigh a place: one figure, and at once what the difference to the books will mean.

import { Shown } from '../../controls/page';
import { Toggle } from '../../controls/controls';
import { words } from '../../i18n/i18n';
import { useView } from '../../store/store';
import { LotPicker, MassIn, PlaceIn } from '../../task/fields';
import type { Form } from '../../task/task';
import { Places, TaskScreen } from '../../task/task-screen';
import { useTask } from '../../task/use-task';
import { Diff } from './diff';

export function Weigh({ start }: { start: Form }) {
  const w = words();
  const lists = useView('lists', {});
  const h = useTask('weigh', start);
  const plan = h.state.plan;
  const place = lists.kind === 'here' ? lists.value.places.find((p) => p.place === h.value('place')) : undefined;
  const isShelf = place?.kind === 'shelf';
  const here =
    lists.kind === 'here' && place !== undefined
      ? lists.value.lots.filter((l) => l.at.some((a) => a.place.id === place.place))
      : [];
  return (
    <TaskScreen
      h={h}
      title={w.tasks['weigh'] ?? ''}
      under={place?.name}
      up={{ at: 'booth', booth: start['booth'] ?? '' }}
      {...(plan !== null && plan.ok && plan.diff !== undefined
        ? {
            previewAt: 'wide',
            preview: (
              <>
                <Diff diff={plan.diff} />
                <Places h={h} />
              </>
            ),
          }
        : {})}
    >
      <Shown of={lists}>
        {(l) => (
          <>
            <MassIn h={h} name="mass" isLarge />
            {(place?.tare !== undefined || h.value('gross') === 'yes') && (
              <Toggle
                name="gross"
                label={w.fields['gross'] ?? ''}
                hint={place?.tare === undefined ? undefined : w.tareIs(place.tare.text)}
                fault={h.fault('gross')}
                isOn={h.value('gross') === 'yes'}
                onValue={(v) => h.set('gross', v ? 'yes' : '')}
              />
            )}
            {plan?.ok === true && plan.diff !== undefined && (
              <div class="narrow-only" aria-live="polite">
                <Diff diff={plan.diff} />
              </div>
            )}
            {isShelf && <LotPicker h={h} name="lot" lots={here} />}
            <PlaceIn
              h={h}
              name="place"
              places={l.places.filter((v) => start['booth'] === undefined || v.kind === 'vessel')}
              only={['vessel', 'shelf', 'scrap']}
            />
          </>
        )}
      </Shown>
    </TaskScreen>
  );
}
