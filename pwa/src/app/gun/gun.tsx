// How the guns of a booth are set, what they give, and whether the booth is grounded.

import type { CureView, GroundView, SetupView } from '../../bridge/api';
import { Card, Empty, LinkButton, Page, RowLink, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { advise, ago, moment, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { useView } from '../store/store';

export function Gun({ booth }: { booth: string }) {
  const w = words();
  const view = useView('gun', booth === '' ? {} : { booth });
  return (
    <Shown of={view}>
      {(v) => {
        const start = { booth: v.booth.id };
        const others = v.setups.filter((s) => s.setup !== v.setup?.setup);
        return (
          <Page
            title={w.gun.title}
            under={
              v.powder === undefined ? (
                v.booth.name
              ) : (
                <span class="with-swatch">
                  <Swatch powder={v.powder} size={22} />
                  {v.powder.name} · {v.booth.name}
                </span>
              )
            }
            up={{ at: 'booth', booth: v.booth.id }}
          >
            <div class="run-grid">
              <Card title={w.gun.ground}>
                {v.ground?.ok === false && (
                  <p class="note-box">
                    <Icon name="warn" size={20} />
                    <span>
                      <b>{advise('ground_bad').says}.</b> {advise('ground_bad').next}
                    </span>
                  </p>
                )}
                {v.ground === undefined ? <Empty>{w.gun.groundNever}</Empty> : <GroundLine ground={v.ground} />}
                <p class="buttons">
                  <LinkButton icon="shield" to={{ at: 'do', task: 'ground', with: start }}>
                    {w.gun.checkGround}
                  </LinkButton>
                </p>
              </Card>
              {v.run !== undefined && (
                <Card title={w.gun.inUse}>
                  {v.setup === undefined ? <Empty>{w.gun.noSetup}</Empty> : <SetupRow s={v.setup} />}
                </Card>
              )}
              <Card title={w.gun.setups}>
                {others.length === 0 ? (
                  <Empty>{w.gun.noSetups}</Empty>
                ) : (
                  <ul class="plain-list">
                    {others.map((s) => (
                      <li key={s.setup}>
                        <SetupRow s={s} />
                      </li>
                    ))}
                  </ul>
                )}
                <p class="buttons">
                  <LinkButton icon="plus" to={{ at: 'do', task: 'set.setup', with: {} }}>
                    {w.gun.addSetup}
                  </LinkButton>
                </p>
              </Card>
              <Card title={w.gun.outputs}>
                {v.outputs.length === 0 ? (
                  <Empty>{w.gun.noOutputs}</Empty>
                ) : (
                  <table class="table">
                    <thead>
                      <tr>
                        <th scope="col">{w.gun.main}</th>
                        <th scope="col" class="num">
                          {w.gun.flow}
                        </th>
                        <th scope="col" class="num">
                          {w.gun.when}
                        </th>
                      </tr>
                    </thead>
                    <tbody>
                      {v.outputs.map((o) => (
                        <tr key={o.main}>
                          <td>{o.main}</td>
                          <td class="num">{o.flow}</td>
                          <td class="num">{moment(o.at_ms)}</td>
                        </tr>
                      ))}
                    </tbody>
                  </table>
                )}
                <p class="buttons">
                  <LinkButton icon="scale" to={{ at: 'do', task: 'output', with: start }}>
                    {w.tasks['output']}
                  </LinkButton>
                </p>
              </Card>
              <Card title={w.gun.deposits}>
                {v.deposits.length === 0 ? (
                  <Empty>{w.gun.noDeposits}</Empty>
                ) : (
                  <table class="table">
                    <thead>
                      <tr>
                        <th scope="col">{w.gun.flow}</th>
                        <th scope="col" class="num">
                          {w.gun.te}
                        </th>
                        <th scope="col" class="num">
                          {w.gun.when}
                        </th>
                      </tr>
                    </thead>
                    <tbody>
                      {v.deposits.map((d) => (
                        <tr key={d.flow}>
                          <td>{d.flow}</td>
                          <td class="num">{d.te}</td>
                          <td class="num">{moment(d.at_ms)}</td>
                        </tr>
                      ))}
                    </tbody>
                  </table>
                )}
                <p class="buttons">
                  <LinkButton icon="parts" to={{ at: 'do', task: 'deposit', with: start }}>
                    {w.tasks['deposit']}
                  </LinkButton>
                </p>
              </Card>
              {v.run !== undefined && (
                <Card title={w.gun.cures}>
                  <Cures list={v.cures} />
                  <p class="buttons">
                    <LinkButton icon="oven" to={{ at: 'do', task: 'cure', with: { booth: v.booth.id, run: v.run } }}>
                      {w.tasks['cure']}
                    </LinkButton>
                  </p>
                </Card>
              )}
            </div>
            <RowLink to={{ at: 'sum', name: 'gun.flow' }} icon="sum">
              {w.gun.bestFlow}
            </RowLink>
            <RowLink to={{ at: 'sum', name: 'gun.advice' }} icon="sum">
              {w.gun.advice}
            </RowLink>
          </Page>
        );
      }}
    </Shown>
  );
}

export function GroundLine({ ground }: { ground: GroundView }) {
  const w = words();
  return (
    <p class="with-icon">
      <Icon name={ground.ok ? 'ok' : 'warn'} size={20} />
      <span>
        <b>{ground.ok ? w.gun.groundGood : w.gun.groundBad}</b>
        {ground.ohm !== undefined && <> · {ground.ohm}</>}{' '}
        <small>{w.gun.checked(ago(Date.now() - ground.at_ms), ground.by.name)}</small>
      </span>
    </p>
  );
}

// named are the figures whose unit alone does not tell them apart.
const named: ReadonlySet<string> = new Set(['main_kpa', 'extra_kpa']);

function SetupRow({ s }: { s: SetupView }) {
  const w = words();
  const told = [
    s.worked ? w.gun.worked : w.gun.never,
    s.runs > 0 ? w.gun.runs(s.runs) : '',
    s.last_ms === undefined ? '' : moment(s.last_ms),
  ].filter((x) => x !== '');
  return (
    <a
      class="row"
      href={href({ at: 'do', task: 'set.setup', with: { setup: s.setup } })}
      aria-label={`${s.name}. ${w.gun.change}`}
    >
      <Icon name={s.worked ? 'ok' : 'set'} />
      <span class="row-words">
        <b>{s.name}</b>
        <span>
          {s.figures.map((f) => (named.has(f.label) ? `${word(w.facts, f.label)} ${f.text}` : f.text)).join(' · ')}
        </span>
        {s.look.map((code) => (
          <span key={code} class="with-icon">
            <Icon name="warn" size={20} />
            {advise(code).says}
          </span>
        ))}
        <small>{told.join(' · ')}</small>
      </span>
      <Icon name="go" size={20} />
    </a>
  );
}

export function Cures({ list }: { list: readonly CureView[] }) {
  const w = words();
  if (list.length === 0) return <Empty>{w.gun.noCures}</Empty>;
  return (
    <ul class="plain-list">
      {list.map((c) => (
        <li key={c.entry}>
          <a class="row" href={href({ at: 'entry', id: c.entry })}>
            <Icon name={c.verdict === 'cure_good' ? 'ok' : c.verdict === undefined ? 'oven' : 'warn'} />
            <span class="row-words">
              <b>
                {[
                  c.above !== undefined && c.from !== undefined ? w.gun.cure(c.above, c.from) : w.gun.peak(c.peak),
                  c.verdict === undefined ? '' : word(w.gun.verdicts, c.verdict),
                ]
                  .filter((x) => x !== '')
                  .join(' · ')}
              </b>
              <small>
                {[c.above === undefined ? '' : w.gun.peak(c.peak), c.asked === undefined ? '' : w.gun.asked(c.asked)]
                  .filter((x) => x !== '')
                  .join(' · ')}
              </small>
            </span>
            <Icon name="go" size={20} />
          </a>
        </li>
      ))}
    </ul>
  );
}
