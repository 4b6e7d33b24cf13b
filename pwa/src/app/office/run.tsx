// One run: where its powder went, to the milligram, and what is on the parts.

import type { RunView } from '../../bridge/api';
import { Card, Empty, Figure, LinkButton, Page, RowLink } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { Cures } from '../gun/gun';
import { RunFlow } from '../flow/flow';
import { advise, moment, percent, until, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { WholeShown } from '../older/older';
import { useWhole } from '../older/use-whole';
import { LotTable } from '../vessel/lot-table';
import { batchOf, withDeviation } from './figures';

export function Run({ id }: { id: string }) {
  const view = useWhole('run', { run: id });
  if (view.kind === 'here') return <Known r={view.value} />;
  return (
    <Page title={words().fields['run'] ?? ''} up={{ at: 'office' }}>
      <WholeShown of={view}>{() => null}</WholeShown>
    </Page>
  );
}

function Known({ r }: { r: RunView }) {
  const w = words();
  const b = r.balance;
  const to = { at: 'entries', behind: { by: 'run', id: r.run } } as const;
  const start = { booth: r.booth.id, run: r.run };
  return (
    <Page
      title={r.powder.name}
      under={`${r.booth.name} · ${moment(r.opened_ms)}${r.closed_ms === undefined ? '' : `–${until(r.opened_ms, r.closed_ms)}`} · ${word(w.modes, r.mode)}`}
      up={{ at: 'office' }}
      aside={<Swatch powder={r.powder} size={48} />}
    >
      <div class="run-grid">
        <Card title={w.balanceTitle} note={r.open ? w.run.open : w.run.closed}>
          <RunFlow balance={b} />
          {b.why !== undefined && b.why !== '' && (
            <p class="note-box">
              <Icon name="warn" size={20} />
              <span>
                <b>{advise(b.why).says}.</b> {advise(b.why).next}
              </span>
            </p>
          )}
        </Card>
        <Card title={w.figures}>
          <div class="figures">
            <Figure
              name={w.balance.te}
              text={withDeviation(b.te, b.te_sd_pm >= 0 ? percent(b.te_sd_pm) : '')}
              note={b.estimated ? w.estimated : undefined}
              to={to}
              isBig
            />
            <Figure name={w.balance.use} text={b.use} note={b.estimated ? w.estimated : undefined} to={to} isBig />
            <Figure name={w.balance.gross} text={b.gross.text} to={to} />
            <Figure name={w.balance.net} text={b.net.text} to={to} />
            <Figure
              name={w.balance.on_parts}
              text={b.on_parts.text}
              note={b.estimated ? w.estimated : undefined}
              to={to}
            />
            <Figure name={w.balance.recovered} text={b.recovered.text} to={to} />
            <Figure name={w.balance.scrapped} text={b.scrapped.text} to={to} />
            <Figure name={w.balance.lost} text={withDeviation(b.lost.text, b.lost_sd?.text ?? '')} to={to} />
          </div>
        </Card>
        <Card title={w.run.jobs}>
          {r.jobs.length === 0 ? (
            <Empty>{w.run.noJobs}</Empty>
          ) : (
            <table class="table">
              <thead>
                <tr>
                  <th scope="col">{w.run.job}</th>
                  <th scope="col" class="num">
                    {w.run.count}
                  </th>
                  <th scope="col" class="num">
                    {w.run.area}
                  </th>
                  <th scope="col" class="num">
                    {w.balance.on_parts}
                  </th>
                </tr>
              </thead>
              <tbody>
                {r.jobs.map((j) => (
                  <tr key={j.job}>
                    <td>
                      <a href={href({ at: 'trace', by: 'job', id: j.job })}>{j.job}</a>
                    </td>
                    <td class="num">{j.count}</td>
                    <td class="num">{j.area}</td>
                    <td class="num">{j.on_parts.text}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
          {r.capable !== undefined && (
            <div class="figures">
              <Figure
                name={w.use.cpk}
                text={r.capable.cpk}
                note={w.use.interval(r.capable.low, r.capable.high)}
                to={to}
              />
              {r.capable.cp !== undefined && (
                <Figure name={w.use.cp} text={r.capable.cp} note={`${w.use.sd} ${r.capable.sd}`} to={to} />
              )}
            </div>
          )}
          {r.film_mean !== undefined && (
            <p class="film-line">
              <Icon name="film" size={20} />
              {w.run.film(r.film_mean, r.film_min ?? '', r.film_max ?? '', r.readings)}
            </p>
          )}
        </Card>
        {r.cures.length > 0 && (
          <Card title={w.gun.cures}>
            <Cures list={r.cures} />
          </Card>
        )}
        <Card title={w.run.lots}>
          {r.lots.length === 0 ? (
            <Empty>{w.run.noLots}</Empty>
          ) : (
            <LotTable
              rows={r.lots}
              name={(l) => <a href={href({ at: 'trace', by: 'lot', id: l.lot })}>{batchOf(l)}</a>}
            />
          )}
        </Card>
      </div>
      <RowLink to={to} icon="ledger">
        {w.entriesBehind}
      </RowLink>
      <RowLink to={{ at: 'trace', by: 'run', id: r.run }} icon="trace">
        {w.recall.run}
      </RowLink>
      <nav class="bottom-bar" aria-label={w.actions}>
        <LinkButton icon="parts" to={{ at: 'do', task: 'parts', with: start }}>
          {w.actionNames['parts']}
        </LinkButton>
        <LinkButton icon="film" to={{ at: 'do', task: 'film', with: start }}>
          {w.actionNames['film']}
        </LinkButton>
        <LinkButton icon="oven" to={{ at: 'do', task: 'cure', with: start }}>
          {w.actionNames['cure']}
        </LinkButton>
        {r.open ? (
          <LinkButton icon="ok" to={{ at: 'do', task: 'run.close', with: start }}>
            {w.actionNames['run.close']}
          </LinkButton>
        ) : (
          <LinkButton icon="recover" to={{ at: 'do', task: 'recover', with: start }}>
            {w.actionNames['recover']}
          </LinkButton>
        )}
      </nav>
    </Page>
  );
}
