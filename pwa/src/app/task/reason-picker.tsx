// The common reasons at a tap, and room for any other.

import { useId } from 'preact/hooks';
import { FaultLine, type Fault } from '../controls/controls';
import { cleanText } from '../controls/scan';
import { words } from '../i18n/i18n';

interface ReasonPickerProps {
  value: string;
  onValue: (v: string) => void;
  label: string;
  name?: string;
  fault?: Fault | null;
  reasons?: readonly string[];
}

// ReasonPicker offers the common reasons at a tap and room for any other.
export function ReasonPicker({ value, onValue, label, name, fault, reasons }: ReasonPickerProps) {
  const w = words();
  const id = useId();
  return (
    <fieldset
      class={fault ? 'field has-fault' : 'field'}
      data-field={name}
      aria-describedby={fault ? `${id}-fault` : undefined}
    >
      <legend>{label}</legend>
      <div class="chips">
        {(reasons ?? w.whys).map((r) => (
          <button
            type="button"
            key={r}
            class="chip"
            aria-pressed={value === r}
            onClick={() => onValue(value === r ? '' : r)}
          >
            {r}
          </button>
        ))}
      </div>
      <textarea
        rows={2}
        aria-label={w.whyOwn}
        placeholder={w.whyOwn}
        value={value}
        onInput={(e) => onValue(cleanText(e.currentTarget, value, true))}
      />
      <FaultLine id={id} fault={fault} />
    </fieldset>
  );
}
