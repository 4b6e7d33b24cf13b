// A calculation's form made from its description. Values are kept as typed, under a
// path such as "lots.0.mass_mg"; a value becomes a number only by moving its decimal
// mark, as text. Pure.

import type { Field, Output } from '../../bridge/types.gen';
import { shift } from '../controls/quantity';

export type Mark = '.' | ','; // the decimal mark of the person

export type Typed = Readonly<Record<string, string>>;

// Shown is how a stored unit is shown to people: its name and how many places its
// decimal mark is moved. mg → kg is six places.
export interface Shown {
  unit: string;
  places: number;
}

// unnamed are units that the label of the field says already.
const unnamed = [
  '1',
  'money',
  'money per change',
  'money per order',
  'money per kg and year',
  'fraction of readings',
  'mass fraction',
  'mass fraction smaller than that',
  'probability',
  'of the intervals',
  'CIE L*',
  'CIEDE2000',
  'any one unit',
  'as measured',
  'the same unit',
  'boxes',
  'values',
  'areas',
  'readings',
  'spots',
  'parts',
  'months',
  'current year',
  'mean passes',
  'restriction level',
  'times the mass in the feed',
];

const units: Readonly<Record<string, Shown>> = {
  ...Object.fromEntries(unnamed.map((name) => [name, { unit: '', places: 0 }])),
  'money/m²': { unit: '/m²', places: 0 },
  'money per kg': { unit: '/kg', places: 0 },
  'money per kg of reclaim': { unit: '/kg', places: 0 },
  'money per kg of scrap': { unit: '/kg', places: 0 },
  'money per kg of virgin': { unit: '/kg', places: 0 },
  'hundredths per minute': { unit: '/min', places: 2 },
  'hundredths per hour': { unit: '/h', places: 2 },
  'hundredths per person and hour': { unit: '/h', places: 2 },
  'l/min of free air': { unit: 'l/min', places: 0 },
  'min from the start': { unit: 'min', places: 0 },
  mg: { unit: 'kg', places: 6 },
  '‰': { unit: '%', places: 1 },
  'tenths of °C': { unit: '°C', places: 1 },
  '°C·10': { unit: '°C', places: 1 },
  'µm·10': { unit: 'µm', places: 1 },
  'tenths of µm': { unit: 'µm', places: 1 },
  'hundredths per kg': { unit: '/kg', places: 2 },
  hundredths: { unit: '', places: 2 },
  'thousandths of 1 g/cm³': { unit: 'g/cm³', places: 3 },
  'mg/min': { unit: 'g/min', places: 3 },
  'mg/m³': { unit: 'g/m³', places: 3 },
  'mg on one part': { unit: 'g', places: 3 },
  '‰ of the overspray': { unit: '%', places: 1 },
};

export function shownUnit(f: { type: string; unit?: string }): Shown {
  const stored = f.unit ?? (f.type === 'mass' ? 'mg' : '');
  const [base = ''] = stored.split(','); // behind the comma stands what 0 means
  return units[base] ?? { unit: base, places: 0 };
}

export const isInstant = (f: { unit?: string }): boolean => (f.unit ?? '').startsWith('ms since');

// isWhole tells whether a figure of the field has nothing behind the decimal mark.
export const isWhole = (f: { type: string; unit?: string }): boolean => f.type === 'int' && shownUnit(f).places === 0;

export interface Fault {
  path: string;
  code: 'form.missing' | 'form.number';
}

// build makes the input of the calculation; faults name what cannot stand yet.
export function build(fields: readonly Field[], typed: Typed): { input: Record<string, unknown>; faults: Fault[] } {
  const faults: Fault[] = [];
  return { input: object(fields, typed, '', faults), faults };
}

function object(fields: readonly Field[], typed: Typed, at: string, faults: Fault[]): Record<string, unknown> {
  const out: Record<string, unknown> = {};
  for (const f of fields) {
    const v = value(f, typed, at + f.name, faults);
    if (v !== undefined) out[f.name] = v;
  }
  return out;
}

function value(f: Field, typed: Typed, path: string, faults: Fault[]): unknown {
  if (f.type === 'object')
    return isUntouched(typed, path) && f.optional === true ? undefined : object(f.of ?? [], typed, path + '.', faults);
  if (f.type === 'list') return list(f, typed, path, faults);
  const text = (typed[path] ?? '').trim();
  if (text === '') {
    if (f.optional !== true && f.type !== 'bool') faults.push({ path, code: 'form.missing' });
    return undefined;
  }
  if (f.type === 'bool') return text === 'yes' ? true : undefined;
  if (isInstant(f)) return Date.parse(text + 'T12:00:00Z');
  if (f.type === 'mass' || f.type === 'int' || f.type === 'float') return number(f, text, path, faults);
  return text;
}

function number(f: Field, text: string, path: string, faults: Fault[]): number | undefined {
  const moved = shift(text, shownUnit(f).places, f.type !== 'float');
  if (moved === null) {
    faults.push({ path, code: 'form.number' });
    return undefined;
  }
  return Number(moved);
}

