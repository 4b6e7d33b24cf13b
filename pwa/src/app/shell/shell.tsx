// The frame around every screen: status strip, five sections, keypad, messages.

import { useEffect } from 'preact/hooks';
import { Attention } from '../attention/attention';
import { Booth } from '../booth/booth';
import { ChangeFinish, ChangeStart } from '../booth/change/change';
import { CheckPage } from '../check/check-page';
import { Charge } from '../booth/charge/charge';
import { Weigh } from '../booth/weigh/weigh';
import { closePad, Keypad, target } from '../controls/keypad';
import { Page, ProblemBox } from '../controls/page';
import { Entries, Entry } from '../entry/entry';
import { ago, words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';
import { Office, Powder } from '../office/office';
import { Run } from '../office/run';
import { Trace } from '../office/trace';
import { People } from '../people/people';
import { Lot, Place, Room } from '../room/room';
import { href, sectionOf, type Route, type Section } from '../route/route';
import { Safety } from '../safety/cautions';
import { SetTask, Settings } from '../settings/settings';
import { Gun } from '../gun/gun';
import { First } from '../first/first';
import { Person } from '../people/person';
import { Record } from '../people/record';
import { Phones } from '../phones/phones';
import { Mark } from '../sign-in/mark';
import { Passphrase } from '../sign-in/passphrase';
import { SetUp, SignIn } from '../sign-in/sign-in';
import { StatusPage } from '../status/status';
import { assertNever, boot, bootProblem, held, prefs, role, route, status, toast, update } from '../store/store';
import { Sum, Sums } from '../sums/sums';
import { PlainTask } from '../task/plain-task';
import { specs } from '../task/specs';
import { MyPin } from '../who/my-pin';
import { Today } from '../today/today';
import { Who, WhoGate } from '../who/who';
import { stripOf } from './strip';
import { useTick } from './tick';

export function Shell() {
  const r = route.value,
    p = prefs.value;
  useEffect(() => {
    document.documentElement.lang = p.lang;
    document.documentElement.dataset['theme'] = p.theme;
  }, [p.lang, p.theme]);
  useEffect(() => {
    closePad();
  }, [r]);
  const isGate =
    r.at === 'sign-in' ||
    r.at === 'set-up' ||
    (boot.value !== null && boot.value.person === null && r.at !== 'status' && r.at !== 'check' && r.at !== 'safety');
  const w = words();
  return (
    <div class={target.value === null ? 'shell' : 'shell has-pad'}>
      <a
        class="skip"
        href="#main"
        onClick={(e) => {
          e.preventDefault();
          document.getElementById('main')?.scrollIntoView();
        }}
      >
        {w.skip}
      </a>
      <StatusStrip />
      {!isGate && <Tabs at={r} />}
      {held.value && (
        <div class="page held">
          <ProblemBox problem={{ code: 'window_holds', title: '' }} />
        </div>
      )}
      <div class="stage">
        {bootProblem.value !== null ? (
          <main class="page" id="main">
            <ProblemBox problem={bootProblem.value} />
          </main>
        ) : (
          <Screen r={r} isGate={isGate} />
        )}
      </div>
      <Keypad />
      <div class="toasts" role="status" aria-live="polite">
        {toast.value !== null && (
          <p class={`toast is-${toast.value.tone}`}>
            <Icon name={toast.value.tone === 'ok' ? 'phone' : 'warn'} />
            {toast.value.text}
          </p>
        )}
      </div>
    </div>
  );
}

function Screen({ r, isGate }: { r: Route; isGate: boolean }) {
  const w = words();
  if (boot.value === null && r.at !== 'safety')
    return (
      <main class="page" id="main">
        <p class="waiting" role="status">
          {w.opening}
        </p>
      </main>
    );
  if (isGate && r.at !== 'set-up' && r.at !== 'sign-in' && (status.value?.seats.length ?? 0) > 0) return <WhoGate />;
  if (isGate && r.at !== 'set-up') return <SignIn code={r.at === 'sign-in' ? r.code : ''} />;
  switch (r.at) {
    case 'start':
      return role.value === 'manager' ? <Office /> : role.value === 'clerk' ? <Room /> : <Booth booth="" />;
    case 'booth':
      return <Booth booth={r.booth} key={r.booth} />;
    case 'gun':
      return <Gun booth={r.booth} key={r.booth} />;
    case 'today':
      return <Today booth={r.booth} />;
    case 'room':
      return <Room />;
    case 'office':
      return <Office />;
    case 'sums':
      return <Sums />;
    case 'sum':
      return <Sum name={r.name} />;
    case 'do':
      return <Task task={r.task} start={r.with} key={href(r)} />;
    case 'place':
      return <Place id={r.id} key={r.id} />;
    case 'lot':
      return <Lot id={r.id} key={r.id} />;
    case 'powder':
      return <Powder id={r.id} key={r.id} />;
    case 'run':
      return <Run id={r.id} key={r.id} />;
    case 'trace':
      return <Trace by={r.by} id={r.id} key={r.by + r.id} />;
    case 'entry':
      return <Entry id={r.id} key={r.id} />;
    case 'entries':
      return <Entries behind={r.behind} key={href(r)} />;
    case 'attention':
      return <Attention />;
    case 'people':
      return <People />;
    case 'person':
      return <Person id={r.id} key={r.id} />;
    case 'phones':
      return <Phones />;
    case 'record':
      return <Record />;
    case 'first':
      return <First />;
    case 'who':
      return <Who />;
    case 'pin':
      return <MyPin />;
    case 'passphrase':
      return <Passphrase />;
    case 'settings':
      return <Settings />;
    case 'status':
      return <StatusPage />;
    case 'check':
      return <CheckPage />;
    case 'safety':
      return <Safety />;
    case 'sign-in':
      return <SignIn code={r.code} />;
    case 'set-up':
      return <SetUp code={r.code} />;
    default:
      return assertNever(r);
  }
}

function Task({ task, start }: { task: string; start: Readonly<Record<string, string>> }) {
  switch (task) {
    case 'change.start':
      return <ChangeStart start={start} />;
    case 'change.finish':
      return <ChangeFinish start={start} />;
    case 'charge':
      return <Charge start={start} />;
    case 'weigh':
      return <Weigh start={start} />;
    default:
      return specs[task] === undefined ? (
        <NoTask />
      ) : task.startsWith('set.') ? (
        <SetTask task={task} start={start} />
      ) : (
        <PlainTask task={task} start={start} />
      );
  }
}

// NoTask answers an address with a task that this version does not have.
function NoTask() {
  const w = words();
  return (
    <Page title={w.actions} up={{ at: 'start' }}>
      <ProblemBox problem={{ code: 'form.task', title: '' }} />
    </Page>
  );
}

const tabs: readonly { section: Section; icon: IconName; to: Route }[] = [
  { section: 'booth', icon: 'gun', to: { at: 'booth', booth: '' } },
  { section: 'room', icon: 'box', to: { at: 'room' } },
  { section: 'today', icon: 'today', to: { at: 'today', booth: '' } },
  { section: 'office', icon: 'ledger', to: { at: 'office' } },
  { section: 'sums', icon: 'sum', to: { at: 'sums' } },
];

function Tabs({ at }: { at: Route }) {
  const w = words();
  const start: Section = role.value === 'manager' ? 'office' : role.value === 'clerk' ? 'room' : 'booth';
  const here = at.at === 'start' ? start : sectionOf(at);
  const attention = status.value?.attention ?? 0;
  return (
    <nav class={at.at === 'do' ? 'tabs is-quiet' : 'tabs'} aria-label={w.sectionsName}>
      {tabs.map((t) => (
        <a key={t.section} href={href(t.to)} aria-current={here === t.section ? 'page' : undefined}>
          <Icon name={t.icon} size={26} />
          <span>{w.sections[t.section]}</span>
          {t.section === 'office' && attention > 0 && (
            <em class="badge" aria-label={w.strip.attention(attention)}>
              {attention}
            </em>
          )}
        </a>
      ))}
    </nav>
  );
}

// StatusStrip tells in words whether what was recorded is safe and sent.
function StatusStrip() {
  const w = words();
  const now = useTick(10_000);
  const holder = boot.value?.person ?? null;
  const s = stripOf(status.value, now);
  const age = (ms: number | null) => (ms === null || ms < 60_000 ? '' : ` · ${w.strip.oldest(ago(ms))}`);
  const [tone, icon, text] = ((): ['ok' | 'plain' | 'warn' | 'bad', IconName, string] => {
    switch (s.kind) {
      case 'not_saved':
        return ['bad', 'warn', w.strip.notSaved];
      case 'newer_needed':
        return ['warn', 'warn', w.strip.newerNeeded];
      case 'shut_out':
        return ['warn', 'off', s.unsent > 0 ? `${w.staff.shutStrip} · ${w.strip.unsent(s.unsent)}` : w.staff.shutStrip];
      case 'server_full':
        return ['warn', 'off', `${w.strip.serverFull} · ${w.strip.unsent(s.unsent)}`];
      case 'waiting_for':
        return ['warn', 'person', w.staff.waitStrip(s.n)];
      case 'session_ended':
        return [
          'warn',
          'person',
          s.unsent > 0 ? `${w.strip.sessionEnded} · ${w.strip.unsent(s.unsent)}` : w.strip.sessionEnded,
        ];
      case 'overdue':
        return ['warn', 'warn', `${w.strip.overdue} · ${w.strip.unsent(s.unsent)}`];
      case 'offline':
        return [
          'plain',
          'off',
          s.unsent > 0 ? `${w.strip.offline} · ${w.strip.unsent(s.unsent)}${age(s.ageMs)}` : w.strip.offlineNothing,
        ];
      case 'waiting':
        return ['plain', 'phone', `${w.strip.unsent(s.unsent)}${age(s.ageMs)}`];
      case 'nobody':
        return ['plain', s.isAnswering ? 'sent' : 'off', s.isAnswering ? w.strip.answers : w.strip.away];
      case 'asking':
        return ['plain', 'phone', w.strip.asking];
      case 'sent':
        return ['ok', 'sent', w.strip.sent];
      default:
        return assertNever(s);
    }
  })();
  return (
    <header class={holder === null ? 'top' : 'top has-who'}>
      <a class="brand" href="#/" aria-label={boot.value?.shop?.name ?? 'hoppertally'}>
        <Mark size={32} />
        <span>{boot.value?.shop?.name ?? 'hoppertally'}</span>
      </a>
      {holder !== null && (
        <a class="who" href="#/who" aria-label={w.staff.change(holder.name)}>
          <Icon name="person" size={24} />
          <span>{holder.name}</span>
        </a>
      )}
      <a
        class={`strip is-${tone}`}
        href={s.kind === 'session_ended' ? '#/sign-in' : s.kind === 'waiting_for' ? '#/who' : '#/status'}
      >
        <Icon name={icon} size={20} />
        <span role={tone === 'bad' || s.kind === 'overdue' ? 'alert' : undefined}>{text}</span>
      </a>
      {update.value !== null && (
        <button type="button" class="update" onClick={() => update.value?.apply()}>
          <Icon name="download" size={20} />
          <span>{w.strip.update}</span>
        </button>
      )}
    </header>
  );
}
