// A typed quantity is one text such as "12.5 kg": a figure and a unit, exactly as the
// core reads it. Here it is only taken apart and put together, never computed with.

export type Units = 'metric' | 'us';

export const massUnits: Readonly<Record<Units, readonly string[]>> = { metric: ['kg', 'g'], us: ['lb', 'oz'] };
export const areaUnits: Readonly<Record<Units, readonly string[]>> = { metric: ['m²', 'cm²'], us: ['ft²', 'in²'] };

export const pressureUnits: Readonly<Record<Units, readonly string[]>> = { metric: ['kPa', 'bar'], us: ['psi'] };
export const lengthUnits: Readonly<Record<Units, readonly string[]>> = { metric: ['mm', 'cm'], us: ['in'] };
export const filmUnits: Readonly<Record<Units, string>> = { metric: 'µm', us: 'mil' };
export const tempUnits: Readonly<Record<Units, readonly string[]>> = { metric: ['°C'], us: ['°F'] };

// split takes "12.5 kg" apart. A text without a unit gets the first of units.
export function split(text: string, units: readonly string[]): { figure: string; unit: string } {
  const trimmed = text.trim();
  const unit = units.find(
    (u) => trimmed.endsWith(u) && !/[\p{L}²]/u.test(trimmed.charAt(trimmed.length - u.length - 1)),
  );
  if (unit === undefined) {
    // Another unit, as when the person switched systems: keep it, do not read it as ours.
    const other = /^(.*?)\s*([\p{L}µ²%]+)$/u.exec(trimmed);
    if (other !== null && other[1] !== undefined && other[2] !== undefined && other[1] !== '')
      return { figure: other[1], unit: other[2] };
    return { figure: trimmed, unit: units[0] ?? '' };
  }
  return { figure: trimmed.slice(0, -unit.length).trim(), unit };
}

// join is "" for an empty figure: nothing typed is nothing said.
export function join(figure: string, unit: string): string {
  const f = figure.trim();
  return f === '' ? '' : unit === '' ? f : `${f} ${unit}`;
}

// asList keeps a list of figures as it is typed. The space behind the last figure stays:
// it begins the next one.
export function asList(text: string): string {
  return text.trim() === '' ? '' : text.trimStart();
}

// readings counts the figures of a list.
export const readings = (list: string): number => list.split(/[\s;]+/).filter((s) => s !== '').length;

const lastMax = 4; // figures that fit on the keypad

// lastOf is the end of a long list, where the person types.
export function lastOf(list: string): string {
  const all = list.trimEnd().split(/\s+/);
  return all.length <= lastMax ? list : `… ${all.slice(-lastMax).join(' ')}`;
}

// press is what a key of the pad does to the figure. '<' takes the last character
// away, '.' and ',' are the decimal mark (one per figure), ' ' begins another figure,
// '-' turns the sign of the last one.
export function press(figure: string, key: string): string {
  if (key === '<') return figure.slice(0, -1);
  const last = figure.split(' ').at(-1) ?? '',
    before = figure.slice(0, figure.length - last.length);
  if (key === '-') return before + (last.startsWith('-') ? last.slice(1) : `-${last}`);
  if (key === '.' || key === ',') {
    if (/[.,]/.test(last)) return figure;
    return /\d$/.test(last) ? figure + key : `${figure}0${key}`;
  }
  if (key === ' ') return figure === '' || figure.endsWith(' ') ? figure : figure + ' ';
  if (last === '0' || last === '-0') return figure.slice(0, -1) + key;
  return figure.length >= 40 * 8 ? figure : figure + key;
}

// shift moves the decimal mark of a plain figure n places to the right (left when
// negative), as text: "12,5" by 6 is "12500000". null when it is not a plain figure or
// when digits would be left behind the mark although a whole number is asked for.
export function shift(figure: string, n: number, isWhole: boolean): string | null {
  const m = /^(-?)(\d+)(?:[.,](\d*))?$/.exec(figure.trim());
  if (m === null) return null;
  const [, sign = '', whole = '', frac = ''] = m;
  let digits = whole + frac,
    point = whole.length + n;
  if (point <= 0) {
    digits = '0'.repeat(1 - point) + digits;
    point = 1;
  }
  if (point > digits.length) digits += '0'.repeat(point - digits.length);
  const left = digits.slice(0, point).replace(/^0+(?=\d)/, ''),
    right = digits.slice(point).replace(/0+$/, '');
  if (isWhole && right !== '') return null;
  return sign + (right === '' ? left : `${left}.${right}`);
}
