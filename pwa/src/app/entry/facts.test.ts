import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { EntryView } from '../../bridge/api';
import { factText, stateOf, summary, type FactTables } from './facts';

const entry = (more: Partial<EntryView>): EntryView => ({
  id: 'e',
  kind: 'powder.moved',
  by: { id: 'p', name: 'Ana' },
  at_ms: 0,
  sent: false,
  outcome: '',
  reason: '',
  late: false,
  voided: false,
  can_void: true,
  facts: [],
  ...more,
});
const t: FactTables = {
  levels: { full: 'Full clean' },
  modes: { waste: 'To waste' },
  placeKinds: {},
  chemistries: {},
  finishes: {},
  roles: {},
  checks: { gun: 'Gun', pump: 'Pump' },
  languages: {},
  unitSystems: {},
  grounds: { yes: 'In order', no: 'Not in order' },
  firstParts: { ok: 'Good', no: 'Specks' },
  purged: 'Purged powder',
  yes: 'yes',
  no: 'no',
  codeWord: (code) => `<${code}>`,
};

const states: [string, Partial<EntryView>, ReturnType<typeof stateOf>][] = [
  ['an entry nobody answered for is on this phone', {}, 'phone'],
  ['an accepted entry is sent', { sent: true, outcome: 'accepted' }, 'sent'],
  ['a held one waits', { sent: true, outcome: 'held' }, 'held'],
  ['a held one that a manager let in counts', { sent: true, outcome: 'held', ruled: 'released' }, 'admitted'],
  ['a held one that a manager declined does not', { sent: true, outcome: 'held', ruled: 'declined' }, 'declined'],
  ['a refused one says so', { sent: true, outcome: 'refused' }, 'refused'],
];
for (const [name, more, want] of states) test(name, () => assert.equal(stateOf(entry(more)), want));

test('a line carries the most telling facts first', () => {
  const e = entry({
    facts: [
      { label: 'from', text: 'Shelf A' },
      { label: 'why', text: 'x' },
      { label: 'mass_mg', text: '12 kg' },
      { label: 'to', text: 'Hopper 1' },
    ],
  });
  assert.equal(
    summary(e, (f) => f.text, 3),
    '12 kg · Shelf A → Hopper 1',
  );
});

test('words of the vocabulary are translated, names and figures are not', () => {
  assert.equal(factText({ label: 'level', text: 'full' }, t), 'Full clean');
  assert.equal(factText({ label: 'checks', text: 'gun · pump · other' }, t), 'Gun · Pump · other');
  assert.equal(factText({ label: 'sieved', text: 'true' }, t), 'yes');
  assert.equal(factText({ label: 'name', text: 'full' }, t), 'full');
  assert.equal(factText({ label: 'ok', text: 'false' }, t), 'Not in order');
  assert.equal(factText({ label: 'first_part', text: 'no' }, t), 'Specks');
  assert.equal(factText({ label: 'why', text: 'purged' }, t), 'Purged powder');
  assert.equal(factText({ label: 'why', text: 'purged twice' }, t), 'purged twice', 'what a person wrote');
});

test('a reason names the warnings it answers in words', () => {
  assert.equal(
    factText({ label: 'text', text: '[mixed_powder over_capacity] Job is urgent' }, t),
    '<mixed_powder>, <over_capacity>: Job is urgent',
  );
});
