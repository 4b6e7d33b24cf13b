// The coater's first screen: what is in the gun, what is in the hopper, and the
// things to do within thumb's reach.

import type { BoothView } from '../../bridge/api';
import { Card, Empty, LinkButton, Page, RowLink, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { AttentionRows } from '../attention/attention';
import { EntryRows } from '../entry/entry-row';
import { ago, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href, type Route } from '../route/route';
import { role, status, useView } from '../store/store';
import { VesselPanel, VesselTile } from '../vessel/vessel';
import { actionsFor, type Action } from './actions';

export function Booth({ booth }: { booth: string }) {
  const view = useView('booth', booth === '' ? {} : { booth });
  const w = words();
  return (
    <Shown of={view}>{(v) => (v.booths.length === 0 ? <NoBooth /> : <Known v={v} title={w.sections.booth} />)}</Shown>
  );
}

function NoBooth() {
  const w = words();
  if (status.value?.lastSyncMs == null) {
    return (
      <Page title={w.sections.booth}>
        <Card title={w.arriving}>
          <p role="status">{status.value?.online === 'no' ? w.arrivingOffline : w.arrivingOnline}</p>
        </Card>
      </Page>
    );
  }
  return (
    <Page title={w.sections.booth}>
      <Card title={w.noBooth}>
        <p>{role.value === 'manager' ? w.noBoothManager : w.noBoothOther}</p>
        {role.value === 'manager' && (
          <p class="buttons">
            <LinkButton kind="main" icon="set" to={{ at: 'first' }}>
              {w.staff.firstTitle}
            </LinkButton>
          </p>
        )}
      </Card>
    </Page>
  );
}

function Known({ v, title }: { v: BoothView; title: string }) {
  const w = words();
  return (
    <main class="page booth" id="main">
      <h1 class="seen-by-readers">
        {title}: {v.booth.name}
      </h1>
      {v.booths.length > 1 && (
        <nav class="switcher" aria-label={w.sections.booth}>
          {v.booths.map((b) => (
            <a
              key={b.id}
              href={href({ at: 'booth', booth: b.id })}
              aria-current={b.id === v.booth.id ? 'page' : undefined}
            >
              {b.name}
            </a>
          ))}
        </nav>
      )}
      <div class="booth-grid">
        <div class="booth-now">
          <Now v={v} />
          {v.change !== undefined && v.change.finished_ms === undefined && (
            <section class="change-open">
              <div>
                <p class="eyebrow">{w.change.running}</p>
                <p>
                  <b>{v.change.to.name}</b> · {word(w.levels, v.change.level)} · {ago(Date.now() - v.change.started_ms)}
                </p>
              </div>
              <LinkButton kind="main" icon="ok" to={{ at: 'do', task: 'change.finish', with: { booth: v.booth.id } }}>
                {w.change.finish}
              </LinkButton>
            </section>
          )}
          {v.attention.length > 0 && <AttentionRows list={v.attention} max={2} />}
        </div>
        <Actions v={v} />
        <div class="booth-more">
          <RowLink to={{ at: 'gun', booth: v.booth.id }} icon="gun" isWarn={v.ground?.ok === false}>
            <b>{w.gun.title}</b>
            <small>
              {[
                v.ground === undefined
                  ? w.gun.groundNever
                  : `${v.ground.ok ? w.gun.groundGood : w.gun.groundBad}, ${ago(Date.now() - v.ground.at_ms)}`,
                v.setup?.name ?? '',
              ]
                .filter((x) => x !== '')
                .join(' · ')}
            </small>
          </RowLink>
          {v.bins.length > 0 && (
            <Card title={w.beside}>
              <div class="tiles">
                {v.bins.map((b) => (
                  <VesselTile key={b.place} vessel={b} />
                ))}
              </div>
            </Card>
          )}
          <Card title={w.recent} to={{ at: 'entries', behind: { by: 'all', id: '' } }}>
            {v.recent.length === 0 ? <Empty>{w.noEntries}</Empty> : <EntryRows list={v.recent} />}
          </Card>
          {v.clean !== undefined && (
            <p class="hint with-icon">
              <Icon name="clean" size={20} />
              {w.lastClean(word(w.levels, v.clean.level), moment(v.clean.at_ms), v.clean.by.name)}
            </p>
          )}
          <RowLink to={{ at: 'safety' }} icon="shield">
            {w.cautions.short}
          </RowLink>
        </div>
      </div>
    </main>
  );
}

// Now is powder, run and the vessel that feeds it.
function Now({ v }: { v: BoothView }) {
  const w = words();
  return (
    <section class="now">
      <header class="now-head">
        <Swatch powder={v.powder} size={48} />
        <div>
          <h2>{v.powder?.name ?? w.noPowder}</h2>
          <p>
            {[
              v.powder?.code,
              v.powder === undefined ? undefined : word(w.finishes, v.powder.finish),
              v.booths.length > 1 ? undefined : v.booth.name,
            ]
              .filter((s) => s !== undefined && s !== '')
              .join(' · ')}
          </p>
        </div>
        {v.run !== undefined && (
          <a class="run-tag" href={href({ at: 'run', id: v.run.run })}>
            <small>{w.run.since}</small>
            <b>{moment(v.run.opened_ms)}</b>
          </a>
        )}
      </header>
      {v.feed === undefined ? (
        <p class="empty">{v.change === undefined ? w.noFeed : w.noFeedNow}</p>
      ) : (
        <VesselPanel vessel={v.feed} isFeed />
      )}
    </section>
  );
}

function Actions({ v }: { v: BoothView }) {
  const w = words();
  const all = actionsFor(v);
  return (
    <nav class="actions" aria-label={w.actions}>
      <div class="actions-first">
        {all.first.map((a) => (
          <ActionTile key={a.task} a={a} isMain />
        ))}
      </div>
      <div class="actions-more">
        {all.more.map((a) => (
          <ActionTile key={a.task} a={a} />
        ))}
      </div>
    </nav>
  );
}

function ActionTile({ a, isMain = false }: { a: Action; isMain?: boolean }) {
  const w = words();
  const name = w.actionNames[a.task] ?? w.tasks[a.task] ?? a.task;
  const cls = isMain ? 'action is-main' : 'action';
  if (a.start === null) {
    return (
      <span class={`${cls} is-off`} aria-disabled="true" role="link">
        <Icon name={a.icon} size={30} />
        <span>{name}</span>
      </span>
    );
  }
  const to: Route = { at: 'do', task: a.task, with: a.start };
  return (
    <a class={cls} href={href(to)}>
      <Icon name={a.icon} size={30} />
      <span>{name}</span>
    </a>
  );
}
