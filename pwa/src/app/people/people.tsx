// The people of the shop: who they are, what they may do, how they get in.

import { useState } from 'preact/hooks';
import type { Invite, Problem } from '../../bridge/api';
import { Card, LinkButton, Page, ProblemBox, Shown } from '../controls/page';
import { clock, day, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { problemOf, role, say, useCore, useView } from '../store/store';

export function People() {
  const w = words();
  const view = useView('people', {});
  return (
    <Page title={w.people} up={{ at: 'office' }}>
      <Shown of={view}>{(list) => (
        <Card>
          <ul class="people">
            {list.map((p) => (
              <li key={p.person} class={p.gone === true ? 'person is-gone' : 'person'}>
                <Icon name="person" size={28} />
                <span class="row-words"><b>{p.name}</b><small>{word(w.roles, p.role)}{p.gone === true && ` · ${w.gone}`}</small></span>
                {role.value === 'manager' && <span class="person-acts">{p.gone !== true && <InviteButton person={p.person} name={p.name} />}<LinkButton icon="set" to={{ at: 'do', task: 'set.person', with: { person: p.person } }}>{w.edit}</LinkButton></span>}
              </li>
            ))}
          </ul>
        </Card>
      )}</Shown>
      {role.value === 'manager' && <nav class="bottom-bar" aria-label={w.actions}><LinkButton kind="main" icon="plus" to={{ at: 'do', task: 'set.person', with: {} }}>{w.addPerson}</LinkButton></nav>}
    </Page>
  );
}

type Asked = { kind: 'idle' } | { kind: 'asking' } | { kind: 'here'; invite: Invite } | { kind: 'failed'; problem: Problem };

// InviteButton asks the server for a sign-in link that works once.
function InviteButton({ person, name }: { person: string; name: string }) {
  const w = words();
  const core = useCore();
  const [asked, setAsked] = useState<Asked>({ kind: 'idle' });
  const ask = () => {
    setAsked({ kind: 'asking' });
    core.invite(person).then((invite) => setAsked({ kind: 'here', invite }), (e: unknown) => setAsked({ kind: 'failed', problem: problemOf(e) }));
  };
  const copy = (link: string) => navigator.clipboard.writeText(link).then(() => say(w.copied), () => undefined); // the link stays in sight to copy by hand
  return (
    <>
      <button type="button" class="plain" disabled={asked.kind === 'asking'} onClick={ask}><Icon name="go" /><span>{w.invite}</span></button>
      {asked.kind === 'failed' && <ProblemBox problem={asked.problem} />}
      {asked.kind === 'here' && (
        <div class="invite" role="status">
          <p>{w.inviteFor(name, `${day(asked.invite.expires_ms)} ${clock(asked.invite.expires_ms)}`)}</p>
          <input readOnly value={asked.invite.link} aria-label={w.inviteLink} onFocus={(e) => e.currentTarget.select()} />
          <button type="button" class="plain" onClick={() => void copy(asked.invite.link)}><span>{w.copy}</span></button>
        </div>
      )}
    </>
  );
}
