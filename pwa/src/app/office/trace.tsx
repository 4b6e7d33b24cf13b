// Follow a lot to the parts, or a job back to its lots.

import { useState } from 'preact/hooks';
import type { TraceView } from '../../bridge/api';
import { Select, TextField } from '../controls/controls';
import { Card, Empty, Figure, Page, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { day, percent, words } from '../i18n/i18n';
import { href } from '../route/route';
import { go, useView } from '../store/store';

export function Trace({ by, id }: { by: 'lot' | 'job' | ''; id: string }) {
  const w = words();
  return (
    <Page title={w.trace} under={w.traceUnder} up={{ at: 'office' }}>
      <Ask by={by} id={id} />
      {by !== '' && <Answer by={by} id={id} key={by + id} />}
    </Page>
  );
}

function Ask({ by, id }: { by: 'lot' | 'job' | ''; id: string }) {
  const w = words();
  const lists = useView('office', {});
  const [job, setJob] = useState(by === 'job' ? id : '');
  const lots = lists.kind === 'here' ? lists.value.stock.flatMap((s) => s.lots.map((l) => ({ value: l.lot, label: `${s.powder.name} · ${l.batch}`, note: l.stock.text }))) : [];
  return (
    <Card>
      <div class="two">
        <Select label={w.traceByLot} options={lots} value={by === 'lot' ? id : ''} onValue={(v) => { if (v !== '') go({ at: 'trace', by: 'lot', id: v }); }} />
        <form class="with-button" onSubmit={(e) => { e.preventDefault(); if (job.trim() !== '') go({ at: 'trace', by: 'job', id: job.trim() }); }}>
          <TextField label={w.traceByJob} value={job} onValue={setJob} type="search" />
          <button type="submit" class="plain"><span>{w.find}</span></button>
        </form>
      </div>
    </Card>
  );
}

function Answer({ by, id }: { by: 'lot' | 'job'; id: string }) {
  const view = useView('trace', by === 'lot' ? { lot: id } : { job: id });
  return <Shown of={view}>{(t) => <Known t={t} by={by} />}</Shown>;
}

function Known({ t, by }: { t: TraceView; by: 'lot' | 'job' }) {
  const w = words();
  return (
    <>
      {t.lot !== undefined && (
        <Card title={`${t.lot.powder.name} · ${t.lot.batch}`} to={{ at: 'lot', id: t.lot.lot }}>
          <div class="figures">
            <div class="figure"><Swatch powder={t.lot.powder} size={48} /></div>
            <Figure name={w.stock.received} text={t.lot.received.text} to={{ at: 'entries', behind: { by: 'lot', id: t.lot.lot } }} />
            {t.places.map((p) => <Figure key={p.place.id} name={p.place.name} text={p.mass.text} to={{ at: 'place', id: p.place.id }} />)}
          </div>
        </Card>
      )}
      <Card title={w.traceRuns}>
        {t.runs.length === 0 ? <Empty>{w.traceNoRuns}</Empty> : (
          <ul class="runs">{t.runs.map((r) => (
            <li key={r.run} class="trail">
              <span class="run-words"><a href={href({ at: 'run', id: r.run })}>{day(r.at_ms)} · {r.booth.name}</a>
                {r.jobs.map((j) => <a key={j.job} href={href({ at: 'trace', by: 'job', id: j.job })}>{j.job} <small>× {j.count}</small></a>)}</span>
              <span class="run-figures"><b>{r.on_parts.text}</b><small>{by === 'lot' ? `${w.traceOnParts} · ${percent(r.share_pm)}` : w.balance.on_parts}</small></span>
            </li>))}
          </ul>
        )}
      </Card>
      {t.lots.length > 0 && (
        <Card title={w.run.lots}>
          <table class="table"><thead><tr><th scope="col">{w.vessel.lot}</th><th scope="col">{w.vessel.passesHead}</th><th scope="col" class="num">{w.mass}</th><th scope="col" class="num">{w.share}</th></tr></thead>
            <tbody>{t.lots.map((l) => <tr key={`${l.lot}-${l.passes}`}><td><a href={href({ at: 'trace', by: 'lot', id: l.lot })}>{l.batch}</a></td><td>{w.passes(l.passes)}</td><td class="num">{l.mass.text}</td><td class="num">{percent(l.share_pm)}</td></tr>)}</tbody></table>
        </Card>
      )}
    </>
  );
}
