// The people of the shop: who they are and what they may do.

import { Card, LinkButton, Page, Shown } from '../controls/page';
import { word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { role, useView } from '../store/store';

export function People() {
  const w = words();
  const view = useView('people', {});
  const isManager = role.value === 'manager';
  return (
    <Page title={w.people} up={{ at: 'office' }}>
      <Shown of={view}>
        {(list) => (
          <Card>
            <ul class="people">
              {list.map((p) => {
                const inside = (
                  <>
                    <Icon name="person" size={28} />
                    <span class="row-words">
                      <b>{p.name}</b>
                      <small>
                        {word(w.roles, p.role)}
                        {p.gone === true && ` · ${w.gone}`}
                      </small>
                    </span>
                  </>
                );
                const cls = p.gone === true ? 'person is-gone' : 'person';
                return (
                  <li key={p.person}>
                    {isManager ? (
                      <a class={cls} href={href({ at: 'person', id: p.person })}>
                        {inside}
                        <Icon name="go" size={20} />
                      </a>
                    ) : (
                      <div class={cls}>{inside}</div>
                    )}
                  </li>
                );
              })}
            </ul>
          </Card>
        )}
      </Shown>
      {isManager && (
        <nav class="bottom-bar" aria-label={w.actions}>
          <LinkButton icon="phone" to={{ at: 'phones' }}>
            {w.staff.phones}
          </LinkButton>
          <LinkButton icon="ledger" to={{ at: 'record' }}>
            {w.staff.record}
          </LinkButton>
          <LinkButton kind="main" icon="plus" to={{ at: 'do', task: 'set.person', with: {} }}>
            {w.addPerson}
          </LinkButton>
        </nav>
      )}
    </Page>
  );
}
