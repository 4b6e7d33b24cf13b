// Shows an answer that may be cut: whether it is comes before everything else, with why
// and the way to try again.

import type { ComponentChildren } from 'preact';
import { ProblemBox } from '../controls/page';
import { advise, day, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import type { Part, Whole } from './use-whole';

interface WholeShownProps<T> {
  of: Whole<T>;
  children: (value: T, part: Part | null) => ComponentChildren;
}

export function WholeShown<T>({ of, children }: WholeShownProps<T>) {
  const w = words();
  switch (of.kind) {
    case 'waiting':
      return (
        <p class="waiting" role="status">
          {w.reading}
        </p>
      );
    case 'failed':
      return (
        <>
          <ProblemBox problem={of.problem} />
          {of.again !== undefined && <Again go={of.again} />}
        </>
      );
    case 'here':
      return (
        <>
          {of.part !== null && <PartNote part={of.part} again={of.again} />}
          {of.unsent > 0 && (
            <p class="hint with-icon">
              <Icon name="note" size={20} />
              {w.older.unsent(of.unsent)}
            </p>
          )}
          {children(of.value, of.part)}
        </>
      );
  }
}

function PartNote({ part, again }: { part: Part; again: () => void }) {
  return (
    <div class={part.why === null ? 'note-box' : 'problem'} role="status">
      <Icon name={part.why === null ? 'note' : 'warn'} />
      <div>
        <p>{partWords(part)}</p>
        {part.why !== null && part.why.code !== 'older_unsent' && <Again go={again} />}
      </div>
    </div>
  );
}

function Again({ go }: { go: () => void }) {
  return (
    <p class="buttons">
      <button type="button" class="plain" onClick={go}>
        <Icon name="recover" />
        <span>{words().older.again}</span>
      </button>
    </p>
  );
}

// partWords says what is missing and why, for screen and paper.
export function partWords(part: Part) {
  const w = words(),
    since = day(part.sinceMs);
  if (part.why === null)
    return (
      <>
        <b>{w.older.cut(since)}</b> {w.older.asking}
      </>
    );
  const a = advise(part.why.code);
  return (
    <>
      <b>{w.older.cut(since)}</b> {w.older.notLoaded} {a.says}. {a.next}
    </>
  );
}
