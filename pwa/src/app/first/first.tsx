// The first steps of a new shop: what is still missing before work can begin.

import { Card, LinkButton, Page, Shown } from '../controls/page';
import { words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { boot, useView } from '../store/store';
import { isReady, stepsOf, type Step } from './steps';

export function First() {
  const w = words();
  const view = useView('lists', {});
  return (
    <Page title={w.staff.firstTitle} under={boot.value?.shop?.name} up={{ at: 'office' }}>
      <Shown of={view}>
        {(l) => {
          const steps = stepsOf(l);
          return (
            <>
              <p class="note-box">
                <Icon name={isReady(steps) ? 'ok' : 'set'} />
                <span>{isReady(steps) ? w.staff.firstReady : w.staff.firstLead}</span>
              </p>
              <ol class="steps">
                {steps.map((s, i) => (
                  <li key={s.name}>
                    <Card>
                      <StepRow s={s} n={i + 1} />
                    </Card>
                  </li>
                ))}
              </ol>
              {isReady(steps) && (
                <div class="buttons">
                  <LinkButton kind="main" icon="receive" to={{ at: 'do', task: 'receive', with: {} }}>
                    {w.staff.firstReceive}
                  </LinkButton>
                  <LinkButton icon="gun" to={{ at: 'booth', booth: '' }}>
                    {w.staff.firstBooth}
                  </LinkButton>
                </div>
              )}
            </>
          );
        }}
      </Shown>
    </Page>
  );
}

function StepRow({ s, n }: { s: Step; n: number }) {
  const w = words();
  const t = w.staff.steps[s.name];
  return (
    <div class={s.isDone ? 'step is-done' : 'step'}>
      <span class="step-mark" aria-hidden="true">
        {s.isDone ? <Icon name="ok" size={22} /> : n}
      </span>
      <span class="row-words">
        <b>{t.title}</b>
        <small>{t.why}</small>
        <small>{w.staff.soFar(s.count)}</small>
      </span>
      <LinkButton
        icon="plus"
        {...(s.isDone || !s.isNeeded ? {} : { kind: 'main' as const })}
        to={{ at: 'do', task: s.task, with: {} }}
      >
        {t.add}
      </LinkButton>
    </div>
  );
}
