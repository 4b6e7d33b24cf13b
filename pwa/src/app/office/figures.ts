// Small texts that several screens of the office share.

import type { TracePass, TraceView } from '../../bridge/api';
import { prefs } from '../store/store';
import { words } from '../i18n/i18n';

// withDeviation is a figure with its standard uncertainty, as the core printed both.
export function withDeviation(text: string, deviation: string): string {
  return text === '' || deviation === '' ? text : `${text} ± ${deviation}`;
}

// unknownLot is the core's name for powder whose lot nobody knows.
export const unknownLot = 'unknown';

// batchOf names a lot for people.
export function batchOf(l: { lot: string; batch: string }): string {
  return l.lot === unknownLot ? words().recall.unknown : l.batch;
}

// perMille reads "2.5", "2,5" or "2.5 %" as 25; null where that is no share of 0 to 100 %.
export function perMille(text: string): number | null {
  const t = text.trim().replace(/\s*%$/, '').replace(',', '.');
  if (t === '') return 0;
  if (!/^\d{1,3}(\.\d*)?$|^\.\d+$/.test(t)) return null;
  const pm = Math.round(Number(t) * 10);
  return pm <= 1000 ? pm : null;
}

// passWords says what of it is virgin and what has been through the gun.
export function passWords(list: readonly TracePass[]): string {
  const w = words();
  const only = list[0];
  if (list.length === 1 && only !== undefined) return w.passes(only.passes);
  return list.map((p) => `${w.passes(p.passes)} ${p.mass.text}`).join(', ');
}

// grams prints a mass to its last milligram, so that a column can be added up by hand.
export function grams(mg: number, lang: string = prefs.value.lang): string {
  return new Intl.NumberFormat(lang, { minimumFractionDigits: 3, maximumFractionDigits: 3, useGrouping: true }).format(
    mg / 1000,
  );
}

// bookRows is where all of a lot is, in words; what is nothing is left out, except
// what came in and what is on parts. Of a cut trace it does not say that nothing is on
// parts: that is in the earlier runs.
export function bookRows(t: TraceView): { name: string; text: string; exact: string }[] {
  const w = words();
  const b = t.books;
  if (b === undefined) return [];
  const keys = ['received', 'found', 'on_parts', 'lost', 'open', 'here', 'scrapped', 'missing', 'past'] as const;
  return keys
    .filter((k) => b[k].mg !== 0 || k === 'received' || (k === 'on_parts' && b.past.mg === 0))
    .map((k) => ({ name: w.recall.book[k], text: b[k].text, exact: grams(b[k].mg) }));
}
