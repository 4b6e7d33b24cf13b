// Fields bound to a form: label, value and fault come from its handle.

import type { ListsView, LotView, VesselView } from '../../bridge/api';
import { Choice, Checks, Counter, NumberField, Select, TextField, Toggle, type Option } from '../controls/controls';
import { areaUnits, filmUnits, lengthUnits, massUnits, pressureUnits, readings, tempUnits } from '../controls/quantity';
import { Swatch } from '../colour/swatch';
import { dateWords, words } from '../i18n/i18n';
import { prefs } from '../store/store';
import { checkCodes, type Spec } from './specs';
import { ReasonPicker } from './reason-picker';
import type { Handle } from './use-task';

interface Bound {
  h: Handle;
  name: string;
  isOptional?: boolean | undefined;
}

// fieldLabel names a field. The task may name it its own way.
export function fieldLabel(task: string, name: string): string {
  const w = words();
  return w.fields[`${task}:${name}`] ?? w.fields[name] ?? name;
}

// bound is what every control needs of the form.
function bound({ h, name, isOptional }: Bound) {
  const w = words();
  return {
    name,
    label: fieldLabel(h.task, name),
    hint: w.hints[`${h.task}:${name}`] ?? w.hints[name],
    value: h.shown(name),
    onValue: (v: string) => h.set(name, v),
    fault: h.fault(name),
    isOptional,
  };
}

export function MassIn(p: Bound & { isLarge?: boolean }) {
  return <NumberField {...bound(p)} units={massUnits[prefs.value.units]} isLarge={p.isLarge === true} />;
}

const fewest = 6; // more places than this go into a list

export function PlaceIn({ places, only, ...p }: Bound & { places: readonly VesselView[]; only: readonly string[] }) {
  const b = bound(p);
  const fits = places.filter((v) => only.includes(v.kind));
  const options: Option[] = fits.map((v) => ({
    value: v.place,
    label: v.name,
    note:
      v.layers.length === 0
        ? words().vessel.empty
        : [v.powder?.name, v.mass.text].filter((s) => s !== undefined).join(' · '),
    mark: v.powder === undefined ? undefined : <Swatch powder={v.powder} size={28} />,
  }));
  return options.length <= fewest ? <Choice {...b} options={options} isColumn /> : <Select {...b} options={options} />;
}

// LotPicker shows lots in use-first order; the first is the one to take.
export function LotPicker({ lots, ...p }: Bound & { lots: readonly LotView[] }) {
  const w = words();
  const b = bound(p);
  if (lots.length === 0) return <p class="empty">{w.noLots}</p>;
  const options: Option[] = lots.map((l) => ({
    value: l.lot,
    label: l.batch,
    note: [
      l.stock.text,
      l.use_by === undefined ? '' : w.useBy(dateWords(l.use_by)),
      l.state === 'usable' ? '' : (w.lotStates[l.state] ?? l.state),
    ]
      .filter((s) => s !== '')
      .join(' · '),
    mark: (
      <span class={l.turn === 1 ? 'turn is-first' : 'turn'} aria-label={l.turn > 0 ? w.turn(l.turn) : w.noTurn}>
        {l.turn > 0 ? l.turn : '–'}
      </span>
    ),
  }));
  return options.length <= fewest ? <Choice {...b} options={options} isColumn /> : <Select {...b} options={options} />;
}

const filmUnit = () => filmUnits[prefs.value.units];

// Plain renders one field of a plain form.
export function Plain({ h, spec, lists }: { h: Handle; spec: Spec; lists: ListsView | null }) {
  const w = words();
  const p = { h, name: spec.name, isOptional: spec.isOptional };
  const b = bound(p);
  switch (spec.kind) {
    case 'mass':
      return <MassIn {...p} isLarge={spec.isOptional !== true} />;
    case 'area':
      return <NumberField {...b} units={areaUnits[prefs.value.units]} />;
    case 'temp':
      return <NumberField {...b} units={tempUnits[prefs.value.units]} isSigned />;
    case 'pressure':
      return <NumberField {...b} units={pressureUnits[prefs.value.units]} />;
    case 'length':
      return <NumberField {...b} units={lengthUnits[prefs.value.units]} />;
    case 'film':
      return <NumberField {...b} units={[filmUnit()]} />;
    case 'spots':
      return (
        <NumberField
          {...b}
          isList
          isLarge
          unit={filmUnit()}
          hint={[b.hint ?? '', readings(b.value) > 0 ? w.readings(readings(b.value)) : '']
            .filter((x) => x !== '')
            .join(' ')}
        />
      );
    case 'whole':
      return <NumberField {...b} isWhole />;
    case 'decimal':
      return <NumberField {...b} />;
    case 'text':
      return <TextField {...b} />;
    case 'long':
      return <TextField {...b} isLong />;
    case 'date':
      return <TextField {...b} type="date" />;
    case 'count':
      return <Counter {...b} />;
    case 'yes':
      return (
        <Toggle
          name={b.name}
          label={b.label}
          hint={b.hint}
          fault={b.fault}
          isOn={b.value === 'yes'}
          onValue={(v) => h.set(spec.name, v ? 'yes' : '')}
        />
      );
    case 'reason':
      return (
        <ReasonPicker
          name={b.name}
          label={b.label}
          fault={b.fault}
          value={b.value}
          onValue={b.onValue}
          reasons={w.reasonsFor[h.task] ?? w.whys}
        />
      );
    case 'checks': {
      const on = b.value.split(' ').filter((c) => c !== '');
      return (
        <Checks
          name={b.name}
          label={b.label}
          options={checkCodes.map((c) => ({ value: c, label: w.checks[c] ?? c }))}
          value={on}
          onValue={(v) => h.set(spec.name, v.join(' '))}
        />
      );
    }
    case 'choice':
      return (
        <Choice
          {...b}
          options={Object.entries(w[spec.of]).map(([value, label]) => ({
            value,
            label,
            note: spec.of === 'levels' ? w.levelNotes[value] : undefined,
          }))}
          isColumn={spec.of === 'levels' || spec.of === 'modes' || spec.of === 'placeKinds' || spec.of === 'grounds'}
        />
      );
    case 'powder':
      return (
        <Select {...b} options={(lists?.powders ?? []).map((x) => ({ value: x.id, label: x.name, note: x.code }))} />
      );
    case 'booth':
      return <Select {...b} options={(lists?.booths ?? []).map((x) => ({ value: x.id, label: x.name }))} />;
    case 'lot':
      return (
        <Select
          {...b}
          options={(lists?.lots ?? []).map((l) => ({
            value: l.lot,
            label: `${l.powder.name} · ${l.batch}`,
            note: l.stock.text,
          }))}
        />
      );
    case 'place':
      // What is recovered goes into a bin, not back into the vessel that feeds the run.
      return (
        <PlaceIn
          {...p}
          places={(lists?.places ?? []).filter((v) => h.task !== 'recover' || v.feeds_run === undefined)}
          only={spec.only}
        />
      );
  }
}
