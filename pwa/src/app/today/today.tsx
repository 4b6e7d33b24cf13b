// The colours to come: which next, what must be cleaned before, and whether there is
// powder for it.

import type { TodayBooth, TodayJob, TodayStop } from '../../bridge/api';
import { Card, LinkButton, Page, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { dateWords, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { role, useView } from '../store/store';

export function Today({ booth }: { booth: string }) {
  const w = words();
  const view = useView('today', booth === '' ? {} : { booth });
  const mayPlan = role.value !== 'coater';
  return (
    <Page title={w.today.title} under={w.today.under}>
      <Shown of={view}>
        {(v) => (
          <>
            {v.booths.length > 1 && (
              <nav class="switcher" aria-label={w.sections.booth}>
                <a href={href({ at: 'today', booth: '' })} aria-current={booth === '' ? 'page' : undefined}>
                  {w.today.both}
                </a>
                {v.booths.map((b) => (
                  <a
                    key={b.id}
                    href={href({ at: 'today', booth: b.id })}
                    aria-current={b.id === booth ? 'page' : undefined}
                  >
                    {b.name}
                  </a>
                ))}
              </nav>
            )}
            {v.plans.every((p) => p.stops.length === 0) && (
              <Card title={w.today.none}>
                <p>{w.today.noneHint}</p>
              </Card>
            )}
            <div class="run-grid">
              {v.plans
                .filter((p) => p.stops.length > 0)
                .map((p) => (
                  <Plan key={p.booth.id} plan={p} mayPlan={mayPlan} />
                ))}
            </div>
            {v.plans.some((p) => p.stops.length > 0) && <p class="hint">{w.today.why}</p>}
            {v.done.length > 0 && (
              <Card title={w.today.complete}>
                <ul class="plain-list">
                  {v.done.map((j) => (
                    <li key={j.job}>
                      <JobRow job={j} powder="" mayPlan={false} />
                    </li>
                  ))}
                </ul>
              </Card>
            )}
          </>
        )}
      </Shown>
      {mayPlan && (
        <nav class="bottom-bar" aria-label={w.actions}>
          <LinkButton kind="main" icon="plus" to={{ at: 'do', task: 'plan', with: {} }}>
            {w.today.plan}
          </LinkButton>
        </nav>
      )}
    </Page>
  );
}

function Plan({ plan, mayPlan }: { plan: TodayBooth; mayPlan: boolean }) {
  const w = words();
  return (
    <Card title={plan.booth.name}>
      <p class="with-icon">
        {plan.now === undefined ? <Icon name="gun" size={20} /> : <Swatch powder={plan.now} size={22} />}
        <span>
          {plan.now === undefined ? w.today.nothing : w.today.now(plan.now.name)} · {w.today.minutes(plan.minutes)}
        </span>
      </p>
      <ol class="stops">
        {plan.stops.map((s, i) => (
          <Stop key={s.powder.id} stop={s} booth={plan.booth.id} isNext={i === 0} mayPlan={mayPlan} />
        ))}
      </ol>
    </Card>
  );
}

function Stop({ stop, booth, isNext, mayPlan }: { stop: TodayStop; booth: string; isNext: boolean; mayPlan: boolean }) {
  const w = words();
  return (
    <li class="stop">
      <p class="stop-step">
        {stop.level === undefined ? w.today.noChange : w.today.step(word(w.levels, stop.level), stop.minutes)}
      </p>
      <header class="stop-head">
        <Swatch powder={stop.powder} size={40} />
        <div>
          <h3>{stop.powder.name}</h3>
          <p>
            {stop.due === undefined ? w.today.noDue : w.today.due(dateWords(stop.due))}
            {stop.overdue === true && <em class="stamp is-warn">{w.today.overdue}</em>}
          </p>
        </div>
      </header>
      <p class="stop-need">
        <span>
          {w.today.need} <b>{stop.need.text}</b>
        </span>
        <span>
          {w.today.stock} <b>{stop.stock.text}</b>
        </span>
        {stop.short === true && <em class="stamp is-warn">{w.today.short}</em>}
      </p>
      <ul class="plain-list">
        {stop.jobs.map((j) => (
          <li key={j.job}>
            <JobRow job={j} powder={stop.powder.id} mayPlan={mayPlan} />
          </li>
        ))}
      </ul>
      {isNext && stop.level !== undefined && (
        <p class="buttons">
          <LinkButton icon="change" to={{ at: 'do', task: 'change.start', with: { booth, powder: stop.powder.id } }}>
            {w.today.begin}
          </LinkButton>
        </p>
      )}
    </li>
  );
}

function JobRow({ job, powder, mayPlan }: { job: TodayJob; powder: string; mayPlan: boolean }) {
  const w = words();
  const inside = (
    <>
      <span class="row-words">
        <b>{job.job}</b>
        <small>
          {[job.area, job.due === undefined ? '' : w.today.due(dateWords(job.due))].filter((x) => x !== '').join(' · ')}
        </small>
      </span>
      <b class="job-done">{w.today.done(job.done, job.count)}</b>
    </>
  );
  const again = {
    job: job.job,
    powder,
    count: String(job.count),
    area: job.area,
    ...(job.due === undefined ? {} : { due: job.due }),
  };
  return mayPlan ? (
    <a class="row" href={href({ at: 'do', task: 'plan', with: again })}>
      {inside}
    </a>
  ) : (
    <p class="row">{inside}</p>
  );
}