// A list of plain values is typed in one field, parted by spaces; one of objects as rows.
function list(f: Field, typed: Typed, path: string, faults: Fault[]): unknown {
  const of = f.of ?? [];
  const plain = of.length === 1 && of[0]?.name === '' ? of[0] : undefined;
  if (plain !== undefined) {
    const parts = (typed[path] ?? '').split(/[\s;]+/).filter((s) => s !== '');
    if (parts.length === 0) {
      if (f.optional !== true) faults.push({ path, code: 'form.missing' });
      return f.optional === true ? undefined : [];
    }
    return parts.map((p) =>
      plain.type === 'int' || plain.type === 'float' || plain.type === 'mass'
        ? number({ ...plain, ...(f.unit === undefined ? {} : { unit: f.unit }) }, p, path, faults)
        : p,
    );
  }
  const rows = rowsOf(typed, path);
  if (rows === 0 && f.optional === true) return undefined;
  return Array.from({ length: rows }, (_, i) => object(of, typed, `${path}.${i}.`, faults));
}

const isUntouched = (typed: Typed, path: string): boolean =>
  !Object.entries(typed).some(([k, v]) => k.startsWith(path + '.') && v !== '');

// rowsOf counts the rows of a list of objects.
export function rowsOf(typed: Typed, path: string): number {
  return Number(typed[path + '.#'] ?? '0');
}

// seed fills the form from the calculation's own example.
export function seed(fields: readonly Field[], example: unknown, mark: Mark): Typed {
  const out: Record<string, string> = {};
  put(fields, example, '', out, mark);
  return out;
}

function put(fields: readonly Field[], from: unknown, at: string, out: Record<string, string>, mark: Mark): void {
  if (typeof from !== 'object' || from === null) return;
  const values: Readonly<Record<string, unknown>> = { ...from };
  for (const f of fields) {
    const v = values[f.name],
      path = at + f.name;
    if (v === undefined || v === null) {
      if (f.type === 'list' && !isPlain(f)) out[path + '.#'] = '0';
      continue;
    }
    if (f.type === 'object') put(f.of ?? [], v, path + '.', out, mark);
    else if (f.type === 'list' && Array.isArray(v)) {
      if (isPlain(f))
        out[path] = v.map((x: unknown) => text({ ...f, type: f.of?.[0]?.type ?? 'text' }, x, mark)).join(' ');
      else {
        out[path + '.#'] = String(v.length);
        v.forEach((x: unknown, i) => put(f.of ?? [], x, `${path}.${i}.`, out, mark));
      }
    } else out[path] = text(f, v, mark);
  }
}

const isPlain = (f: Field): boolean => f.of?.length === 1 && f.of[0]?.name === '';

function text(f: { type: string; unit?: string }, v: unknown, mark: Mark): string {
  if (typeof v === 'boolean') return v ? 'yes' : '';
  if (typeof v === 'number')
    return isInstant(f) ? new Date(v).toISOString().slice(0, 10) : figure(v, -shownUnit(f).places, mark);
  return String(v);
}

// figure prints a number with its decimal mark moved, as the person writes it.
function figure(v: number, places: number, mark: Mark): string {
  return (shift(plainNumber(v), places, false) ?? String(v)).replace('.', mark);
}

// plainNumber prints without an exponent.
function plainNumber(v: number): string {
  const s = String(v);
  return s.includes('e') ? v.toFixed(12).replace(/\.?0+$/, '') : s;
}

// outText prints one output; masses and their like are printed by the core instead.
export function outText(f: { type: string; unit?: string }, v: unknown, mark: Mark): string {
  if (v === undefined || v === null) return '';
  if (typeof v === 'number') {
    if (isInstant(f) && v === 0) return ''; // never
    const s = isInstant(f) ? { unit: '', places: 0 } : shownUnit(f);
    const t = isInstant(f)
      ? text(f, v, mark)
      : figure(f.type === 'float' ? Number(v.toPrecision(6)) : v, -s.places, mark);
    return s.unit === '' ? t : `${t} ${s.unit}`;
  }
  return String(v);
}

// range says in words what a field takes, in the unit it is shown in.
export function range(f: Field, mark: Mark): string {
  if ((f.type !== 'int' && f.type !== 'float' && f.type !== 'mass') || isInstant(f)) return '';
  const s = shownUnit(f);
  const edge = (v: number | undefined) => (v === undefined || Math.abs(v) >= 1e12 ? '' : figure(v, -s.places, mark));
  const lo = edge(f.min),
    hi = edge(f.max);
  return hi === '' && (lo === '' || lo === '0')
    ? ''
    : hi === ''
      ? `≥ ${lo} ${s.unit}`.trim()
      : `${lo}–${hi} ${s.unit}`.trim();
}

// pathOf is where a field stands that the core complains of: "lots[0].mass_mg" is
// "lots.0.mass_mg" here. A figure of a list that is typed in one field leads to the list.
export function pathOf(fields: readonly Field[], at: string): string {
  const steps = at.replaceAll('[', '.').replaceAll(']', '').split('.');
  let of = fields;
  const path: string[] = [];
  for (const step of steps) {
    if (/^\d+$/.test(step)) {
      path.push(step);
      continue;
    }
    const f = of.find((x) => x.name === step);
    if (f === undefined) return '';
    path.push(step);
    if (isPlain(f)) break;
    of = f.of ?? [];
  }
  return path.join('.');
}

export type { Field, Output };
