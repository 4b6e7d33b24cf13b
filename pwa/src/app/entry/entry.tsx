// One entry: what was recorded, what became of it, and the ways to answer it.

import type { EntryView } from '../../bridge/api';
import { Card, Empty, LinkButton, Page, Shown } from '../controls/page';
import { advise, clock, day, dateWords, word, words } from '../i18n/i18n';
import type { Behind } from '../route/route';
import { role, useView } from '../store/store';
import { EntryRows, StateStamp, translate } from './entry-row';
import { stateOf } from './facts';
import { WindowNote } from '../window/window-note';

export function Entry({ id }: { id: string }) {
  const w = words();
  const view = useView('entries', { entry: id });
  return (
    <Shown of={view}>{(list) => {
      const e = list.find((x) => x.id === id);
      if (e === undefined) return <Page title={w.entry} up={{ at: 'entries', behind: { by: 'all', id: '' } }}><Empty>{advise('form.unknown_entry').says}</Empty></Page>;
      return <Known e={e} about={list.filter((x) => x.id !== id)} />;
    }}</Shown>
  );
}

function Known({ e, about }: { e: EntryView; about: readonly EntryView[] }) {
  const w = words();
  const state = stateOf(e);
  const reason = e.reason !== '' ? e.reason : state === 'held' || state === 'refused' ? state : '';
  return (
    <Page title={word(w.kinds, e.kind)} under={`${day(e.at_ms)} ${clock(e.at_ms)} · ${e.by.name}`} up={{ at: 'entries', behind: { by: 'all', id: '' } }}>
      <Card>
        <StateStamp e={e} />
        {reason !== '' && <p class="entry-reason"><b>{advise(reason).says}.</b> {advise(reason).next}</p>}
        {e.late && <p>{advise('late').says}.</p>}
        {e.voided && <p>{w.voidedWhy}: {e.void_why ?? ''}</p>}
        <table class="table facts"><tbody>
          {e.facts.map((f) => <tr key={f.label}><th scope="row">{word(w.facts, f.label)}</th><td>{/^\d{4}-\d\d-\d\d$/.test(f.text) ? dateWords(f.text) : translate(f)}</td></tr>)}
        </tbody></table>
      </Card>
      {about.length > 0 && <Card title={w.aboutThis}><EntryRows list={about} /></Card>}
      <div class="buttons">
        {state === 'held' && role.value === 'manager' && (
          <>
            <LinkButton kind="main" icon="ok" to={{ at: 'do', task: 'admit', with: { entry: e.id } }}>{w.tasks['admit']}</LinkButton>
            <LinkButton icon="close" to={{ at: 'do', task: 'decline', with: { entry: e.id } }}>{w.tasks['decline']}</LinkButton>
          </>
        )}
        {e.can_void && <LinkButton icon="close" to={{ at: 'do', task: 'void', with: { entry: e.id } }}>{w.tasks['void']}</LinkButton>}
        <LinkButton icon="note" to={{ at: 'do', task: 'note', with: { entry: e.id } }}>{w.tasks['note']}</LinkButton>
      </div>
    </Page>
  );
}

// Entries lists what stands behind a figure.
export function Entries({ behind }: { behind: Behind }) {
  const w = words();
  const view = useView('entries', behind.by === 'all' ? {} : { [behind.by]: behind.id });
  return (
    <Page title={w.entries} under={w.behindWhat[behind.by]} up={{ at: 'office' }}>
      <WindowNote />
      <Shown of={view}>{(list) => (list.length === 0 ? <Empty>{w.noEntries}</Empty> : <Card><EntryRows list={list} /></Card>)}</Shown>
    </Page>
  );
}
