// This phone: what it has not sent yet, who uses it, how it speaks and looks.

import { useState } from 'preact/hooks';
import { Choice } from '../controls/controls';
import { Card, Figure, LinkButton, Page, ProblemBox } from '../controls/page';
import { ago, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import type { Problem } from '../../bridge/api';
import { LanguageSwitch, useSetPrefs } from '../prefs/prefs';
import { boot, forget, prefs, problemOf, replace, say, status, stuck, update, useCore } from '../store/store';
import { stripOf } from '../shell/strip';
import { useTick } from '../shell/tick';
import { Waiting } from '../who/who';

export function StatusPage() {
  const w = words();
  const core = useCore();
  const set = useSetPrefs();
  const [problem, setProblem] = useState<Problem | null>(null);
  const now = useTick(10_000);
  const s = status.value,
    b = boot.value;
  const leave = () =>
    core.signOut().then(
      () => {
        forget();
        if (boot.value !== null) boot.value = { ...boot.value, person: null };
        replace({ at: 'start' });
      },
      (e: unknown) => setProblem(problemOf(e)),
    );
  const save = () => core.exportUnsent().then(download, (e: unknown) => setProblem(problemOf(e)));
  return (
    <Page
      title={w.status.title}
      under={b?.person === null || b === null ? w.status.nobody : `${b.person.name} · ${word(w.roles, b.person.role)}`}
      up={{ at: 'start' }}
    >
      {problem !== null && <ProblemBox problem={problem} />}
      {s?.storage !== undefined && s.storage !== 'ok' && <ProblemBox problem={{ code: 'storage', title: '' }} />}
      {stripOf(s, now).kind === 'overdue' && <ProblemBox problem={{ code: 'overdue', title: '' }} />}
      {stuck.value !== '' && <ProblemBox problem={{ code: 'update_failed', title: '', detail: stuck.value }} />}
      <div class="settings-grid">
        <Card title={w.status.sending}>
          <div class="figures">
            <Figure
              name={w.status.unsent}
              text={String(s?.unsent ?? 0)}
              note={s?.oldestUnsentMs == null ? undefined : w.status.oldest(ago(now - s.oldestUnsentMs))}
              isBig
            />
            <Figure name={w.status.server} text={w.status.online[s?.online ?? 'unknown']} />
            <Figure name={w.status.lastSync} text={s?.lastSyncMs == null ? w.status.never : moment(s.lastSyncMs)} />
            <Figure name={w.status.storage} text={w.status.storages[s?.storage ?? 'ok']} />
          </div>
          <div class="buttons">
            <button
              type="button"
              class="plain"
              onClick={() => {
                core.syncNow();
                say(w.status.trying);
              }}
            >
              <Icon name="sent" />
              <span>{w.status.sendNow}</span>
            </button>
            {(s?.unsent ?? 0) > 0 && (
              <button type="button" class="plain" onClick={() => void save()}>
                <Icon name="download" />
                <span>{w.status.export}</span>
              </button>
            )}
          </div>
          <p class="hint">{w.status.keepHint}</p>
        </Card>
        <Card title={w.status.look}>
          <LanguageSwitch />
          <Choice
            label={w.fields['units'] ?? ''}
            options={Object.entries(w.unitSystems).map(([value, label]) => ({ value, label }))}
            value={prefs.value.units}
            onValue={(v) => set({ units: v === 'us' ? 'us' : 'metric' })}
          />
          <Choice
            label={w.status.theme}
            options={Object.entries(w.status.themes).map(([value, label]) => ({ value, label }))}
            value={prefs.value.theme}
            onValue={(v) => set({ theme: v === 'light' ? 'light' : v === 'dark' ? 'dark' : 'auto' })}
          />
        </Card>
        <Waiting seats={s?.seats ?? []} />
        <Card title={w.status.app}>
          <p>hoppertally {b?.version ?? ''}</p>
          <div class="buttons">
            <LinkButton icon="phone" to={{ at: 'check' }}>
              {w.check.title}
            </LinkButton>
          </div>
          {update.value !== null && (
            <button type="button" class="main" onClick={() => update.value?.apply()}>
              <span>{w.strip.updateNow}</span>
            </button>
          )}
          <div class="buttons">
            {b?.person == null ? (
              <LinkButton kind="main" icon="person" to={{ at: 'sign-in', code: '' }}>
                {w.signIn.enter}
              </LinkButton>
            ) : (
              <button type="button" class="plain" onClick={() => void leave()}>
                <Icon name="person" />
                <span>{w.status.signOut}</span>
              </button>
            )}
          </div>
          {(s?.seats.length ?? 0) > 0 && (
            <div class="buttons">
              <LinkButton icon="people" to={{ at: 'who' }}>
                {w.staff.who}
              </LinkButton>
            </div>
          )}
          {b?.person != null && <p class="hint">{w.status.signOutHint}</p>}
        </Card>
      </div>
    </Page>
  );
}

// download hands the unsent entries to the person as a file, one JSON object a line.
function download(text: string): void {
  const a = document.createElement('a');
  const url = URL.createObjectURL(new Blob([text], { type: 'application/x-ndjson' }));
  a.href = url;
  a.download = 'hoppertally-unsent.jsonl';
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
