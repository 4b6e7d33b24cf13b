// Words in the person's language. Two typed dictionaries; a key missing in one of
// them does not compile.

import { prefs, boot } from '../store/store';
import { codes, type Advice } from './codes';
import { en, type Words } from './en';
import { es } from './es';

export type Lang = 'en' | 'es';
const dictionaries: Readonly<Record<Lang, Words>> = { en, es };

// words of the present language; reading it in a component follows a change.
export function words(): Words {
  return dictionaries[prefs.value.lang];
}

// word looks a code up in a small table of words; a code nobody knows is shown as it is.
export function word(table: Readonly<Record<string, string>>, code: string): string {
  return table[code] ?? code;
}

// advise gives what a code means and what to do next. A code without words still
// says something a person can act on.
export function advise(code: string, lang: Lang = prefs.value.lang): Advice {
  const known = codes[code]?.[lang];
  if (known !== undefined) return known;
  const other = codes['unknown_code']?.[lang];
  return { says: `${other?.says ?? ''} (${code})`, next: other?.next ?? '' };
}

// isCode tells whether a code of the core has words here.
export const isCode = (code: string): boolean => codes[code] !== undefined;

// adviseAll is what several codes mean that stand in one text, parted by spaces.
export const adviseAll = (list: string, lang: Lang = prefs.value.lang): Advice[] =>
  list
    .split(' ')
    .filter((c) => c !== '')
    .map((c) => advise(c, lang));

// zone of the shop: everybody reads the shop's clock. An unknown zone means the phone's own.
function zone(): string | undefined {
  const z = boot.value?.shop?.zone;
  if (z === undefined || z === '') return undefined;
  try {
    new Intl.DateTimeFormat('en', { timeZone: z });
    return z;
  } catch {
    return undefined;
  }
}

function format(lang: Lang, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const timeZone = zone();
  return new Intl.DateTimeFormat(
    lang === 'es' ? 'es' : 'en-GB',
    timeZone === undefined ? options : { ...options, timeZone },
  );
}

// clock is the hour and minute; day is the date in short; moment is the nearest that
// tells them apart from now: today's hour, else day and hour.
export const clock = (ms: number, lang: Lang = prefs.value.lang): string =>
  format(lang, { hour: '2-digit', minute: '2-digit' }).format(ms);
export const day = (ms: number, lang: Lang = prefs.value.lang): string =>
  format(lang, { day: 'numeric', month: 'short', year: 'numeric' }).format(ms);

export function moment(ms: number, now: number = Date.now(), lang: Lang = prefs.value.lang): string {
  const same = day(ms, lang) === day(now, lang);
  return same ? clock(ms, lang) : `${format(lang, { day: 'numeric', month: 'short' }).format(ms)} ${clock(ms, lang)}`;
}

// until is the end of a span: the hour alone when it ends on the day it began.
export function until(from: number, to: number, lang: Lang = prefs.value.lang): string {
  return day(from, lang) === day(to, lang) ? clock(to, lang) : moment(to, Date.now(), lang);
}

// dateWords prints YYYY-MM-DD, which has no zone, as that very day.
export function dateWords(iso: string, lang: Lang = prefs.value.lang): string {
  const ms = Date.parse(iso + 'T12:00:00Z');
  if (Number.isNaN(ms)) return iso;
  return new Intl.DateTimeFormat(lang === 'es' ? 'es' : 'en-GB', {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    timeZone: 'UTC',
  }).format(ms);
}

// ago is how long something has lasted, in the largest fitting unit: 40 s, 12 min, 3 h, 2 d.
export function ago(ms: number): string {
  const s = Math.max(0, Math.floor(ms / 1000));
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min`;
  if (s < 48 * 3600) return `${Math.floor(s / 3600)} h`;
  return `${Math.floor(s / 86400)} d`;
}

// percent prints a share in per mille; whole percent unless a tenth matters.
export function percent(pm: number, lang: Lang = prefs.value.lang): string {
  return new Intl.NumberFormat(lang, { style: 'percent', maximumFractionDigits: 1 }).format(pm / 1000);
}
