// The phones of the shop, for the manager: who uses them, when they were last heard
// of, what they had not sent then, and the way to shut one out.

import { useState } from 'preact/hooks';
import type { PhoneInfo, Problem } from '../../bridge/api';
import { Confirmed } from '../controls/confirmed';
import { TextField } from '../controls/controls';
import { Card, Empty, Figure, Page, ProblemBox, Shown } from '../controls/page';
import { ago, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { useTick } from '../shell/tick';
import { useAnswer } from '../store/answer';
import { boot, problemOf, say, useCore } from '../store/store';
import { offBy, phoneName } from './phone';

export function Phones() {
  const w = words();
  const core = useCore();
  const { of, again } = useAnswer<PhoneInfo[]>(() => core.phones());
  return (
    <Page title={w.staff.phones} under={w.staff.phonesUnder} up={{ at: 'people' }}>
      <Shown of={of}>
        {(list) =>
          list.length === 0 ? (
            <Empty>{w.staff.noPhones}</Empty>
          ) : (
            <div class="settings-grid">
              {list.map((p) => (
                <Phone key={p.device} p={p} again={again} />
              ))}
            </div>
          )
        }
      </Shown>
    </Page>
  );
}

function Phone({ p, again }: { p: PhoneInfo; again: () => void }) {
  const w = words();
  const core = useCore();
  const now = useTick(10_000);
  const [name, setName] = useState<string | null>(null); // being typed
  const [problem, setProblem] = useState<Problem | null>(null);
  const isOut = p.revoked_ms !== 0,
    isThis = boot.value?.device === p.device;
  const title = phoneName(p, w.staff.phone);
  const then = (done: Promise<void>, words: string) =>
    done.then(
      () => {
        say(words);
        setName(null);
        setProblem(null);
        again();
      },
      (e: unknown) => setProblem(problemOf(e)),
    );
  return (
    <Card tone={isOut ? 'warn' : 'plain'}>
      <header class="phone-head">
        <Icon name="phone" size={32} />
        <span class="row-words">
          <h2>{title}</h2>
          <small>
            {[
              isThis ? w.staff.thisPhone : '',
              word(w.staff.kinds, p.kind),
              p.app_version === '' ? '' : `hoppertally ${p.app_version}`,
            ]
              .filter((s) => s !== '')
              .join(' · ')}
          </small>
        </span>
        {isOut && (
          <em class="stamp is-warn">
            <Icon name="off" size={16} />
            {w.staff.shutOut(moment(p.revoked_ms))}
          </em>
        )}
      </header>
      {problem !== null && <ProblemBox problem={problem} />}
      <div class="figures">
        <Figure name={w.staff.lastContact} text={ago(now - p.seen_ms)} note={moment(p.seen_ms)} />
        <Figure
          name={w.staff.unsentThen}
          text={p.unsent < 0 ? '' : String(p.unsent)}
          note={p.unsent < 0 ? w.staff.notTold : undefined}
        />
        <Figure
          name={w.staff.clock}
          text={w.staff.clocks[p.clock.quality]}
          note={p.clock.quality === 'off' || p.clock.quality === 'wrong' ? offBy(p.clock.offset_ms) : undefined}
        />
      </div>
      {p.update_stuck !== '' && (
        <p class="foot-note is-warn">
          <Icon name="warn" size={20} />
          <span>{w.staff.stuck(p.update_stuck)}</span>
        </p>
      )}
      <p>
        {p.people.length === 0
          ? w.staff.nobodyOn
          : p.people
              .map((x) => `${x.name}${x.gone ? ` (${w.gone})` : x.signed_in ? '' : ` (${w.staff.out})`}`)
              .join(' · ')}
      </p>
      {isOut && <p class="hint">{w.staff.shutOutHint}</p>}
      {name === null ? (
        <div class="buttons">
          <button type="button" class="plain" onClick={() => setName(p.name)}>
            <Icon name="note" />
            <span>{w.staff.rename}</span>
          </button>
        </div>
      ) : (
        <form
          onSubmit={(e) => {
            e.preventDefault();
            void then(core.namePhone(p.device, name.trim()), w.staff.renamed);
          }}
        >
          <TextField label={w.staff.nameOf} hint={w.staff.nameHint} value={name} onValue={setName} />
          <div class="buttons">
            <button type="button" class="plain" onClick={() => setName(null)}>
              <span>{w.goBack}</span>
            </button>
            <button type="submit" class="main">
              <span>{w.staff.keepName}</span>
            </button>
          </div>
        </form>
      )}
      {isOut ? (
        <div class="buttons">
          <button
            type="button"
            class="plain"
            onClick={() => void then(core.revokePhone(p.device, true), w.staff.letIn(title))}
          >
            <Icon name="ok" />
            <span>{w.staff.letBackIn}</span>
          </button>
        </div>
      ) : (
        <Confirmed
          label={w.staff.shut}
          ask={isThis ? w.staff.shutSelfAsk : w.staff.shutAsk(title)}
          go={w.staff.shutGo}
          icon="off"
          onGo={() => void then(core.revokePhone(p.device, false), w.staff.isShut(title))}
        />
      )}
    </Card>
  );
}
