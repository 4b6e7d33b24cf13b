// Digits for a PIN: large keys for gloves, and a field that takes any keyboard.

import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { isCoarse } from '../controls/keypad';
import { words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { isWhole, press } from './pin';

// PinPad gives the digits once they are whole: at the length that is known, else at
// the press of the last key. A change of `serial` empties it for another try.
export function PinPad({
  label,
  length,
  serial,
  isBusy,
  onDone,
}: {
  label: string;
  length: number | null;
  serial: number;
  isBusy: boolean;
  onDone: (digits: string) => void;
}) {
  const w = words();
  const id = useId();
  const field = useRef<HTMLInputElement>(null);
  const [digits, setDigits] = useState('');
  useEffect(() => {
    setDigits('');
    if (!isCoarse()) field.current?.focus();
  }, [serial]);
  const put = (next: string) => {
    setDigits(next);
    if (length !== null && next.length === length) onDone(next);
  };
  const done = () => {
    if (isWhole(digits)) onDone(digits);
  };
  const key = (k: string) => (
    <button type="button" key={k} disabled={isBusy} onClick={() => put(press(digits, k))}>
      {k}
    </button>
  );
  return (
    <form
      class="pin"
      onSubmit={(e) => {
        e.preventDefault();
        done();
      }}
    >
      <label for={id}>{label}</label>
      <input
        id={id}
        ref={field}
        type="password"
        inputMode={isCoarse() ? 'none' : 'numeric'}
        autoComplete="off"
        maxLength={6}
        value={digits}
        readOnly={isBusy}
        onInput={(e) => put(press('', e.currentTarget.value))}
      />
      <div class="pin-keys">
        {['1', '2', '3', '4', '5', '6', '7', '8', '9'].map(key)}
        <button type="button" aria-label={w.pad.erase} disabled={isBusy} onClick={() => put(digits.slice(0, -1))}>
          <Icon name="erase" size={28} />
        </button>
        {key('0')}
        <button type="submit" class="main" disabled={isBusy || !isWhole(digits)}>
          {isBusy ? '…' : w.pad.done}
        </button>
      </div>
    </form>
  );
}
