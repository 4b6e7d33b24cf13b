// Change colour in two steps: what comes next and how far to clean; then how it went.

import type { BoothView, ListsView, NeedView } from '../../../bridge/api';
import { Choice, Checks, Counter, FaultLine, NumberField, Select, type Option } from '../../controls/controls';
import { Shown } from '../../controls/page';
import { Swatch } from '../../colour/swatch';
import { advise, moment, word, words } from '../../i18n/i18n';
import { Icon } from '../../icon/icon';
import { useView } from '../../store/store';
import { Cautions } from '../../safety/cautions';
import { MassIn, PlaceIn } from '../../task/fields';
import { checkCodes } from '../../task/specs';
import type { Form } from '../../task/task';
import { TaskScreen } from '../../task/task-screen';
import { useTask } from '../../task/use-task';
import { levelOptions } from './level';

export function ChangeStart({ start }: { start: Form }) {
  const w = words();
  const view = useView('booth', start['booth'] === undefined ? {} : { booth: start['booth'] });
  return (
    <Shown of={view}>
      {(v) => (
        <StartForm
          booth={v}
          start={{ booth: v.booth.id, ...start }}
          key={v.booth.id}
          title={w.tasks['change.start'] ?? ''}
        />
      )}
    </Shown>
  );
}

function StartForm({ booth, start, title }: { booth: BoothView; start: Form; title: string }) {
  const w = words();
  const h = useTask('change.start', start);
  const need = h.state.plan?.need;
  const filled = h.state.plan?.filled ?? {};
  const level = h.value('level') !== '' ? h.value('level') : (filled['level'] ?? '');
  return (
    <TaskScreen
      h={h}
      title={title}
      under={booth.booth.name}
      up={{ at: 'booth', booth: booth.booth.id }}
      label={w.taskButtons['change.start'] ?? w.save}
      {...(need === undefined ? {} : { previewAt: 'wide', preview: <Need need={need} /> })}
    >
      <fieldset class={h.fault('powder') === null ? 'field' : 'field has-fault'} data-field="powder">
        <legend>{w.change.next}</legend>
        <div class="powder-grid">
          {booth.powders.map((p) => (
            <label key={p.id} class={p.id === h.value('powder') ? 'powder-option is-on' : 'powder-option'}>
              <input
                type="radio"
                name="powder"
                checked={p.id === h.value('powder')}
                onChange={() => h.fill({ powder: p.id, level: '', crew: '' })}
              />
              <Swatch powder={p} size={48} />
              <span>
                <b>{p.name}</b>
                <small>
                  {[p.code, word(w.finishes, p.finish)].filter((s) => s !== undefined && s !== '').join(' · ')}
                </small>
                {p.id === booth.powder?.id && <em class="stamp">{w.change.now}</em>}
              </span>
            </label>
          ))}
        </div>
        <FaultLine id="change-powder" fault={h.fault('powder')} />
      </fieldset>
      {h.value('powder') !== '' && (
        <>
          {need !== undefined && (
            <div class="narrow-only">
              <Need need={need} />
            </div>
          )}
          <Choice
            name="level"
            label={w.fields['level'] ?? ''}
            options={levelOptions(w.levels, w.levelNotes, need?.level, w.change.needed)}
            value={level}
            onValue={(v) => h.set('level', v)}
            fault={h.fault('level')}
            isColumn
          />
          <Counter
            name="crew"
            label={w.fields['crew'] ?? ''}
            value={h.shown('crew')}
            least={1}
            onValue={(v) => h.set('crew', v)}
            fault={h.fault('crew')}
          />
          <Cautions of="change" />
        </>
      )}
    </TaskScreen>
  );
}

