// The record of sign-ins and of changes to people and phones, for the manager.

import type { Event, PersonView } from '../../bridge/api';
import { Card, Empty, Page, Shown } from '../controls/page';
import { advise, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { useAnswer } from '../store/answer';
import { useCore, useView } from '../store/store';

const most = 200; // lines shown

export function Record() {
  const w = words();
  const core = useCore();
  const { of } = useAnswer<Event[]>(() => core.events());
  const people = useView('people', {});
  return (
    <Page title={w.staff.record} under={w.staff.recordUnder} up={{ at: 'people' }}>
      <Shown of={of}>
        {(list) =>
          list.length === 0 ? (
            <Empty>{w.staff.noRecord}</Empty>
          ) : (
            <Card>
              <ul class="plain-list">
                {list.slice(0, most).map((e, i) => (
                  <li key={`${e.at_ms}-${i}`}>
                    <Line e={e} people={people.kind === 'here' ? people.value : []} />
                  </li>
                ))}
              </ul>
            </Card>
          )
        }
      </Shown>
    </Page>
  );
}

function Line({ e, people }: { e: Event; people: readonly PersonView[] }) {
  const w = words();
  const { person = '', by = '', device = '', address = '', detail = '' } = e;
  const name = (id: string) => people.find((p) => p.person === id)?.name ?? id;
  const isBad = e.what === 'refused' || e.what === 'token_reused';
  const about = [
    person === '' ? '' : name(person),
    by === '' || by === person ? '' : w.staff.recordBy(name(by)),
    detail === ''
      ? ''
      : e.what === 'refused'
        ? advise(detail).says
        : e.what === 'ended'
          ? word(w.staff.endings, detail)
          : detail
              .split(' ')
              .map((x) => word(w.roles, x))
              .join(' '),
  ].filter((s) => s !== '');
  return (
    <p class={isBad ? 'row is-warn' : 'row'}>
      <Icon name={isBad ? 'warn' : device === '' ? 'person' : 'phone'} />
      <span class="row-words">
        <b>{word(w.staff.recordWhat, e.what)}</b>
        {about.length > 0 && <span>{about.join(' · ')}</span>}
        <small>{[moment(e.at_ms), address].filter((s) => s !== '').join(' · ')}</small>
      </span>
    </p>
  );
}
