// The recall sheet: what the screen shows, on paper. Only a printer sees it.

import { useEffect, useState } from 'preact/hooks';
import type { TraceRunView, TraceView } from '../../bridge/api';
import { clock, dateWords, day, percent, word, words } from '../i18n/i18n';
import { partWords } from '../older/older';
import type { Part } from '../older/use-whole';
import { boot } from '../store/store';
import { batchOf, bookRows, passWords, unknownLot } from './figures';

// usePrintTime is the time of the last printing, for the head of the sheet.
function usePrintTime(): number {
  const [at, setAt] = useState(() => Date.now());
  useEffect(() => {
    const now = () => setAt(Date.now());
    window.addEventListener('beforeprint', now);
    return () => window.removeEventListener('beforeprint', now);
  }, []);
  return at;
}

export function RecallSheet({ t, part }: { t: TraceView; part: Part | null }) {
  const w = words();
  const at = usePrintTime();
  return (
    <section class="recall" lang={document.documentElement.lang}>
      {part !== null && <p class="recall-part">{partWords(part)}</p>}
      <header>
        <p>{boot.value?.shop?.name ?? ''}</p>
        <h2>{w.recall.title}</h2>
        <p>{w.recall.printed(`${day(at)} ${clock(at)}`, boot.value?.person?.name ?? '')}</p>
      </header>
      <About t={t} />
      <p>{t.min_pm > 0 ? w.recall.above(percent(t.min_pm)) : w.recall.all}</p>
      {t.books !== undefined && (
        <Table
          title={w.recall.where}
          head={['', w.mass, w.recall.exact]}
          rows={bookRows(t).map((b) => [b.name, b.text, b.exact])}
        />
      )}
      <Parts t={t} isPart={part !== null} />
      {t.books !== undefined && <Places t={t} isPart={part !== null} />}
      {t.lot_id === '' && (
        <Table
          title={w.recall.lots}
          head={[w.vessel.lot, w.vessel.passesHead, w.mass, w.share]}
          rows={[
            ...t.lots.map((l) => [batchOf(l), w.passes(l.passes), l.mass.text, percent(l.share_pm)]),
            ...(t.lots_rest === undefined
              ? []
              : [[w.recall.rest(t.lots_rest.rows), '', t.lots_rest.mass.text, percent(t.lots_rest.share_pm)]]),
          ]}
        />
      )}
      <p class="recall-note">{w.recall.note}</p>
      <footer>
        <span>{w.recall.sign}</span>
        <span>{w.recall.date}</span>
        <span>{w.recall.signature}</span>
      </footer>
    </section>
  );
}

// About says what the sheet is of.
function About({ t }: { t: TraceView }) {
  const w = words();
  const l = t.lot;
  const rows: string[][] = [];
  if (l !== undefined) {
    rows.push(
      [w.powder, [l.powder.name, l.powder.code ?? ''].filter((x) => x !== '').join(' · ')],
      [w.vessel.lot, l.batch],
      [w.stock.received, `${day(l.received_ms)} · ${l.received.text}`],
    );
    if (l.made !== undefined) rows.push([w.fields['made'] ?? '', dateWords(l.made)]);
    if (l.use_by !== undefined) rows.push([w.fields['use_by'] ?? '', dateWords(l.use_by)]);
    if (l.state === 'held') rows.push([word(w.lotStates, l.state), l.held_why ?? '']);
  } else if (t.lot_id !== '') {
    rows.push([w.vessel.lot, t.lot_id === unknownLot ? w.recall.unknown : t.lot_id]);
  }
  if (t.job !== '') rows.push([w.run.job, t.job]);
  const r = t.run === '' ? undefined : t.runs[0];
  if (r !== undefined)
    rows.push(
      [w.recall.day, `${day(r.at_ms)} ${clock(r.at_ms)}`],
      [w.recall.booth, r.booth.name],
      [w.powder, r.powder.name],
    );
  return <Table title="" head={[]} rows={rows} />;
}

// Parts lists every job of every run, the powder of what is traced on it, and its share.
function Parts({ t, isPart }: { t: TraceView; isPart: boolean }) {
  const w = words();
  const when = (r: TraceRunView) =>
    `${day(r.at_ms)} ${clock(r.at_ms)} · ${r.booth.name} · ${r.powder.name}${r.open ? ` · ${w.run.open}` : ''}`;
  const rows = t.runs.flatMap((r) => {
    const lost = r.lost.mg > 0 ? `${r.open ? w.recall.book.open : w.recall.book.lost}: ${r.lost.text}` : '';
    const head = [when(r), passWords(r.passes), lost, r.on_parts.text, percent(r.share_pm)];
    return [
      head,
      ...r.jobs.map((j) => [`– ${w.run.job} ${j.job}`, `× ${j.count}`, '', j.on_parts.text, percent(j.share_pm)]),
    ];
  });
  const rest = t.runs_rest;
  if (rest !== undefined)
    rows.push([
      w.recall.rest(rest.rows),
      '',
      rest.lost.mg > 0 ? `${w.recall.book.lost}: ${rest.lost.text}` : '',
      rest.mass.text,
      '',
    ]);
  if (isPart && rows.length === 0) return null;
  rows.push([w.recall.of(t.parts.of.text), '', '', t.parts.mass.text, '']);
  return <Table title={w.recall.runs} head={[w.traceRuns, '', '', w.balance.on_parts, w.share]} rows={rows} />;
}

function Places({ t, isPart }: { t: TraceView; isPart: boolean }) {
  const w = words();
  const rows = t.places.map((p) => [
    p.place.name,
    word(w.placeKinds, p.kind),
    passWords(p.passes),
    p.mass.text,
    percent(p.share_pm),
  ]);
  const rest = t.places_rest;
  if (rest !== undefined) rows.push([w.recall.rest(rest.rows), '', '', rest.mass.text, '']);
  if (isPart && rows.length === 0) return null;
  if (rows.length === 0) rows.push([w.recall.noPlaces, '', '', '', '']);
  return <Table title={w.recall.places} head={[w.place, '', w.vessel.passesHead, w.mass, w.share]} rows={rows} />;
}

// Table prints rows whose last two columns are figures when there are more than two.
function Table({
  title,
  head,
  rows,
}: {
  title: string;
  head: readonly string[];
  rows: readonly (readonly string[])[];
}) {
  const isNum = (row: readonly string[], i: number) => row.length > 2 && i >= row.length - 2;
  return (
    <>
      {title !== '' && <h3>{title}</h3>}
      <table>
        {head.length > 0 && (
          <thead>
            <tr>
              {head.map((h, i) => (
                <th scope="col" key={i} class={isNum(head, i) ? 'num' : undefined}>
                  {h}
                </th>
              ))}
            </tr>
          </thead>
        )}
        <tbody>
          {rows.map((row, k) => (
            <tr key={k}>
              {row.map((c, i) =>
                i === 0 && head.length === 0 ? (
                  <th scope="row" key={i}>
                    {c}
                  </th>
                ) : (
                  <td key={i} class={isNum(row, i) ? 'num' : undefined}>
                    {c}
                  </td>
                ),
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
