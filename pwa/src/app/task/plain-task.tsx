// A plain form: its fields in order, the places it touches, the difference to the books.

import { Shown } from '../controls/page';
import { words } from '../i18n/i18n';
import type { Route } from '../route/route';
import { useView } from '../store/store';
import { LotPowders, powdersOf } from '../vessel/vessel';
import { Cautions } from '../safety/cautions';
import { Diff } from '../booth/weigh/diff';
import { Plain } from './fields';
import { homeOf, specs } from './specs';
import { Places, TaskScreen } from './task-screen';
import type { Form } from './task';
import { useTask } from './use-task';

// Fields that a task takes from where it was opened and does not ask for again.
const carried: ReadonlySet<string> = new Set(['run', 'booth', 'entry', 'place', 'lot', 'powder', 'person']);

export function PlainTask({ task, start, fills }: { task: string; start: Form; fills?: Form }) {
  const w = words();
  const lists = useView('lists', {});
  const h = useTask(task, start, fills);
  const from = lists.kind === 'here' ? lists.value.places.find((p) => p.place === h.value('from')) : undefined;
  const fields = (specs[task] ?? []).filter(
    (s) => !(s.name in start && carried.has(s.name)) && !(s.kind === 'lot' && from?.kind === 'vessel'),
  );
  const up: Route =
    homeOf(task) === 'today'
      ? { at: 'today', booth: '' }
      : task === 'set.setup' || task === 'ground' || task === 'output' || task === 'deposit'
        ? { at: 'gun', booth: start['booth'] ?? '' }
        : task === 'set.person'
          ? { at: 'people' }
          : task.startsWith('set.')
            ? { at: 'settings' }
            : homeOf(task) === 'room'
              ? { at: 'room' }
              : homeOf(task) === 'booth'
                ? { at: 'booth', booth: start['booth'] ?? '' }
                : { at: 'office' };
  const plan = h.state.plan;
  const lot =
    start['lot'] !== undefined && lists.kind === 'here'
      ? lists.value.lots.find((l) => l.lot === start['lot'])
      : undefined;
  const hasPreview = plan !== null && plan.ok && (plan.after.length > 0 || plan.diff !== undefined);
  return (
    <TaskScreen
      h={h}
      up={up}
      title={w.tasks[task] ?? task}
      under={lot === undefined ? w.taskUnder[task] : `${lot.powder.name} · ${lot.batch}`}
      label={w.taskButtons[task] ?? w.save}
      {...(hasPreview
        ? {
            preview: (
              <>
                {plan.diff !== undefined && <Diff diff={plan.diff} />}
                <LotPowders.Provider value={powdersOf(lists.kind === 'here' ? lists.value.lots : [])}>
                  <Places h={h} />
                </LotPowders.Provider>
              </>
            ),
          }
        : {})}
    >
      {task === 'clean' && <Cautions of="clean" />}
      <Shown of={lists}>
        {(l) => (
          <>
            {fields.map((spec) => (
              <Plain key={spec.name} h={h} spec={spec} lists={l} />
            ))}
          </>
        )}
      </Shown>
    </TaskScreen>
  );
}