// Need is the cleaning level the change asks for, and every rule that spoke.
export function Need({ need }: { need: NeedView }) {
  const w = words();
  return (
    <section class="need" aria-label={w.change.needTitle}>
      <p class="eyebrow">{w.change.needTitle}</p>
      <p class="need-level">
        <Steps level={need.level} />
        <b>{need.level === '' ? w.change.noNeed : word(w.levels, need.level)}</b>
      </p>
      {need.expect > 0 && (
        <p class="need-time">
          {w.change.expect(need.expect, need.people)}
          {need.changes > 0 && <small> {w.change.learned(need.changes, need.minutes)}</small>}
        </p>
      )}
      <ul>
        {need.reasons.map((r) => {
          const a = advise(r.code);
          const pair =
            r.from !== undefined && r.to !== undefined && r.from !== ''
              ? `${kindWord(r.from)} → ${kindWord(r.to)}`
              : '';
          return (
            <li key={r.code}>
              <b>{a.says}</b>
              {r.level !== '' && <em> {word(w.levels, r.level)}</em>}
              <small>{[pair, r.text ?? '', a.next].filter((s) => s !== '').join(' · ')}</small>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

const kindWord = (code: string): string =>
  words().chemistries[code as keyof ReturnType<typeof words>['chemistries']] ?? word(words().finishes, code);

// Steps draws a level as one to four filled steps.
function Steps({ level }: { level: string }) {
  const n = ['purge', 'blowdown', 'full', 'strip'].indexOf(level) + 1;
  return (
    <svg class="steps" width="64" height="36" viewBox="0 0 64 36" aria-hidden="true">
      {[0, 1, 2, 3].map((i) => (
        <rect key={i} class={i < n ? 'is-on' : ''} x={i * 16 + 1} y={26 - i * 8} width="13" height={9 + i * 8} />
      ))}
    </svg>
  );
}

export function ChangeFinish({ start }: { start: Form }) {
  const view = useView('booth', start['booth'] === undefined ? {} : { booth: start['booth'] });
  return (
    <Shown of={view}>{(v) => <FinishForm booth={v} start={{ booth: v.booth.id, ...start }} key={v.booth.id} />}</Shown>
  );
}

function FinishForm({ booth, start }: { booth: BoothView; start: Form }) {
  const w = words();
  const lists = useView('lists', {});
  const h = useTask('change.finish', start);
  const filled = h.state.plan?.filled ?? {};
  const own = h.shown;
  // What the core filled in must be in the form before it is saved: feed and minutes have no fallback there.
  const missing = ['minutes', 'feed'].filter(
    (f) => h.value(f) === '' && !h.state.touched.has(f) && (filled[f] ?? '') !== '',
  );
  if (missing.length > 0 && h.state.phase.kind === 'filling')
    queueMicrotask(() => h.fill(Object.fromEntries(missing.map((f) => [f, filled[f] ?? '']))));
  const modes: Option[] = Object.entries(w.modes).map(([value, label]) => ({ value, label, note: w.modeNotes[value] }));
  const checks = h
    .value('checks')
    .split(' ')
    .filter((c) => c !== '');
  return (
    <TaskScreen
      h={h}
      title={w.tasks['change.finish'] ?? ''}
      up={{ at: 'booth', booth: booth.booth.id }}
      next={{ at: 'booth', booth: booth.booth.id }}
      label={w.taskButtons['change.finish'] ?? w.save}
      under={
        booth.change === undefined
          ? booth.booth.name
          : `${booth.change.to.name} · ${w.change.since(moment(booth.change.started_ms))}`
      }
    >
      <Cautions of="clean" />
      <Checks
        name="checks"
        label={w.fields['checks'] ?? ''}
        options={checkCodes.map((c) => ({ value: c, label: word(w.checks, c) }))}
        value={checks}
        onValue={(v) => h.set('checks', v.join(' '))}
      />
      <NumberField
        name="minutes"
        label={w.fields['minutes'] ?? ''}
        hint={w.change.minutesHint}
        value={own('minutes')}
        isWhole
        onValue={(v) => h.set('minutes', v)}
        fault={h.fault('minutes')}
      />
      <Counter
        name="crew"
        label={w.fields['crew'] ?? ''}
        value={own('crew') !== '' || h.state.touched.has('crew') ? own('crew') : String(booth.change?.crew ?? '')}
        least={1}
        onValue={(v) => h.set('crew', v)}
        fault={h.fault('crew')}
      />
      <Shown of={lists}>
        {(l) => (
          <>
            <PlaceIn
              h={h}
              name="feed"
              places={l.places.filter((v) => v.booth === undefined || v.booth === booth.booth.id)}
              only={['vessel']}
            />
            <Choice
              name="mode"
              label={w.fields['mode'] ?? ''}
              options={modes}
              value={own('mode')}
              onValue={(v) => h.set('mode', v)}
              fault={h.fault('mode')}
              isColumn
            />
            {setupsFor(l, booth).length > 0 && (
              <Select
                name="setup"
                label={w.fields['setup'] ?? ''}
                isOptional
                options={setupsFor(l, booth)}
                value={h.value('setup')}
                onValue={(v) => h.set('setup', v)}
                fault={h.fault('setup')}
              />
            )}
            <MassIn h={h} name="purged" isOptional />
            {h.value('purged') !== '' && <PlaceIn h={h} name="scrap" places={l.places} only={['scrap']} />}
          </>
        )}
      </Shown>
      <Choice
        name="first_part"
        label={w.fields['first_part'] ?? ''}
        isOptional
        options={[
          { value: 'ok', label: w.change.firstOk, icon: 'ok' },
          { value: 'no', label: w.change.firstNo },
        ]}
        value={h.value('first_part')}
        onValue={(v) => h.set('first_part', v)}
      />
      <p class="hint with-icon">
        <Icon name="shield" size={20} />
        {w.cautions.short}
      </p>
    </TaskScreen>
  );
}

// setupsFor are the set-ups that nothing keeps from the powder that comes.
function setupsFor(l: ListsView, booth: BoothView): Option[] {
  return l.setups
    .filter((s) => s.powder === undefined || s.powder.id === booth.change?.to.id)
    .map((s) => ({ value: s.setup, label: s.name, note: s.figures.map((f) => f.text).join(' · ') }));
}
