// The frame of every form: fields, what it would do, one main button at the bottom,
// and the warnings with their reason before a warned record.

import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { detailText } from '../attention/attention';
import { Page, ProblemBox } from '../controls/page';
import { advise, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { closePad, target } from '../controls/keypad';
import { onEnter } from '../controls/scan';
import type { Route } from '../route/route';
import { back, replace, say } from '../store/store';
import { BeforeAfter } from '../vessel/vessel';
import { fieldLabel } from './fields';
import { ReasonPicker } from './reason-picker';
import { faultsNow, isFresh } from './task';
import type { Handle } from './use-task';

export interface TaskScreenProps {
  h: Handle;
  title: string;
  under?: ComponentChildren;
  up: Route;
  label?: string; // of the main button
  preview?: ComponentChildren;
  previewAt?: 'first' | 'wide'; // on a phone above the fields, or not at all because the fields show it among themselves
  children: ComponentChildren;
  next?: Route; // where to go once saved; else back
}

export function TaskScreen(p: TaskScreenProps) {
  const w = words();
  const { h } = p;
  const s = h.state;
  const body = useRef<HTMLDivElement>(null);

  useEffect(() => {
    if (s.phase.kind !== 'saved') return;
    say(w.savedHere);
    if (p.next !== undefined) replace(p.next);
    else back(p.up);
  }, [s.phase.kind]);

  // After a vain try the first field that is wrong comes into sight and gets the focus.
  useEffect(() => {
    if (s.tries > 0) lead(body.current?.querySelector('.has-fault'));
  }, [s.tries]);

  const warnings = s.plan !== null && s.plan.ok ? s.plan.warnings : [];
  const isSaving = s.phase.kind === 'saving' || s.phase.kind === 'saved';
  return (
    <Page title={p.title} under={p.under} up={p.up}>
      <form
        class={p.preview === undefined ? 'task' : 'task has-preview'}
        aria-busy={!isFresh(s)}
        onKeyDown={onEnter}
        onSubmit={(e) => {
          e.preventDefault();
          h.save();
        }}
        noValidate
      >
        <div class="task-fields" ref={body}>
          {h.isRestored && s.phase.kind === 'filling' && (
            <p class="restored">
              <Icon name="note" size={20} />
              <span>{w.restored}</span>
              <button type="button" class="quiet" onClick={h.startAfresh}>
                {w.startAfresh}
              </button>
            </p>
          )}
          {p.children}
        </div>
        {p.preview !== undefined && (
          <div
            class={
              p.previewAt === 'first'
                ? 'task-preview is-first'
                : p.previewAt === 'wide'
                  ? 'task-preview is-wide-only'
                  : 'task-preview'
            }
          >
            {p.preview}
          </div>
        )}
        <div class={target.value === null ? 'task-foot' : 'task-foot is-under'}>
          {warnings.length > 0 && s.phase.kind !== 'asking' && (
            <p class="foot-note is-warn">
              <Icon name="warn" size={20} />
              <span>
                {advise(warnings[0]?.code ?? '').says}
                {warnings.length > 1 ? ` ${w.andMore(warnings.length - 1)}` : ''}
              </span>
            </p>
          )}
          <Why h={h} fields={body.current} />
          {s.phase.kind === 'failed' && <ProblemBox problem={s.phase.problem} />}
          <button type="submit" class="main" disabled={isSaving} onClick={closePad}>
            <Icon name={warnings.length > 0 ? 'warn' : 'phone'} />
            <span>{isSaving ? w.saving : (p.label ?? w.save)}</span>
          </button>
        </div>
        {s.phase.kind === 'asking' && <Warned h={h} />}
      </form>
    </Page>
  );
}

// lead brings a field into sight and puts the focus there.
function lead(field: Element | null | undefined): void {
  field?.scrollIntoView({ block: 'center' });
  field?.querySelector<HTMLElement>('input,select,textarea,button')?.focus();
}

const whyMax = 2; // so many lines beside the button; the fields say the rest

// Why says beside the button what keeps the form from being saved; a tap leads to the
// field, if it is on this screen.
function Why({ h, fields }: { h: Handle; fields: HTMLElement | null }) {
  const w = words();
  const faults = faultsNow(h.state),
    rest = faults.length - whyMax;
  return (
    <>
      {faults.slice(0, whyMax).map((e, i) => {
        const a = advise(e.code),
          at = fields?.querySelector(`[data-field="${CSS.escape(e.field)}"]`);
        const text = (
          <span>
            {e.field !== '' && <b>{fieldLabel(h.task, e.field)}: </b>}
            {a.says}. {a.next}
            {i === whyMax - 1 && rest > 0 && ` ${w.andMore(rest)}`}
          </span>
        );
        return at == null ? (
          <p class="foot-note is-bad" role="alert" key={e.field + e.code}>
            <Icon name="warn" size={20} />
            {text}
          </p>
        ) : (
          <button type="button" class="quiet foot-note is-bad" key={e.field + e.code} onClick={() => lead(at)}>
            <Icon name="warn" size={20} />
            {text}
          </button>
        );
      })}
    </>
  );
}

// Warned lists what speaks against it and asks for a reason. It never blocks.
function Warned({ h }: { h: Handle }) {
  const w = words();
  const box = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const d = box.current;
    d?.showModal();
    return () => d?.close();
  }, []);
  const why = h.state.why;
  return (
    <dialog
      class="sheet"
      ref={box}
      aria-labelledby="warned-title"
      onCancel={(e) => {
        e.preventDefault();
        h.back();
      }}
    >
      <h2 id="warned-title">
        <Icon name="warn" />
        {w.warnedTitle}
      </h2>
      <ul class="warn-list">
        {(h.state.plan?.warnings ?? []).map((x) => {
          const a = advise(x.code);
          return (
            <li key={x.code}>
              <b>{a.says}</b>
              {x.detail !== undefined && x.detail !== '' && <em> {detailText(x.detail)}</em>}
              <p>{a.next}</p>
            </li>
          );
        })}
      </ul>
      <ReasonPicker value={why} onValue={h.setWhy} label={w.whyAsk} />
      <div class="sheet-foot">
        <button type="button" class="plain" onClick={h.back}>
          {w.goBack}
        </button>
        <button type="button" class="main" disabled={why.trim() === ''} onClick={h.saveAnyway}>
          <span>{w.saveAnyway}</span>
        </button>
      </div>
    </dialog>
  );
}

// Places shows every place the plan touches, before and after.
export function Places({ h, feed }: { h: Handle; feed?: string | undefined }) {
  const plan = h.state.plan;
  if (plan === null || !plan.ok || (!isFresh(h.state) && plan.after.length === 0)) return null;
  return (
    <>
      {plan.after.map((after) => (
        <BeforeAfter
          key={after.place}
          before={plan.before.find((b) => b.place === after.place)}
          after={after}
          isFeed={after.place === feed}
        />
      ))}
    </>
  );
}
