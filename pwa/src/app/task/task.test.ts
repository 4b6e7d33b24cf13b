import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Plan } from '../../bridge/api';
import {
  begin,
  draftKey,
  faultAt,
  faultsNow,
  isFresh,
  isWorthKeeping,
  step,
  valueOf,
  type Event,
  type State,
} from './task';

const plan = (more: Partial<Plan>): Plan => ({
  task: 'charge',
  ok: true,
  errors: [],
  warnings: [],
  entries: [],
  before: [],
  after: [],
  ...more,
});
const run = (s: State, ...events: Event[]): State => events.reduce(step, s);
const set = (field: string, value: string): Event => ({ type: 'set', field, value });

test('an emptied field leaves the form', () => {
  assert.deepEqual(run(begin({ to: 'h1' }), set('virgin', '2 kg'), set('virgin', '')).form, { to: 'h1' });
});

test('a late plan for an older form does not overwrite a newer one', () => {
  const s = run(
    begin({}),
    set('virgin', '2'),
    { type: 'planned', serial: 1, plan: plan({ task: 'new' }) },
    { type: 'planned', serial: 0, plan: plan({ task: 'old' }) },
  );
  assert.equal(s.plan?.task, 'new');
});

test('nothing is saved on a plan for another form', () => {
  const s = run(begin({}), { type: 'planned', serial: 0, plan: plan({}) }, set('virgin', '2'), { type: 'try' });
  assert.equal(isFresh(s), false);
  assert.equal(s.phase.kind, 'filling');
});

test('a press of the button before the plan is here counts once it is, for what stood there then', () => {
  const pressed = run(begin({}), set('mass', '12'), { type: 'try' });
  assert.equal(
    run(pressed, { type: 'planned', serial: 0, plan: plan({}) }).phase.kind,
    'filling',
    'the plan of an older form',
  );
  assert.equal(run(pressed, { type: 'planned', serial: 1, plan: plan({}) }).phase.kind, 'saving');
  assert.equal(
    run(pressed, { type: 'planned', serial: 1, plan: plan({ warnings: [{ code: 'reclaim_over' }] }) }).phase.kind,
    'asking',
  );
});

test('whoever corrects a figure after a press must press again', () => {
  const corrected = run(begin({}), set('mass', '12'), { type: 'try' }, set('mass', '12.'), {
    type: 'planned',
    serial: 2,
    plan: plan({}),
  });
  assert.deepEqual([corrected.phase.kind, corrected.tries], ['filling', 0]);
  assert.equal(
    run(
      begin({}),
      { type: 'try' },
      { type: 'fill', values: { mass: '3' } },
      { type: 'planned', serial: 1, plan: plan({}) },
    ).phase.kind,
    'filling',
  );
  assert.equal(
    run(corrected, set('mass', '12.5'), { type: 'planned', serial: 3, plan: plan({}) }, { type: 'try' }).phase.kind,
    'saving',
  );
});

test('a plan without warnings is saved at once', () => {
  assert.equal(run(begin({}), { type: 'planned', serial: 0, plan: plan({}) }, { type: 'try' }).phase.kind, 'saving');
});

test('warnings ask first, and are passed only with a reason', () => {
  const asked = run(
    begin({}),
    { type: 'planned', serial: 0, plan: plan({ warnings: [{ code: 'reclaim_over' }] }) },
    { type: 'try' },
  );
  assert.equal(asked.phase.kind, 'asking');
  assert.equal(run(asked, { type: 'saving' }).phase.kind, 'asking');
  assert.equal(run(asked, { type: 'why', text: '  ' }, { type: 'saving' }).phase.kind, 'asking');
  assert.equal(run(asked, { type: 'why', text: 'urgent job' }, { type: 'saving' }).phase.kind, 'saving');
  assert.equal(run(asked, { type: 'back' }).phase.kind, 'filling');
});

test('errors show at once where the person was, "missing" only after the first try', () => {
  const errors = [
    { field: 'virgin', code: 'form.number' },
    { field: 'to', code: 'form.missing' },
    { field: 'lot', code: 'form.number' },
  ];
  const s = run(begin({}), set('virgin', 'x'), set('to', ''), {
    type: 'planned',
    serial: 2,
    plan: plan({ ok: false, errors }),
  });
  assert.equal(faultAt(s, 'virgin')?.code, 'form.number');
  assert.equal(faultAt(s, 'lot'), null);
  assert.equal(faultAt(s, 'to'), null);
  const tried = run(s, { type: 'try' });
  assert.equal(faultAt(tried, 'to')?.code, 'form.missing');
  assert.deepEqual([faultsNow(s), faultsNow(tried)], [[], errors]);
  assert.equal(run(tried, { type: 'try' }).tries, 2, 'each vain press is told');
});

test('a figure that the plan fills in can be taken away and typed anew', () => {
  const s = run(begin({}), { type: 'planned', serial: 0, plan: plan({ filled: { minutes: '12' } }) });
  assert.equal(valueOf(s, 'minutes'), '12');
  assert.equal(valueOf(run(s, set('minutes', '1'), set('minutes', '')), 'minutes'), '');
  assert.equal(valueOf(run(s, set('minutes', ''), set('minutes', '7')), 'minutes'), '7');
  assert.equal(
    valueOf(run(s, set('minutes', '7'), { type: 'fill', values: { minutes: '' } }), 'minutes'),
    '12',
    'the program starts it afresh',
  );
});

test('while saving the form stands still, a failure opens it again with everything in it', () => {
  const saving = run(
    begin({ to: 'h1' }),
    { type: 'planned', serial: 0, plan: plan({}) },
    { type: 'try' },
    set('to', 'h2'),
  );
  assert.equal(saving.form['to'], 'h1');
  const failed = run(saving, { type: 'failed', problem: { code: 'storage', title: '' } }, set('to', 'h2'));
  assert.deepEqual([failed.phase.kind, failed.form['to']], ['filling', 'h2']);
});

test('only what a person did is kept as a draft', () => {
  assert.equal(isWorthKeeping(run(begin({}), { type: 'fill', values: { lot: 'l1' } })), false);
  assert.equal(isWorthKeeping(run(begin({}), set('lot', 'l1'))), true);
});

test('drafts of the same task for two hoppers are apart', () => {
  assert.equal(draftKey('charge', {}), 'charge');
  assert.equal(draftKey('charge', { to: 'h1', lot: 'l' }), 'charge?lot=l&to=h1');
  assert.notEqual(draftKey('charge', { to: 'h1' }), draftKey('charge', { to: 'h2' }));
});
