// The powder room: lots in the order to use them, the places with what is in them.

import type { LotView, StockView } from '../../bridge/api';
import { AttentionRows } from '../attention/attention';
import { Card, Empty, Figure, LinkButton, Page, RowLink, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { EntryRows } from '../entry/entry-row';
import { dateWords, moment, percent, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { role, useView } from '../store/store';
import { LayerList, LotPowders, powdersOf, VesselPanel, VesselTile } from '../vessel/vessel';

export function Room() {
  const w = words();
  const view = useView('room', {});
  return (
    <Page title={w.sections.room}>
      <Shown of={view}>
        {(v) => (
          <LotPowders.Provider value={powdersOf(v.stock.flatMap((s) => s.lots))}>
            <div class="room-grid">
              {v.attention.length > 0 && (
                <div class="room-attention">
                  <AttentionRows list={v.attention} max={2} />
                </div>
              )}
              <div class="room-stock">
                {v.stock.length === 0 && <Empty>{w.noStock}</Empty>}
                {v.stock.map((s) => (
                  <Stock key={s.powder.id} stock={s} />
                ))}
              </div>
              <div class="room-places">
                <Card title={w.shelves}>
                  <div class="tiles">
                    {v.places
                      .filter((p) => p.kind === 'shelf')
                      .map((p) => (
                        <VesselTile key={p.place} vessel={p} />
                      ))}
                  </div>
                </Card>
                <Card title={w.vessels}>
                  <div class="tiles">
                    {v.places
                      .filter((p) => p.kind === 'vessel')
                      .map((p) => (
                        <VesselTile key={p.place} vessel={p} />
                      ))}
                  </div>
                </Card>
                {v.places.some((p) => p.kind === 'scrap') && (
                  <Card title={w.scrapPlaces}>
                    <div class="tiles">
                      {v.places
                        .filter((p) => p.kind === 'scrap')
                        .map((p) => (
                          <VesselTile key={p.place} vessel={p} />
                        ))}
                    </div>
                  </Card>
                )}
                <Card title={w.gun.climate}>
                  {v.climate.length === 0 ? (
                    <Empty>{w.gun.noClimate}</Empty>
                  ) : (
                    <ul class="plain-list">
                      {v.climate.map((c) => (
                        <li class="row" key={c.place?.id ?? ''}>
                          <span class="row-words">
                            <b>{[c.temp, c.rh ?? ''].filter((x) => x !== '').join(' · ')}</b>
                            <small>
                              {c.place?.name ?? w.gun.wholeStore} · {moment(c.at_ms)}
                            </small>
                          </span>
                        </li>
                      ))}
                    </ul>
                  )}
                  <p class="buttons">
                    <LinkButton icon="plus" to={{ at: 'do', task: 'climate', with: {} }}>
                      {w.gun.readClimate}
                    </LinkButton>
                  </p>
                </Card>
                <Card title={w.recent}>
                  {v.recent.length === 0 ? <Empty>{w.noEntries}</Empty> : <EntryRows list={v.recent} />}
                </Card>
              </div>
            </div>
          </LotPowders.Provider>
        )}
      </Shown>
      <nav class="bottom-bar" aria-label={w.actions}>
        {role.value !== 'coater' && (
          <LinkButton kind="main" icon="receive" to={{ at: 'do', task: 'receive', with: {} }}>
            {w.actionNames['receive']}
          </LinkButton>
        )}
        <LinkButton icon="scale" to={{ at: 'do', task: 'partbox', with: {} }}>
          {w.actionNames['partbox']}
        </LinkButton>
        <LinkButton icon="move" to={{ at: 'do', task: 'move', with: {} }}>
          {w.actionNames['move']}
        </LinkButton>
      </nav>
    </Page>
  );
}

function Stock({ stock }: { stock: StockView }) {
  const w = words();
  return (
    <section class="stock">
      <header class="stock-head">
        <Swatch powder={stock.powder} size={44} />
        <div>
          <h2>
            <a href={href({ at: 'powder', id: stock.powder.id })}>{stock.powder.name}</a>
          </h2>
          <p>
            {[stock.powder.code, word(w.finishes, stock.powder.finish)]
              .filter((s) => s !== undefined && s !== '')
              .join(' · ')}
          </p>
        </div>
        <b class="stock-total">
          {stock.shelf.text}
          <small>{w.stock.shelfShort}</small>
        </b>
      </header>
      <LotRows lots={stock.lots} />
    </section>
  );
}

// whereToFind names the shelves of a lot, or what else has it, but for scrap.
function whereToFind(l: LotView): string {
  const shelves = l.at.filter((a) => a.kind === 'shelf');
  return (shelves.length > 0 ? shelves : l.at.filter((a) => a.kind !== 'scrap')).map((a) => a.place.name).join(', ');
}

// LotRows are lots in the order to use them; the first is marked in words too.
export function LotRows({ lots }: { lots: readonly LotView[] }) {
  const w = words();
  if (lots.length === 0) return <p class="empty">{w.noLots}</p>;
  return (
    <ul class="lots">
      {lots.map((l) => (
        <li key={l.lot}>
          <a class="lot" href={href({ at: 'lot', id: l.lot })}>
            <span class={l.turn === 1 ? 'turn is-first' : 'turn'} aria-label={l.turn > 0 ? w.turn(l.turn) : w.noTurn}>
              {l.turn > 0 ? l.turn : '–'}
            </span>
            <span class="lot-words">
              <b>{l.batch}</b>
              <small>
                {[
                  l.turn === 1 ? w.useFirst : '',
                  l.use_by === undefined ? '' : w.useBy(dateWords(l.use_by)),
                  whereToFind(l),
                ]
                  .filter((s) => s !== '')
                  .join(' · ')}
              </small>
            </span>
            <span class="lot-mass">
              <b>{l.stock.text}</b>
              {l.state !== 'usable' && (
                <em class={l.state === 'gone' ? 'stamp' : 'stamp is-warn'}>{word(w.lotStates, l.state)}</em>
              )}
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

export function Lot({ id }: { id: string }) {
  const w = words();
  const view = useView('trace', { lot: id });
  const room = useView('room', {});
  return (
    <Shown of={view}>
      {(t) => {
        // The turn among the other lots is the room's knowledge, not the trace's.
        const l =
          (room.kind === 'here' ? room.value.stock.flatMap((s) => s.lots).find((x) => x.lot === id) : undefined) ??
          t.lot;
        if (l === undefined)
          return (
            <Page title={w.vessel.lot} up={{ at: 'room' }}>
              <Empty>{w.noLots}</Empty>
            </Page>
          );
        const isHeld = l.state === 'held';
        const may = role.value !== 'coater';
        return (
          <Page
            title={l.batch}
            under={
              <span class="with-swatch">
                <Swatch powder={l.powder} size={22} />
                {l.powder.name}
              </span>
            }
            up={{ at: 'room' }}
          >
            <Card>
              <p class="lot-state">
                <span class={l.turn === 1 ? 'turn is-first' : 'turn'}>{l.turn > 0 ? l.turn : '–'}</span>
                {l.turn > 0 ? w.turn(l.turn) : w.noTurn}
                <em class={l.state === 'usable' ? 'stamp' : 'stamp is-warn'}>{word(w.lotStates, l.state)}</em>
              </p>
              {l.warm !== undefined && (
                <p class="hint">
                  {w.recall.warm(l.warm.warm_days, l.warm.highest, l.warm.limit, dateWords(l.warm.use_by))}
                </p>
              )}
              {l.held_why !== undefined && l.held_why !== '' && (
                <p>
                  {w.heldWhy}: {l.held_why}
                </p>
              )}
              <div class="figures">
                <Figure
                  name={w.stock.now}
                  text={l.stock.text}
                  to={{ at: 'entries', behind: { by: 'lot', id } }}
                  isBig
                />
                <Figure
                  name={w.stock.received}
                  text={l.received.text}
                  to={{ at: 'entries', behind: { by: 'lot', id } }}
                />
                <Figure name={w.fields['made'] ?? ''} text={l.made === undefined ? '' : dateWords(l.made)} />
                <Figure name={w.fields['use_by'] ?? ''} text={l.use_by === undefined ? '' : dateWords(l.use_by)} />
              </div>
              <table class="table">
                <thead>
                  <tr>
                    <th scope="col">{w.place}</th>
                    <th scope="col" class="num">
                      {w.mass}
                    </th>
                  </tr>
                </thead>
                <tbody>
                  {l.at.map((a) => (
                    <tr key={a.place.id}>
                      <td>
                        <a href={href({ at: 'place', id: a.place.id })}>{a.place.name}</a>
                      </td>
                      <td class="num">{a.mass.text}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </Card>
            <RowLink to={{ at: 'trace', by: 'lot', id }} icon="trace">
              {w.traceLot}
            </RowLink>
            <nav class="bottom-bar" aria-label={w.actions}>
              <LinkButton icon="scale" to={{ at: 'do', task: 'partbox', with: { lot: id } }}>
                {w.actionNames['partbox']}
              </LinkButton>
              <LinkButton icon="move" to={{ at: 'do', task: 'move', with: { lot: id } }}>
                {w.actionNames['move']}
              </LinkButton>
              {may &&
                (isHeld ? (
                  <LinkButton icon="release" to={{ at: 'do', task: 'release', with: { lot: id } }}>
                    {w.tasks['release']}
                  </LinkButton>
                ) : (
                  <LinkButton icon="hold" to={{ at: 'do', task: 'hold', with: { lot: id } }}>
                    {w.tasks['hold']}
                  </LinkButton>
                ))}
            </nav>
          </Page>
        );
      }}
    </Shown>
  );
}

export function Place({ id }: { id: string }) {
  const w = words();
  const view = useView('place', { place: id });
  const lists = useView('lists', {});
  return (
    <Shown of={view}>
      {(v) => (
        <Page
          title={v.name}
          under={word(w.placeKinds, v.kind)}
          up={{ at: 'room' }}
          aside={v.powder === undefined ? undefined : <Swatch powder={v.powder} size={44} />}
        >
          <div class="place-grid">
            <Card>
              <LotPowders.Provider value={powdersOf(lists.kind === 'here' ? lists.value.lots : [])}>
                <VesselPanel vessel={v} title={v.powder?.name ?? (v.layers.length === 0 ? w.noPowder : w.several)} />
              </LotPowders.Provider>
              {v.unsieved === true && (
                <p class="stamp is-warn">
                  <Icon name="warn" size={18} />
                  {w.vessel.unsieved}
                </p>
              )}
              <div class="figures">
                <Figure
                  name={w.vessel.virgin}
                  text={v.virgin.text}
                  to={{ at: 'entries', behind: { by: 'place', id } }}
                />
                <Figure
                  name={w.vessel.reclaim}
                  text={v.reclaim.text}
                  note={percent(v.reclaim_pm)}
                  to={{ at: 'entries', behind: { by: 'place', id } }}
                />
                <Figure name={w.vessel.limit} text={v.limit_pm < 1000 ? percent(v.limit_pm) : w.none} />
                <Figure name={w.fields['tare'] ?? ''} text={v.tare?.text ?? ''} />
              </div>
            </Card>
            <Card title={w.vessel.inside}>
              <LayerList vessel={v} />
            </Card>
          </div>
          <RowLink to={{ at: 'entries', behind: { by: 'place', id } }} icon="ledger">
            {w.entriesBehind}
          </RowLink>
          <nav class="bottom-bar" aria-label={w.actions}>
            <LinkButton icon="scale" to={{ at: 'do', task: 'weigh', with: { place: id } }}>
              {w.actionNames['weigh']}
            </LinkButton>
            {v.kind === 'vessel' && (
              <LinkButton icon="charge" to={{ at: 'do', task: 'charge', with: { to: id } }}>
                {w.actionNames['charge']}
              </LinkButton>
            )}
            {v.kind !== 'scrap' && (
              <LinkButton icon="move" to={{ at: 'do', task: 'move', with: { from: id } }}>
                {w.actionNames['move']}
              </LinkButton>
            )}
          </nav>
        </Page>
      )}
    </Shown>
  );
}
