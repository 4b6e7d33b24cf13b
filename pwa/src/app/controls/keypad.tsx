// The keypad: large keys docked at the bottom, for gloves. It writes into the number
// field that has the focus; the phone's own keyboard is one key away.

import { signal } from '@preact/signals';
import { words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { prefs } from '../store/store';
import { lastOf, press } from './quantity';

export interface Target {
  input: HTMLInputElement;
  label: string;
  units: readonly string[];
  unit(): string;
  read(): string;
  write(figure: string): void;
  setUnit(unit: string): void;
  isWhole: boolean;
  isList: boolean; // several figures parted by spaces
  isSigned: boolean; // with a key for the sign
}

export const target = signal<Target | null>(null);
export const isNative = signal(false); // the person asked for the phone's keyboard

export const isCoarse = (): boolean => typeof matchMedia === 'function' && matchMedia('(pointer: coarse)').matches;

let closing: ReturnType<typeof setTimeout> | undefined;

export function openPad(t: Target): void {
  clearTimeout(closing);
  target.value = t;
  requestAnimationFrame(() => t.input.scrollIntoView({ block: 'center' }));
}

export function closePad(): void {
  clearTimeout(closing);
  target.value = null;
}

// closePadSoon leaves the page still until a tap outside is over: were it to move
// between the finger's down and up, the tap would be lost.
export function closePadSoon(input: HTMLInputElement | null): void {
  clearTimeout(closing);
  closing = setTimeout(() => {
    if (target.peek()?.input === input) target.value = null;
  }, 300);
}

// Keys must not take the focus from the field they write into.
const keepFocus = (e: Event) => e.preventDefault();

export function Keypad() {
  const t = target.value;
  if (t === null) return null;
  const w = words();
  const mark = prefs.value.lang === 'es' ? ',' : '.';
  const key = (k: string) => () => t.write(press(t.read(), k));
  const digit = (d: string) => (
    <button type="button" class="pad-digit" onPointerDown={keepFocus} onMouseDown={keepFocus} onClick={key(d)}>
      {d}
    </button>
  );
  const useKeyboard = () => {
    isNative.value = true;
    closePad();
    t.input.blur();
    requestAnimationFrame(() => t.input.focus());
  };
  const [first, second] = t.units;
  const unitKey = (u: string | undefined) =>
    u === undefined ? (
      <span class="pad-blank" />
    ) : (
      <button
        type="button"
        class="pad-unit"
        aria-pressed={t.unit() === u}
        onPointerDown={keepFocus}
        onMouseDown={keepFocus}
        onClick={() => t.setUnit(u)}
      >
        {u}
      </button>
    );
  const signKey = (
    <button
      type="button"
      class="pad-digit"
      aria-label={w.pad.sign}
      onPointerDown={keepFocus}
      onMouseDown={keepFocus}
      onClick={key('-')}
    >
      ±
    </button>
  );
  const aside = (label: string, icon: 'erase' | 'keys', act: () => void) => (
    <button
      type="button"
      class="pad-side"
      aria-label={label}
      onPointerDown={keepFocus}
      onMouseDown={keepFocus}
      onClick={act}
    >
      <Icon name={icon} size={28} />
    </button>
  );
  return (
    <div class="pad" role="region" aria-label={`${w.pad.title}: ${t.label}`}>
      <p class="pad-readout" aria-hidden="true">
        <span>{t.label}</span>
        <b>
          {t.read() === '' ? '–' : t.isList ? lastOf(t.read()) : t.read()} {t.unit()}
        </b>
      </p>
      <div class="pad-keys">
        {digit('1')}
        {digit('2')}
        {digit('3')}
        {aside(w.pad.erase, 'erase', key('<'))}
        {digit('4')}
        {digit('5')}
        {digit('6')}
        {t.units.length > 1 ? unitKey(first) : t.isSigned ? signKey : <span class="pad-blank" />}
        {digit('7')}
        {digit('8')}
        {digit('9')}
        {t.units.length > 1 ? unitKey(second) : aside(w.pad.keyboard, 'keys', useKeyboard)}
        {t.isWhole && !t.isList ? (
          <span class="pad-blank" />
        ) : t.isList ? (
          <button type="button" class="pad-unit" onPointerDown={keepFocus} onMouseDown={keepFocus} onClick={key(' ')}>
            {w.pad.next}
          </button>
        ) : (
          <button
            type="button"
            class="pad-digit"
            aria-label={w.pad.mark}
            onPointerDown={keepFocus}
            onMouseDown={keepFocus}
            onClick={key(mark)}
          >
            {mark}
          </button>
        )}
        {digit('0')}
        {t.isList && !t.isWhole ? (
          <button
            type="button"
            class="pad-digit"
            aria-label={w.pad.mark}
            onPointerDown={keepFocus}
            onMouseDown={keepFocus}
            onClick={key(mark)}
          >
            {mark}
          </button>
        ) : t.units.length > 1 ? (
          aside(w.pad.keyboard, 'keys', useKeyboard)
        ) : (
          <span class="pad-blank" />
        )}
        <button
          type="button"
          class="pad-done"
          onPointerDown={keepFocus}
          onMouseDown={keepFocus}
          onClick={() => {
            closePad();
            t.input.blur();
          }}
        >
          {w.pad.done}
        </button>
      </div>
    </div>
  );
}
