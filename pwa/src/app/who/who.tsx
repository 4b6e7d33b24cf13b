// Who has the phone: the people signed in on it, changed over by PIN without a
// network, and what waits for one of them to sign in.

import { useState } from 'preact/hooks';
import type { Problem, SeatView } from '../../bridge/api';
import { Card, LinkButton, Page, ProblemBox } from '../controls/page';
import { word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { LanguageSwitch } from '../prefs/prefs';
import { boot, forget, problemOf, replace, role, say, status, useCore, useView } from '../store/store';
import { Mark } from '../sign-in/mark';
import { mayHavePin } from './pin';
import { PinPad } from './pin-pad';
import { Protects } from './several';
import { TakeOff } from './take-off';

export function Who() {
  const w = words();
  const seats = status.value?.seats ?? [];
  const holder = seats.find((s) => s.isHere);
  return (
    <Page
      title={w.staff.who}
      under={holder === undefined ? w.staff.nobodyHas : w.staff.has(holder.name)}
      up={{ at: 'start' }}
    >
      <SeatList seats={seats} />
      <Waiting seats={seats} />
      {holder !== undefined && (
        <Card title={holder.name}>
          {holder.isMoment && (
            <p class="note-box">
              <Icon name="shield" />
              <span>{w.staff.momentOf(holder.name)}</span>
            </p>
          )}
          {mayHavePin(holder.role) && !holder.hasPin && (
            <p class="note-box">
              <Icon name="warn" />
              <span>{w.staff.pinFirst}</span>
            </p>
          )}
          <div class="buttons">
            {mayHavePin(holder.role) && (
              <LinkButton {...(holder.hasPin ? {} : { kind: 'main' as const })} icon="pad" to={{ at: 'pin' }}>
                {holder.hasPin ? w.staff.changePin : w.staff.choosePin}
              </LinkButton>
            )}
            <LinkButton icon="shield" to={{ at: 'passphrase' }}>
              {w.staff.myPassphrase}
            </LinkButton>
          </div>
        </Card>
      )}
      <div class="buttons">
        <LinkButton icon="plus" to={{ at: 'sign-in', code: '' }}>
          {w.staff.another}
        </LinkButton>
      </div>
      <Protects seats={seats} />
      {holder?.role === 'manager' && <TakeOff seats={seats.filter((s) => !s.isHere)} />}
    </Page>
  );
}

// WhoGate is the same before anybody has taken the phone.
export function WhoGate() {
  const w = words();
  const seats = status.value?.seats ?? [];
  return (
    <main class="gate" id="main">
      <Mark />
      <h1>{w.staff.who}</h1>
      <SeatList seats={seats} />
      <Waiting seats={seats} />
      <div class="buttons">
        <LinkButton icon="plus" to={{ at: 'sign-in', code: '' }}>
          {w.staff.another}
        </LinkButton>
      </div>
      <Protects seats={seats} />
      <LanguageSwitch />
    </main>
  );
}

type Phase =
  { kind: 'list' } | { kind: 'pin'; seat: SeatView; problem: Problem | null; isBusy: boolean; serial: number };

function SeatList({ seats }: { seats: readonly SeatView[] }) {
  const w = words();
  const core = useCore();
  const [phase, setPhase] = useState<Phase>({ kind: 'list' });
  const choose = (seat: SeatView) => {
    if (seat.isHere) replace({ at: 'start' });
    else if (!seat.hasPin) replace({ at: 'sign-in', code: '' });
    else setPhase({ kind: 'pin', seat, problem: null, isBusy: false, serial: 0 });
  };
  if (phase.kind === 'pin') {
    const { seat } = phase;
    const swap = (digits: string) => {
      setPhase({ ...phase, isBusy: true });
      core.swap(seat.id, digits).then(
        (b) => {
          forget();
          boot.value = b;
          say(w.staff.has(seat.name));
          replace({ at: 'start' });
        },
        (e: unknown) => setPhase({ ...phase, isBusy: false, problem: problemOf(e), serial: phase.serial + 1 }),
      );
    };
    return (
      <Card>
        {phase.problem !== null && <ProblemBox problem={phase.problem} />}
        <PinPad
          label={w.staff.pinOf(seat.name)}
          length={seat.pinDigits}
          serial={phase.serial}
          isBusy={phase.isBusy}
          onDone={swap}
        />
        <div class="buttons">
          <button type="button" class="plain" onClick={() => setPhase({ kind: 'list' })}>
            <Icon name="back" />
            <span>{w.goBack}</span>
          </button>
          <LinkButton icon="shield" to={{ at: 'sign-in', code: '' }}>
            {w.staff.byPassphrase}
          </LinkButton>
        </div>
      </Card>
    );
  }
  return (
    <ul class="seats">
      {seats.map((s) => (
        <li key={s.id}>
          <button
            type="button"
            class={s.isHere ? 'seat is-here' : 'seat'}
            aria-current={s.isHere ? 'true' : undefined}
            onClick={() => choose(s)}
          >
            <Icon name="person" size={32} />
            <span class="row-words">
              <b>{s.name}</b>
              <small>
                {word(w.roles, s.role)}
                {s.isMoment && <> · {w.staff.moment}</>}
                {s.isOver && <> · {w.staff.mustSignIn}</>}
                {mayHavePin(s.role) && !s.hasPin && !s.isHere && <> · {w.staff.noPin}</>}
              </small>
            </span>
            {s.isHere ? (
              <em class="stamp">
                <Icon name="phone" size={16} />
                {w.staff.hasPhone}
              </em>
            ) : (
              <Icon name="go" size={20} />
            )}
          </button>
        </li>
      ))}
    </ul>
  );
}

// Waiting tells whose entries cannot go out, and what can be done about it.
export function Waiting({ seats }: { seats: readonly SeatView[] }) {
  const w = words();
  const core = useCore();
  const people = useView('people', {});
  const [problem, setProblem] = useState<Problem | null>(null);
  const waiting = status.value?.waiting ?? [];
  if (waiting.length === 0) return null;
  const nameOf = (id: string) =>
    seats.find((s) => s.id === id)?.name ??
    (people.kind === 'here' ? people.value.find((p) => p.person === id)?.name : undefined) ??
    id;
  const handIn = (id: string) =>
    core.handIn(id).then(
      () => say(w.staff.handedIn(nameOf(id))),
      (e: unknown) => setProblem(problemOf(e)),
    );
  return (
    <Card title={w.staff.waitTitle} tone="warn">
      {problem !== null && <ProblemBox problem={problem} />}
      <ul class="plain-list">
        {waiting.map((x) => (
          <li key={x.by} class="waits">
            <p>
              <b>{w.staff.waits(x.n, nameOf(x.by))}</b> {w.staff.waitsNext(nameOf(x.by))}
            </p>
            <div class="buttons">
              <LinkButton icon="person" to={{ at: 'sign-in', code: '' }}>
                {w.staff.signsIn(nameOf(x.by))}
              </LinkButton>
              {role.value === 'manager' && (
                <button type="button" class="plain" onClick={() => void handIn(x.by)}>
                  <Icon name="hold" />
                  <span>{w.staff.handIn}</span>
                </button>
              )}
            </div>
            {role.value === 'manager' && <p class="hint">{w.staff.handInHint}</p>}
          </li>
        ))}
      </ul>
    </Card>
  );
}
