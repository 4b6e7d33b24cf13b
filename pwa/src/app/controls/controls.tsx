// The controls every form is made of: large targets, a label above, the error below
// in words, and the state never told by colour alone.

import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import { advise, words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';
import { closePadSoon, isCoarse, isNative, openPad, target } from './keypad';
import { asList, join, split } from './quantity';
import { cleanText } from './scan';

export interface Fault {
  code: string;
  got?: string;
  want?: string;
}

// FieldProps: name is the field of the form, by which a message leads to it.
interface FieldProps {
  label: string;
  name?: string | undefined;
  hint?: string | undefined;
  fault?: Fault | null;
  isOptional?: boolean | undefined;
}

// Named is a label, its control and what is wrong with it.
function Named({
  id,
  label,
  name,
  hint,
  fault,
  isOptional,
  children,
}: FieldProps & { id: string; children: ComponentChildren }) {
  const w = words();
  return (
    <div class={fault ? 'field has-fault' : 'field'} data-field={name}>
      <label for={id}>
        {label}
        {isOptional === true && <span class="optional"> {w.optional}</span>}
      </label>
      {children}
      {hint !== undefined && hint !== '' && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      <FaultLine id={id} fault={fault} />
    </div>
  );
}

export function FaultLine({ id, fault }: { id: string; fault?: Fault | null | undefined }) {
  if (!fault) return null;
  const a = advise(fault.code);
  return (
    <p class="fault" id={`${id}-fault`}>
      <Icon name="warn" size={20} />
      <span>
        <b>{a.says}.</b> {a.next}
        {fault.want !== undefined && fault.want !== '' && <> ({fault.want})</>}
      </span>
    </p>
  );
}

const described = (id: string, hint: string | undefined, fault: Fault | null | undefined): string | undefined => {
  const parts = [hint !== undefined && hint !== '' ? `${id}-hint` : '', fault ? `${id}-fault` : ''].filter(
    (s) => s !== '',
  );
  return parts.length === 0 ? undefined : parts.join(' ');
};

export interface TextFieldProps extends FieldProps {
  value: string;
  onValue: (v: string) => void;
  type?: 'text' | 'password' | 'date' | 'search';
  isLong?: boolean | undefined;
  autoComplete?: string;
}

export function TextField(p: TextFieldProps) {
  const id = useId();
  const common = {
    id,
    value: p.value,
    'aria-invalid': p.fault ? true : undefined,
    'aria-describedby': described(id, p.hint, p.fault),
  } as const;
  return (
    <Named {...p} id={id}>
      {p.isLong === true ? (
        <textarea {...common} rows={3} onInput={(e) => p.onValue(cleanText(e.currentTarget, p.value, true))} />
      ) : (
        <OneLine {...common} {...p} />
      )}
    </Named>
  );
}

// OneLine is an input whose type the typings of JSX want to see spelt out.
function OneLine({
  type = 'text',
  autoComplete = 'off',
  onValue,
  ...p
}: Pick<TextFieldProps, 'type' | 'autoComplete' | 'value' | 'onValue'> & {
  id: string;
  'aria-invalid': true | undefined;
  'aria-describedby': string | undefined;
}) {
  const aria = {
    id: p.id,
    value: p.value,
    'aria-invalid': p['aria-invalid'],
    'aria-describedby': p['aria-describedby'],
    autoComplete,
  };
  switch (type) {
    case 'password':
      return <input {...aria} type="password" onInput={(e) => onValue(e.currentTarget.value)} />;
    case 'date':
      return <input {...aria} type="date" onInput={(e) => onValue(e.currentTarget.value)} />;
    case 'search':
      return <input {...aria} type="search" onInput={(e) => onValue(cleanText(e.currentTarget, p.value))} />;
    case 'text':
      return (
        <input
          {...aria}
          type="text"
          enterKeyHint="next"
          onInput={(e) => onValue(cleanText(e.currentTarget, p.value))}
        />
      );
  }
}

export interface NumberFieldProps extends FieldProps {
  value: string; // "12.5 kg", "3", "72 68 75"
  onValue: (v: string) => void;
  units?: readonly string[]; // one of them follows the figure in the value; none: a bare figure
  unit?: string; // of a bare figure: shown behind it and no part of the value
  isWhole?: boolean;
  isSigned?: boolean; // may be below zero
  isList?: boolean;
  isLarge?: boolean;
}

// NumberField writes with the large keypad on touch screens and with any keyboard.
export function NumberField(p: NumberFieldProps) {
  const w = words();
  const id = useId();
  const input = useRef<HTMLInputElement>(null);
  const units = p.units ?? [];
  const now = useRef(p);
  now.current = p;
  // The unit chosen before a figure stands there has no other home than here.
  const wished = useRef('');
  const parts = split(p.value, units);
  const unit = parts.figure === '' && wished.current !== '' ? wished.current : parts.unit;
  const put = (figure: string, u: string) => now.current.onValue(p.isList === true ? asList(figure) : join(figure, u));
  const unitNow = () => {
    const s = split(now.current.value, units);
    return s.figure === '' && wished.current !== '' ? wished.current : s.unit;
  };
  const setUnit = (u: string) => {
    wished.current = u;
    put(split(now.current.value, units).figure, u);
  };
  const figureNow = () => (p.isList === true ? now.current.value : split(now.current.value, units).figure);
  const open = () => {
    if (input.current === null) return;
    openPad({
      input: input.current,
      label: p.label,
      units,
      unit: unitNow,
      read: figureNow,
      write: (f) => put(f, unitNow()),
      setUnit,
      isWhole: p.isWhole === true,
      isList: p.isList === true,
      isSigned: p.isSigned === true,
    });
  };
  // The pad shows what the field holds: tell it when that has changed.
  useEffect(() => {
    const t = target.peek();
    if (t !== null && t.input === input.current) target.value = { ...t };
    if (p.isList === true && input.current !== null) input.current.scrollLeft = input.current.scrollWidth; // where one types
  }, [p.value, unit]);
  const usesPad = isCoarse() && !isNative.value;
  return (
    <Named {...p} id={id}>
      <div
        class={['number', p.isLarge === true ? 'is-large' : '', p.isList === true ? 'is-list' : '']
          .filter((c) => c !== '')
          .join(' ')}
      >
        <input
          id={id}
          ref={input}
          type="text"
          value={p.isList === true ? p.value : parts.figure}
          data-list={p.isList === true ? 'readings' : undefined}
          autoComplete="off"
          enterKeyHint="next"
          inputMode={
            usesPad
              ? 'none'
              : p.isList === true || p.isSigned === true
                ? 'text'
                : p.isWhole === true
                  ? 'numeric'
                  : 'decimal'
          }
          aria-invalid={p.fault ? true : undefined}
          aria-describedby={described(id, p.hint, p.fault)}
          onInput={(e) => put(cleanText(e.currentTarget, figureNow()), unit)}
          onFocus={() => {
            if (usesPad) open();
          }}
          onBlur={() => closePadSoon(input.current)}
        />
        {units.length === 1 && <span class="unit">{unit}</span>}
        {p.unit !== undefined && p.unit !== '' && <span class="unit">{p.unit}</span>}
        {units.length > 1 && (
          <div class="units" role="group" aria-label={w.pad.unit}>
            {units.map((u) => (
              <button type="button" key={u} aria-pressed={u === unit} onClick={() => setUnit(u)}>
                {u}
              </button>
            ))}
          </div>
        )}
        <button
          type="button"
          class="pad-open"
          aria-label={w.pad.open}
          onClick={() => {
            isNative.value = false;
            input.current?.focus();
            open();
          }}
        >
          <Icon name="pad" />
        </button>
      </div>
    </Named>
  );
}

export interface Option {
  value: string;
  label: string;
  note?: string | undefined;
  icon?: IconName;
  mark?: ComponentChildren;
}

// Choice is one of a few, all of them in sight.
export function Choice({
  label,
  name,
  options,
  value,
  onValue,
  fault,
  hint,
  isOptional,
  isColumn,
}: FieldProps & { options: readonly Option[]; value: string; onValue: (v: string) => void; isColumn?: boolean }) {
  const id = useId();
  const w = words();
  return (
    <fieldset
      class={fault ? 'field has-fault' : 'field'}
      data-field={name}
      aria-describedby={described(id, hint, fault)}
    >
      <legend>
        {label}
        {isOptional === true && <span class="optional"> {w.optional}</span>}
      </legend>
      <div class={isColumn === true ? 'choice is-column' : 'choice'}>
        {options.map((o) => (
          <label key={o.value} class={o.value === value ? 'option is-on' : 'option'}>
            <input
              type="radio"
              name={id}
              value={o.value}
              checked={o.value === value}
              onClick={() => {
                if (isOptional === true && o.value === value) onValue('');
              }}
              onChange={() => onValue(o.value)}
            />
            {o.mark}
            <span class="option-words">
              <b>{o.label}</b>
              {o.note !== undefined && o.note !== '' && <small>{o.note}</small>}
            </span>
            <Icon name="ok" size={20} />
          </label>
        ))}
      </div>
      {hint !== undefined && hint !== '' && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      <FaultLine id={id} fault={fault} />
    </fieldset>
  );
}

// Checks is any of a few.
export function Checks({
  label,
  name,
  options,
  value,
  onValue,
}: FieldProps & { options: readonly Option[]; value: readonly string[]; onValue: (v: string[]) => void }) {
  return (
    <fieldset class="field" data-field={name}>
      <legend>{label}</legend>
      <div class="choice">
        {options.map((o) => {
          const isOn = value.includes(o.value);
          return (
            <label key={o.value} class={isOn ? 'option is-on' : 'option'}>
              <input
                type="checkbox"
                checked={isOn}
                onChange={() => onValue(isOn ? value.filter((v) => v !== o.value) : [...value, o.value])}
              />
              <span class="option-words">
                <b>{o.label}</b>
              </span>
              <Icon name="ok" size={20} />
            </label>
          );
        })}
      </div>
    </fieldset>
  );
}

// Toggle is a yes or no that starts at no.
export function Toggle({
  label,
  name,
  hint,
  fault,
  isOn,
  onValue,
}: FieldProps & { isOn: boolean; onValue: (v: boolean) => void }) {
  const id = useId();
  return (
    <div class={fault ? 'toggle-field has-fault' : 'toggle-field'} data-field={name}>
      <label class={isOn ? 'toggle is-on' : 'toggle'}>
        <input
          type="checkbox"
          role="switch"
          checked={isOn}
          aria-describedby={described(id, undefined, fault)}
          onChange={() => onValue(!isOn)}
        />
        <span class="toggle-box" aria-hidden="true">
          <Icon name={isOn ? 'ok' : 'minus'} size={22} />
        </span>
        <span>
          <b>{label}</b>
          {hint !== undefined && <small>{hint}</small>}
        </span>
      </label>
      <FaultLine id={id} fault={fault} />
    </div>
  );
}

// Counter steps a small whole number up and down: people, packs, coats.
export function Counter({
  label,
  name,
  value,
  onValue,
  least = 0,
  isOptional,
  fault,
}: FieldProps & { value: string; onValue: (v: string) => void; least?: number }) {
  const id = useId();
  const w = words();
  const n = /^\d+$/.test(value) ? Number(value) : null;
  const set = (v: number) => onValue(String(Math.max(least, v)));
  return (
    <Named id={id} label={label} name={name} isOptional={isOptional} fault={fault ?? null}>
      <div class="counter">
        <button
          type="button"
          aria-label={w.less(label)}
          disabled={n === null || n <= least}
          onClick={() => set((n ?? least) - 1)}
        >
          <Icon name="minus" />
        </button>
        <input
          id={id}
          type="text"
          inputMode="numeric"
          autoComplete="off"
          value={value}
          aria-invalid={fault ? true : undefined}
          aria-describedby={described(id, undefined, fault)}
          onInput={(e) => onValue(cleanText(e.currentTarget, value))}
        />
        <button
          type="button"
          aria-label={w.oneMore(label)}
          onClick={() => set(n === null ? Math.max(least, 1) : n + 1)}
        >
          <Icon name="plus" />
        </button>
      </div>
    </Named>
  );
}

// Select is one of many.
export function Select({
  label,
  name,
  options,
  value,
  onValue,
  fault,
  hint,
  isOptional,
}: FieldProps & { options: readonly Option[]; value: string; onValue: (v: string) => void }) {
  const id = useId();
  const w = words();
  return (
    <Named id={id} label={label} name={name} hint={hint} fault={fault ?? null} isOptional={isOptional}>
      <select
        id={id}
        value={value}
        aria-invalid={fault ? true : undefined}
        aria-describedby={described(id, hint, fault)}
        onChange={(e) => onValue(e.currentTarget.value)}
      >
        <option value="">{w.choose}</option>
        {options.map((o) => (
          <option key={o.value} value={o.value}>
            {o.note === undefined || o.note === '' ? o.label : `${o.label} · ${o.note}`}
          </option>
        ))}
      </select>
    </Named>
  );
}
