// A form being filled in, as a pure state machine. The core plans it on every change;
// what the plan says is what record will do.

import type { FormError, Plan, Problem } from '../../bridge/api';

export type Form = Readonly<Record<string, string>>;

export type Phase =
  | { kind: 'filling' }
  | { kind: 'asking' } // the plan has warnings: they are shown and a reason is asked for
  | { kind: 'saving' }
  | { kind: 'saved'; ids: readonly string[] }
  | { kind: 'failed'; problem: Problem };

export interface State {
  form: Form;
  serial: number; // grows with every change of the form
  plan: Plan | null; // the latest that came
  planned: number; // the serial it belongs to
  touched: ReadonlySet<string>;
  wantsSave: boolean; // the button was pressed for the form as it stands, and its plan is not here yet
  tries: number; // so often the person asked to save in vain; from the first time on every error shows
  why: string;
  phase: Phase;
}

export type Event =
  | { type: 'set'; field: string; value: string }
  | { type: 'fill'; values: Form } // several at once, by the program: not touched
  | { type: 'planned'; serial: number; plan: Plan }
  | { type: 'try' } // the main button
  | { type: 'why'; text: string }
  | { type: 'back' } // out of the warnings, or out of a failure
  | { type: 'saving' }
  | { type: 'saved'; ids: readonly string[] }
  | { type: 'failed'; problem: Problem };

export function begin(form: Form): State {
  return {
    form,
    serial: 0,
    plan: null,
    planned: -1,
    touched: new Set(),
    wantsSave: false,
    tries: 0,
    why: '',
    phase: { kind: 'filling' },
  };
}

export function step(s: State, e: Event): State {
  switch (e.type) {
    case 'set':
      if (isBusy(s)) return s;
      return {
        ...s,
        form: put(s.form, e.field, e.value),
        serial: s.serial + 1,
        touched: new Set([...s.touched, e.field]),
        wantsSave: false,
        phase: { kind: 'filling' },
      };
    case 'fill':
      if (isBusy(s)) return s;
      return {
        ...s,
        form: Object.entries(e.values).reduce((f, [k, v]) => put(f, k, v), s.form),
        serial: s.serial + 1,
        touched: new Set([...s.touched].filter((k) => !(k in e.values))),
        wantsSave: false,
        phase: { kind: 'filling' },
      };
    case 'planned': {
      if (e.serial < s.planned) return s;
      const now = { ...s, plan: e.plan, planned: e.serial };
      return now.wantsSave ? tried(now) : now;
    }
    case 'try':
      return tried(s);
    case 'why':
      return { ...s, why: e.text };
    case 'back':
      return s.phase.kind === 'asking' || s.phase.kind === 'failed' ? { ...s, phase: { kind: 'filling' } } : s;
    case 'saving':
      return s.phase.kind === 'asking' && s.why.trim() === '' ? s : { ...s, phase: { kind: 'saving' } };
    case 'saved':
      return { ...s, phase: { kind: 'saved', ids: e.ids } };
    case 'failed':
      return { ...s, wantsSave: false, phase: { kind: 'failed', problem: e.problem } };
  }
}

// tried goes on after a press of the button, once the plan for the form is here.
function tried(s: State): State {
  if (isBusy(s)) return s;
  if (s.plan === null || !isFresh(s)) return { ...s, wantsSave: true };
  if (!s.plan.ok) return { ...s, wantsSave: false, tries: s.tries + 1 };
  return { ...s, wantsSave: false, phase: { kind: s.plan.warnings.length > 0 ? 'asking' : 'saving' } };
}

// A field that is empty is not in the form: the core tells missing from empty that way.
function put(form: Form, field: string, value: string): Form {
  const { [field]: _, ...rest } = form;
  return value === '' ? rest : { ...rest, [field]: value };
}

const isBusy = (s: State): boolean => s.phase.kind === 'saving' || s.phase.kind === 'saved';

// isFresh tells whether the plan belongs to the form as it stands.
export const isFresh = (s: State): boolean => s.planned === s.serial;

// faultAt is what to show at a field: nothing before the person has been there.
export function faultAt(s: State, field: string): FormError | null {
  if (s.plan === null || !(s.tries > 0 || s.touched.has(field))) return null;
  const fault = s.plan.errors.find((e) => e.field === field);
  if (fault === undefined) return null;
  // Half a form is not wrong yet: "missing" waits for the first try to save.
  return s.tries === 0 && (fault.code === 'form.missing' || fault.code === 'form.nothing') ? null : fault;
}

// faultsNow is why the form cannot be saved as it stands, once the person has tried to.
export function faultsNow(s: State): readonly FormError[] {
  return s.tries > 0 && s.plan !== null && !s.plan.ok ? s.plan.errors : [];
}

// valueOf is what stands in a field: what was typed there, also when that is nothing;
// before that what the plan fills in.
export function valueOf(s: State, field: string): string {
  return s.form[field] ?? (s.touched.has(field) ? '' : (s.plan?.filled?.[field] ?? ''));
}

// isWorthKeeping tells whether a draft holds something the person did.
export function isWorthKeeping(s: State): boolean {
  return s.touched.size > 0 && s.phase.kind !== 'saved';
}

// draftKey keeps drafts of the same task for different things apart.
export function draftKey(task: string, start: Form): string {
  const rest = Object.entries(start)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([k, v]) => `${k}=${v}`)
    .join('&');
  return rest === '' ? task : `${task}?${rest}`;
}
