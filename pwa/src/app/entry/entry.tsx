// One entry: what was recorded, what became of it, and the ways to answer it.

import type { EntryView } from '../../bridge/api';
import { Card, Empty, LinkButton, Page } from '../controls/page';
import { Icon } from '../icon/icon';
import { advise, adviseAll, clock, day, dateWords, word, words } from '../i18n/i18n';
import type { Behind } from '../route/route';
import { WholeShown } from '../older/older';
import { rowsMax } from '../older/reach';
import { useWhole } from '../older/use-whole';
import { role } from '../store/store';
import { EntryRows, kindOf, StateStamp, translate } from './entry-row';
import { stateOf } from './facts';

export function Entry({ id }: { id: string }) {
  const w = words();
  const view = useWhole('entries', { entry: id });
  const list = view.kind === 'here' ? view.value : [];
  const e = list.find((x) => x.id === id);
  if (e !== undefined) return <Known e={e} about={list.filter((x) => x.id !== id)} />;
  return (
    <Page title={w.entry} up={{ at: 'entries', behind: { by: 'all', id: '' } }}>
      <WholeShown of={view}>
        {(_, part) => (part === null ? <Empty>{advise('form.unknown_entry').says}</Empty> : null)}
      </WholeShown>
    </Page>
  );
}

function Known({ e, about }: { e: EntryView; about: readonly EntryView[] }) {
  const w = words();
  const state = stateOf(e);
  const isLast = e.last_manager === true; // what may not be done would leave the shop without one
  const reason = e.reason !== '' ? e.reason : state === 'held' || state === 'refused' ? state : '';
  return (
    <Page
      title={kindOf(e.kind)}
      under={`${day(e.at_ms)} ${clock(e.at_ms)} · ${e.by.name}`}
      up={{ at: 'entries', behind: { by: 'all', id: '' } }}
    >
      <Card>
        <StateStamp e={e} />
        {adviseAll(reason).map((a) => (
          <p class="entry-reason" key={a.says}>
            <b>{a.says}.</b> {a.next}
          </p>
        ))}
        {e.late && <p>{advise('late').says}.</p>}
        {e.voided && (
          <p>
            {w.voidedWhy}: {e.void_why ?? ''}
          </p>
        )}
        <table class="table facts">
          <tbody>
            {e.facts.map((f) => (
              <tr key={f.label}>
                <th scope="row">{word(w.facts, f.label)}</th>
                <td>{/^\d{4}-\d\d-\d\d$/.test(f.text) ? dateWords(f.text) : translate(f)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Card>
      {isLast && state !== 'held' && (
        <p class="note-box">
          <Icon name="warn" />
          <span>
            <b>{advise('form.last_manager').says}.</b> {advise('form.last_manager').next}
          </span>
        </p>
      )}
      {about.length > 0 && (
        <Card title={w.aboutThis}>
          <EntryRows list={about} />
        </Card>
      )}
      <div class="buttons">
        {state === 'held' && role.value === 'manager' && (
          <>
            {!isLast && (
              <LinkButton kind="main" icon="ok" to={{ at: 'do', task: 'admit', with: { entry: e.id } }}>
                {w.tasks['admit']}
              </LinkButton>
            )}
            <LinkButton icon="close" to={{ at: 'do', task: 'decline', with: { entry: e.id } }}>
              {w.tasks['decline']}
            </LinkButton>
          </>
        )}
        {e.can_void && (
          <LinkButton icon="close" to={{ at: 'do', task: 'void', with: { entry: e.id } }}>
            {w.tasks['void']}
          </LinkButton>
        )}
        <LinkButton icon="note" to={{ at: 'do', task: 'note', with: { entry: e.id } }}>
          {w.tasks['note']}
        </LinkButton>
      </div>
    </Page>
  );
}

// Entries lists what stands behind a figure.
export function Entries({ behind }: { behind: Behind }) {
  const w = words();
  const view = useWhole('entries', behind.by === 'all' ? {} : { [behind.by]: behind.id });
  return (
    <Page title={w.entries} under={w.behindWhat[behind.by]} up={{ at: 'office' }}>
      <WholeShown of={view}>
        {(list, part) => (
          <>
            {list.length === rowsMax && <p class="hint">{w.older.newest(rowsMax)}</p>}
            {list.length > 0 ? (
              <Card>
                <EntryRows list={list} />
              </Card>
            ) : (
              part === null && <Empty>{w.noEntries}</Empty>
            )}
          </>
        )}
      </WholeShown>
    </Page>
  );
}
