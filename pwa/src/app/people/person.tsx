// One person: role, the way in, the phones they are signed in on.

import { useState } from 'preact/hooks';
import type { Invite, PersonView, PhoneInfo, Problem } from '../../bridge/api';
import { Confirmed } from '../controls/confirmed';
import { Card, Empty, LinkButton, Page, ProblemBox, Shown } from '../controls/page';
import { QrCode } from '../controls/qr';
import { advise, clock, day, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { useAnswer } from '../store/answer';
import { boot, problemOf, say, useCore, useView } from '../store/store';
import { phoneName } from '../phones/phone';

export function Person({ id }: { id: string }) {
  const w = words();
  const view = useView('people', {});
  return (
    <Shown of={view}>
      {(list) => {
        const p = list.find((x) => x.person === id);
        if (p === undefined)
          return (
            <Page title={w.people} up={{ at: 'people' }}>
              <Empty>{advise('people.unknown').says}</Empty>
            </Page>
          );
        return <Known p={p} />;
      }}
    </Shown>
  );
}

function Known({ p }: { p: PersonView }) {
  const w = words();
  const core = useCore();
  const [problem, setProblem] = useState<Problem | null>(null);
  const { of: phones, again } = useAnswer<PhoneInfo[]>(() => core.phones());
  const isGone = p.gone === true,
    isSelf = boot.value?.person?.id === p.person;
  const out = () =>
    core.signOutAll(p.person).then(
      () => {
        say(w.staff.signedOut(p.name));
        again();
      },
      (e: unknown) => setProblem(problemOf(e)),
    );
  const on = (list: readonly PhoneInfo[]) =>
    list.filter((x) => x.people.some((who) => who.person === p.person && who.signed_in));
  return (
    <Page
      title={p.name}
      under={isGone ? `${word(w.roles, p.role)} · ${w.gone}` : word(w.roles, p.role)}
      up={{ at: 'people' }}
    >
      {problem !== null && <ProblemBox problem={problem} />}
      <Card title={w.staff.role}>
        <p>{w.staff.roleNotes[p.role] ?? ''}</p>
        <div class="buttons">
          <LinkButton icon="set" to={{ at: 'do', task: 'set.person', with: { person: p.person } }}>
            {w.staff.changeRole}
          </LinkButton>
        </div>
      </Card>
      {!isGone && (
        <Card title={w.staff.wayIn}>
          <InviteCard p={p} />
        </Card>
      )}
      <Card title={w.staff.signedInOn}>
        <Shown of={phones}>
          {(list) =>
            on(list).length === 0 ? (
              <Empty>{w.staff.nowhere}</Empty>
            ) : (
              <ul class="plain-list">
                {on(list).map((x) => (
                  <li key={x.device}>
                    <a class="row" href={href({ at: 'phones' })}>
                      <Icon name="phone" />
                      <span class="row-words">
                        <b>{phoneName(x, w.staff.phone)}</b>
                        <small>{w.staff.seen(moment(x.seen_ms))}</small>
                      </span>
                    </a>
                  </li>
                ))}
              </ul>
            )
          }
        </Shown>
        <Confirmed
          label={w.staff.signOutAll}
          ask={isSelf ? w.staff.signOutSelfAsk : w.staff.signOutAsk(p.name)}
          go={w.staff.signOutGo}
          onGo={() => void out()}
          icon="off"
        />
      </Card>
    </Page>
  );
}

type Asked =
  { kind: 'idle' } | { kind: 'asking' } | { kind: 'here'; invite: Invite } | { kind: 'failed'; problem: Problem };

// InviteCard asks the server for a sign-in link that works once, and shows it as a
// code to be read by the other phone.
function InviteCard({ p }: { p: PersonView }) {
  const w = words();
  const core = useCore();
  const [asked, setAsked] = useState<Asked>({ kind: 'idle' });
  const ask = () => {
    setAsked({ kind: 'asking' });
    core.invite(p.person).then(
      (invite) => setAsked({ kind: 'here', invite }),
      (e: unknown) => setAsked({ kind: 'failed', problem: problemOf(e) }),
    );
  };
  const copy = (link: string) =>
    navigator.clipboard.writeText(link).then(
      () => say(w.copied),
      () => undefined,
    ); // the link stays in sight to copy by hand
  const isLocal = asked.kind === 'here' && /^https?:\/\/(localhost|127\.|\[::1\])/.test(asked.invite.link);
  return (
    <>
      <p>{w.staff.inviteWhat(p.name)}</p>
      {asked.kind === 'failed' && <ProblemBox problem={asked.problem} />}
      {asked.kind === 'here' && (
        <div class="invite" role="status">
          {asked.invite.qr.length > 0 && <QrCode rows={asked.invite.qr} label={w.staff.qrLabel(p.name)} />}
          <p>{w.inviteFor(p.name, `${day(asked.invite.expires_ms)} ${clock(asked.invite.expires_ms)}`)}</p>
          {isLocal && (
            <p class="note-box">
              <Icon name="warn" />
              <span>{w.staff.localLink}</span>
            </p>
          )}
          <input
            readOnly
            value={asked.invite.link}
            aria-label={w.inviteLink}
            onFocus={(e) => e.currentTarget.select()}
          />
          <button type="button" class="plain" onClick={() => void copy(asked.invite.link)}>
            <span>{w.copy}</span>
          </button>
        </div>
      )}
      <div class="buttons">
        <button
          type="button"
          class={asked.kind === 'here' ? 'plain' : 'main'}
          disabled={asked.kind === 'asking'}
          onClick={ask}
        >
          <Icon name="person" />
          <span>{asked.kind === 'here' ? w.staff.inviteAgain : w.invite}</span>
        </button>
      </div>
    </>
  );
}
