// Ties a form to the core: plans on every change, keeps a draft, records.

import { useEffect, useReducer, useRef, useState } from 'preact/hooks';
import { boot, hush, problemOf, useCore } from '../store/store';
import { begin, draftKey, faultAt, isFresh, isWorthKeeping, step, valueOf, type Form, type State } from './task';

export interface Handle {
  task: string;
  state: State;
  isRestored: boolean; // a draft was found and filled in
  set(field: string, value: string): void;
  fill(values: Form): void;
  value(field: string): string; // as typed
  shown(field: string): string; // and before that what the plan fills in
  fault(field: string): { code: string; got?: string; want?: string } | null;
  save(): void; // the main button
  saveAnyway(): void; // past the warnings, with a reason
  setWhy(text: string): void;
  back(): void;
  startAfresh(): void;
}

const planDelayMs = 80; // typing does not plan every key
const planAgainMs = 1000,
  plansAgain = 10; // after a question that was lost

// useTask begins with start (where the form was opened from) and fills (what stands in
// the books); a draft may take the place of fills, never of start.
export function useTask(task: string, start: Form, fills: Form = {}): Handle {
  const core = useCore();
  const [by] = useState(() => boot.value?.person?.id); // who fills it in
  const [state, send] = useReducer(step, { ...fills, ...start }, begin);
  const now = useRef(state);
  now.current = state;
  const key = draftKey(task, start);
  const [isRestored, setRestored] = useState(false);
  const isRecorded = useRef(false); // known before the next drawing: no draft is kept from here on
  const attempt = useRef({ serial: -1, why: '', id: '' }); // to record just this
  const kept = useRef<Promise<void> | null>(null); // a draft on its way to the store
  // keep writes at once, for the page may be left with the next key; what is typed while
  // a draft is being written goes into the next.
  const keep = () => {
    if (isRecorded.current || !isWorthKeeping(now.current) || kept.current !== null) return;
    const serial = now.current.serial;
    kept.current = core
      .saveDraft(key, now.current.form, by)
      .catch(() => undefined)
      .then(() => {
        kept.current = null;
        if (now.current.serial !== serial) keep();
      });
  };

  useEffect(() => {
    let isGone = false;
    core.draft(key).then(
      (kept) => {
        if (isGone || kept === null || now.current.touched.size > 0) return;
        const own = Object.fromEntries(Object.entries(kept).filter(([k]) => !(k in start)));
        if (Object.keys(own).length === 0) return;
        send({ type: 'fill', values: own });
        setRestored(true);
      },
      () => undefined,
    ); // a lost draft is a lost convenience, not a failure of the form
    return () => {
      isGone = true;
    };
  }, [key]);

  // A press of the button that finds no plan asks for one at once.
  useEffect(() => {
    if (isFresh(state)) return undefined;
    let isGone = false;
    const serial = state.serial;
    let timer: ReturnType<typeof setTimeout>;
    // A worker that is replaced meanwhile takes the question with it: it is asked again.
    const ask = (afterMs: number, left: number) => {
      timer = setTimeout(() => {
        core.plan(task, state.form).then(
          (plan) => {
            if (!isGone) send({ type: 'planned', serial, plan });
          },
          (e: unknown) => {
            if (isGone) return;
            if (now.current.wantsSave) send({ type: 'failed', problem: problemOf(e) });
            else if (left > 0) ask(planAgainMs, left - 1);
          },
        );
      }, afterMs);
    };
    ask(serial === 0 || state.wantsSave ? 0 : planDelayMs, plansAgain);
    return () => {
      isGone = true;
      clearTimeout(timer);
    };
  }, [task, state.serial, state.wantsSave]);

  useEffect(() => {
    if (!isWorthKeeping(state)) return undefined;
    keep();
    return undefined;
  }, [state.serial]);

  useEffect(() => {
    if (state.phase.kind !== 'saving') return;
    hush();
    const { serial } = state,
      why = state.why.trim();
    if (attempt.current.serial !== serial || attempt.current.why !== why)
      attempt.current = { serial, why, id: crypto.randomUUID() };
    core
      .record(task, state.form, why, { draft: key, attempt: attempt.current.id, ...(by === undefined ? {} : { by }) })
      .then(
        (done) => {
          isRecorded.current = true;
          void core.saveDraft(key, {}, by).catch(() => undefined);
          send({ type: 'saved', ids: done.ids });
        },
        (e: unknown) => send({ type: 'failed', problem: problemOf(e) }),
      );
  }, [state.phase.kind]);

  return {
    task,
    state,
    isRestored,
    set: (field, value) => send({ type: 'set', field, value }),
    fill: (values) => send({ type: 'fill', values }),
    value: (field) => state.form[field] ?? '',
    shown: (field) => valueOf(state, field),
    fault: (field) => faultAt(state, field),
    save: () => send({ type: 'try' }),
    saveAnyway: () => send({ type: 'saving' }),
    setWhy: (text) => send({ type: 'why', text }),
    back: () => send({ type: 'back' }),
    startAfresh: () => {
      void core.saveDraft(key, {}, by).catch(() => undefined);
      setRestored(false);
      const blank = Object.fromEntries(Object.keys(state.form).map((k) => [k, '']));
      send({ type: 'fill', values: { ...blank, ...fills, ...start } });
    },
  };
}
