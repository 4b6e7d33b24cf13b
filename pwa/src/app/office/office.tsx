// The office: stock, vessels, runs, colour changes, and where all powder is now.

import type { ChangeView, RunView, StockView, UseView } from '../../bridge/api';
import { AttentionRows } from '../attention/attention';
import { Card, Empty, Figure, LinkButton, Page, RowLink, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { AllFlow } from '../flow/flow';
import { dateWords, day, moment, percent, until, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { role, useView, status } from '../store/store';
import { LotRows } from '../room/room';
import { LotPowders, powdersOf, VesselTile } from '../vessel/vessel';

export function Office() {
  const w = words();
  const view = useView('office', {});
  return (
    <Page title={w.sections.office}>
      <Shown of={view}>
        {(v) => (
          <LotPowders.Provider value={powdersOf(v.stock.flatMap((s) => s.lots))}>
            <div class="office-grid">
              <div class="office-main">
                <Card
                  title={w.attention}
                  to={{ at: 'attention' }}
                  note={v.attention.length}
                  tone={v.attention.length > 0 ? 'warn' : 'plain'}
                >
                  {v.attention.length === 0 ? <Empty>{w.allWell}</Empty> : <AttentionRows list={v.attention} max={3} />}
                </Card>
                <Card title={w.vessels}>
                  <div class="tiles">
                    {v.vessels.map((x) => (
                      <VesselTile key={x.place} vessel={x} />
                    ))}
                  </div>
                </Card>
                <Card title={w.runs}>
                  {v.runs.length === 0 ? <Empty>{w.noRuns}</Empty> : <RunRows runs={v.runs} />}
                </Card>
                <Card title={w.changes}>
                  {v.changes.length === 0 ? <Empty>{w.noChanges}</Empty> : <Changes list={v.changes} />}
                </Card>
              </div>
              <div class="office-side">
                <Card title={w.flowTitle} note={w.entryCount(v.entries)}>
                  <AllFlow flow={v.flow} />
                  <p class="hint">{w.flowNote}</p>
                </Card>
                <Card title={w.stockTitle}>
                  {v.stock.length === 0 ? <Empty>{w.noStock}</Empty> : <StockRows list={v.stock} />}
                </Card>
                <nav class="card" aria-label={w.more}>
                  <RowLink to={{ at: 'trace', by: '', id: '' }} icon="trace">
                    {w.trace}
                  </RowLink>
                  <RowLink to={{ at: 'entries', behind: { by: 'all', id: '' } }} icon="ledger">
                    {w.allEntries}
                  </RowLink>
                  <RowLink to={{ at: 'people' }} icon="people">
                    {w.people}
                  </RowLink>
                  {role.value === 'manager' && (
                    <RowLink to={{ at: 'phones' }} icon="phone">
                      {w.staff.phones}
                    </RowLink>
                  )}
                  <RowLink to={{ at: 'settings' }} icon="set">
                    {w.settings.title}
                  </RowLink>
                  <RowLink to={{ at: 'safety' }} icon="shield">
                    {w.cautions.title}
                  </RowLink>
                </nav>
                {role.value === 'manager' && <BackupLine />}
              </div>
            </div>
          </LotPowders.Provider>
        )}
      </Shown>
    </Page>
  );
}

// BackupLine tells the manager when the server was last backed up.
function BackupLine() {
  const w = words(),
    upkeep = status.value?.upkeep;
  if (upkeep === undefined || upkeep.backupMs === null) return null;
  const isBad = upkeep.isBackupFailed || upkeep.backupMs === 0;
  return (
    <p class="hint">
      {isBad && <Icon name="warn" size={16} />} {upkeep.isBackupFailed && `${w.backup.failed} · `}
      {upkeep.backupMs === 0 ? w.backup.never : w.backup.last(moment(upkeep.backupMs))}
    </p>
  );
}

export function RunRows({ runs }: { runs: readonly RunView[] }) {
  const w = words();
  return (
    <ul class="runs">
      {runs.map((r) => (
        <li key={r.run}>
          <a class="run" href={href({ at: 'run', id: r.run })}>
            <Swatch powder={r.powder} size={36} />
            <span class="run-words">
              <b>{r.powder.name}</b>
              <small>
                {r.booth.name} · {moment(r.opened_ms)}
                {r.closed_ms === undefined ? '' : `–${until(r.opened_ms, r.closed_ms)}`}
                {r.open && <em class="stamp">{w.run.open}</em>}
              </small>
            </span>
            <span class="run-figures">
              <b>{r.balance.gross.text}</b>
              <small>
                {w.balance.teShort} {r.balance.te === '' ? '–' : r.balance.te}
                {r.balance.estimated && r.balance.te !== '' ? ' ≈' : ''}
              </small>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function Changes({ list }: { list: readonly ChangeView[] }) {
  const w = words();
  return (
    <ul class="changes">
      {list.map((c) => (
        <li key={c.change}>
          <a class="change" href={href({ at: 'entry', id: c.change })}>
            <span class="change-pair">
              <Swatch powder={c.from} size={28} />
              <Icon name="go" size={18} />
              <Swatch powder={c.to} size={28} />
            </span>
            <span class="change-words">
              <b>{c.to.name}</b>
              <small>
                {c.booth.name} · {moment(c.started_ms)} · {word(w.levels, c.level)}
                {c.below && <em class="stamp is-warn">{w.change.below}</em>}
              </small>
            </span>
            <span class="change-time">
              <b>{c.minutes === undefined ? '–' : `${c.minutes} min`}</b>
              {c.crew !== undefined && <small>{w.crew(c.crew)}</small>}
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function StockRows({ list }: { list: readonly StockView[] }) {
  const w = words();
  return (
    <ul class="stock-list">
      {list.map((s) => (
        <li key={s.powder.id}>
          <a class="stock-row" href={href({ at: 'powder', id: s.powder.id })}>
            <span class="with-swatch">
              <Swatch powder={s.powder} size={28} />
              <b>{s.powder.name}</b>
              {s.blocked.mg > 0 && (
                <em class="stamp is-warn">
                  {w.stock.blocked} {s.blocked.text}
                </em>
              )}
            </span>
            <span class="stock-figures">
              <span>
                <small>{w.stock.shelfShort}</small>
                <b>{s.shelf.text}</b>
              </span>
              <span>
                <small>{w.vessel.reclaim}</small>
                <b>{s.reclaim.text}</b>
              </span>
              <span>
                <small>{w.stock.total}</small>
                <b>{s.total.text}</b>
              </span>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

// Uses says how fast a powder goes, how long it lasts and when to order it.
function Uses({ u }: { u: UseView }) {
  const w = words();
  return (
    <>
      <Figure name={w.use.perDay} text={u.per_day.text} note={w.use.over(u.days)} />
      <Figure
        name={w.use.lasts}
        text={u.cover_days < 0 ? '' : w.use.days(u.cover_days)}
        note={u.lasts_to === undefined ? undefined : dateWords(u.lasts_to)}
      />
      {u.point !== undefined && <Figure name={w.use.point} text={u.point.text} />}
      {u.order !== undefined && (
        <Figure name={w.use.order} text={w.use.boxes(u.order.boxes)} note={u.order.mass.text} />
      )}
    </>
  );
}

// Powder is one powder's stock, and every figure leads to its entries.
export function Powder({ id }: { id: string }) {
  const w = words();
  const view = useView('stock', {});
  const runs = useView('runs', {});
  return (
    <Shown of={view}>
      {(stock) => {
        const s = stock.find((x) => x.powder.id === id);
        if (s === undefined)
          return (
            <Page title={w.powder} up={{ at: 'office' }}>
              <Empty>{w.noStock}</Empty>
              <LinkButton icon="set" to={{ at: 'do', task: 'set.powder', with: { powder: id } }}>
                {w.edit}
              </LinkButton>
            </Page>
          );
        const to = { at: 'entries', behind: { by: 'powder', id } } as const;
        return (
          <Page
            title={s.powder.name}
            under={[s.powder.code, word(w.finishes, s.powder.finish)]
              .filter((x) => x !== undefined && x !== '')
              .join(' · ')}
            up={{ at: 'office' }}
            aside={<Swatch powder={s.powder} size={48} />}
          >
            <Card>
              <div class="figures">
                <Figure name={w.stock.shelf} text={s.shelf.text} to={to} isBig />
                <Figure name={w.stock.total} text={s.total.text} to={to} isBig />
                <Figure name={w.stock.vessels} text={s.vessels.text} to={to} />
                <Figure name={w.vessel.reclaim} text={s.reclaim.text} to={to} />
                <Figure name={w.stock.blocked} text={s.blocked.text} to={to} />
                {s.use !== undefined && <Uses u={s.use} />}
                <Figure name={w.vessel.limit} text={s.limit_pm < 1000 ? percent(s.limit_pm) : w.none} />
              </div>
            </Card>
            <Card title={w.lots}>
              <LotRows lots={s.lots} />
            </Card>
            <Card title={w.runs}>
              <Shown of={runs}>{(list) => <PowderRuns runs={list.filter((r) => r.powder.id === id)} />}</Shown>
            </Card>
            <p class="buttons">
              <LinkButton icon="set" to={{ at: 'do', task: 'set.powder', with: { powder: id } }}>
                {w.edit}
              </LinkButton>
            </p>
          </Page>
        );
      }}
    </Shown>
  );
}

// PowderRuns are the runs that this phone lists; old ones it does not.
function PowderRuns({ runs }: { runs: readonly RunView[] }) {
  const w = words(),
    cutMs = status.value?.cutMs ?? null;
  return (
    <>
      {cutMs !== null && (
        <p class="hint with-icon">
          <Icon name="note" size={20} />
          {w.older.runs(day(cutMs))}
        </p>
      )}
      {runs.length > 0 ? <RunRows runs={runs} /> : cutMs === null && <Empty>{w.noRuns}</Empty>}
    </>
  );
}
