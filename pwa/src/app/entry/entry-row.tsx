// One entry as a line, and its state as a stamp that is words and sign, not colour.

import type { EntryView, FactView } from '../../bridge/api';
import { advise, moment, words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';
import { href } from '../route/route';
import { assertNever } from '../store/store';
import { factText, stateOf, summary, type EntryState } from './facts';

export const kindIcons: Readonly<Record<string, IconName>> = {
  'powder.moved': 'move',
  'powder.recovered': 'recover',
  'place.weighed': 'scale',
  'change.started': 'change',
  'change.finished': 'change',
  'booth.cleaned': 'clean',
  'run.opened': 'gun',
  'run.closed': 'gun',
  'parts.coated': 'parts',
  'film.read': 'film',
  'lot.received': 'receive',
  'lot.held': 'hold',
  'lot.released': 'release',
  'entry.voided': 'close',
  'entry.noted': 'note',
  'person.set': 'person',
  'place.set': 'box',
  'booth.set': 'gun',
  'powder.set': 'box',
  'shop.set': 'set',
  'ground.checked': 'shield',
  'output.tested': 'scale',
  'deposit.tested': 'parts',
  'cure.read': 'oven',
  'room.read': 'box',
  'job.planned': 'today',
  'setup.set': 'gun',
};

export function translate(f: FactView): string {
  const w = words();
  return factText(f, {
    ...w,
    firstParts: { ok: w.change.firstOk, no: w.change.firstNo },
    purged: w.fields['purged'] ?? '',
    codeWord: (code) => advise(code).says,
  });
}

// kindOf names what an entry records; a kind that this version does not know has no name yet.
export const kindOf = (kind: string): string => words().kinds[kind] ?? words().kindUnknown;

export function EntryRows({ list }: { list: readonly EntryView[] }) {
  const w = words();
  return (
    <ul class="entries">
      {list.map((e) => (
        <li key={e.id}>
          <a class={e.voided ? 'entry is-voided' : 'entry'} href={href({ at: 'entry', id: e.id })}>
            <Icon name={kindIcons[e.kind] ?? 'dot'} />
            <span class="entry-words">
              <b>{kindOf(e.kind)}</b>
              <span>{summary(e, translate)}</span>
              <small>
                {moment(e.at_ms)} · {e.by.name}
                {e.late && <> · {w.late}</>}
              </small>
            </span>
            <StateStamp e={e} />
          </a>
        </li>
      ))}
    </ul>
  );
}

export function StateStamp({ e }: { e: EntryView }) {
  const w = words();
  const state = stateOf(e);
  return (
    <span class="states">
      {e.voided && (
        <em class="stamp">
          <Icon name="close" size={16} />
          {w.voided}
        </em>
      )}
      <em
        class={
          state === 'held' || state === 'refused' ? 'stamp is-warn' : state === 'phone' ? 'stamp is-phone' : 'stamp'
        }
      >
        <Icon name={signOf(state)} size={16} />
        {w.entryStates[state]}
      </em>
    </span>
  );
}

function signOf(state: EntryState): IconName {
  switch (state) {
    case 'phone':
      return 'phone';
    case 'sent':
    case 'admitted':
      return 'sent';
    case 'held':
      return 'hold';
    case 'declined':
    case 'refused':
      return 'warn';
    default:
      return assertNever(state);
  }
}
