// The four levels as choices, with the one the rule asks for marked.

import type { Option } from '../../controls/controls';

export function levelOptions(
  levels: Readonly<Record<string, string>>,
  notes: Readonly<Record<string, string>>,
  needed: string | undefined,
  mark: string,
): Option[] {
  return Object.entries(levels).map(([value, label]) => ({
    value,
    label: value === needed ? `${label} · ${mark}` : label,
    note: notes[value] ?? '',
  }));
}
