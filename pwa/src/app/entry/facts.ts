// An entry in words: its state, its main facts, the texts of its fields. Pure.

import type { EntryView, FactView } from '../../bridge/api';

export type EntryState = 'phone' | 'sent' | 'held' | 'admitted' | 'declined' | 'refused';

// stateOf is what became of an entry on its way to the server.
export function stateOf(e: EntryView): EntryState {
  switch (e.outcome) {
    case 'held':
      return e.ruled === 'released' ? 'admitted' : e.ruled === 'declined' ? 'declined' : 'held';
    case 'refused':
      return 'refused';
    default:
      return e.sent ? 'sent' : 'phone';
  }
}

// Facts worth a line in a list, the most telling first.
const telling = [
  'mass_mg',
  'powder',
  'to',
  'from',
  'place',
  'lot',
  'level',
  'count',
  'job',
  'spots',
  'minutes',
  'batch',
  'ok',
  'ohm',
  'temp_dc',
  'rh_pm',
  'main_kpa',
  'mg_per_min',
  'te_pm',
  'points',
  'name',
  'person',
  'why',
  'text',
] as const;

// summary is up to `max` facts for one line. Where powder came from and went to are
// told by an arrow, in that order.
export function summary(e: EntryView, words: (f: FactView) => string, max = 3): string {
  const fact = (label: string) => e.facts.find((f) => f.label === label);
  const from = fact('from'),
    to = fact('to');
  const isWay = from !== undefined && to !== undefined;
  const ranked = telling
    .filter((label) => !(isWay && label === 'from'))
    .map(fact)
    .filter((f) => f !== undefined);
  return ranked
    .slice(0, isWay ? max - 1 : max)
    .map((f) => (isWay && f === to ? `${words(from)} → ${words(to)}` : words(f)))
    .filter((s) => s !== '')
    .join(' · ');
}

export interface FactTables {
  levels: Readonly<Record<string, string>>;
  modes: Readonly<Record<string, string>>;
  placeKinds: Readonly<Record<string, string>>;
  chemistries: Readonly<Record<string, string>>;
  finishes: Readonly<Record<string, string>>;
  roles: Readonly<Record<string, string>>;
  checks: Readonly<Record<string, string>>;
  languages: Readonly<Record<string, string>>;
  unitSystems: Readonly<Record<string, string>>;
  grounds: Readonly<Record<string, string>>;
  firstParts: Readonly<Record<string, string>>;
  codeWord(code: string): string;
  purged: string;
  yes: string;
  no: string;
}

// factText translates what the core cannot: words of the vocabulary and yes or no.
export function factText(f: FactView, t: FactTables): string {
  const table = tableFor(f.label, t);
  if (table !== null)
    return f.text
      .split(' · ')
      .map((c) => table[c] ?? c)
      .join(' · ');
  const reason = /^\[([a-z_. ]+)\] (.*)$/s.exec(f.text); // a note with the warnings it answers
  if (f.label === 'text' && reason !== null)
    return `${(reason[1] ?? '').split(' ').map(t.codeWord).join(', ')}: ${reason[2] ?? ''}`;
  if (f.label === 'why' && f.text === 'purged') return t.purged;
  if (f.label === 'ok') return t.grounds[f.text === 'true' ? 'yes' : 'no'] ?? f.text;
  if (f.text === 'true') return t.yes;
  if (f.text === 'false') return t.no;
  return f.text;
}

function tableFor(label: string, t: FactTables): Readonly<Record<string, string>> | null {
  switch (label) {
    case 'level':
      return t.levels;
    case 'mode':
      return t.modes;
    case 'kind':
      return t.placeKinds;
    case 'chemistry':
      return t.chemistries;
    case 'finish':
      return t.finishes;
    case 'role':
      return t.roles;
    case 'checks':
      return t.checks;
    case 'lang':
      return t.languages;
    case 'units':
      return t.unitSystems;
    case 'first_part':
      return t.firstParts;
    default:
      return null;
  }
}
