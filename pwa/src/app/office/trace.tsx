// Follow a lot to the parts, or a job or run back to its lots; and the recall sheet.

import { signal } from '@preact/signals';
import { useState } from 'preact/hooks';
import type { TraceJobView, TraceRest, TraceRunView, TraceView } from '../../bridge/api';
import { NumberField, Select, TextField } from '../controls/controls';
import { Card, Empty, Figure, Page } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { day, percent, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { go, useView } from '../store/store';
import { WholeShown } from '../older/older';
import { useWhole, type Part } from '../older/use-whole';
import { LotTable } from '../vessel/lot-table';
import { batchOf, bookRows, passWords, perMille, unknownLot } from './figures';
import { RecallSheet } from './recall-sheet';
import { JobMeant } from './trace-job';

export type TraceBy = 'lot' | 'job' | 'run';

// least is the smallest share to list, as typed; it stays while one trace leads to the next.
const least = signal('');

export function Trace({ by, id }: { by: TraceBy | ''; id: string }) {
  const w = words();
  return (
    <Page title={w.trace} under={w.traceUnder} up={{ at: 'office' }}>
      <Ask by={by} id={id} />
      {by === 'job' && (
        <JobMeant typed={id} key={id}>
          {(job) => (
            <>
              {job !== id && <p class="hint">{w.recall.jobIs(job)}</p>}
              <Answer by="job" id={job} key={job} />
            </>
          )}
        </JobMeant>
      )}
      {by !== '' && by !== 'job' && <Answer by={by} id={id} key={by + id} />}
    </Page>
  );
}

function Ask({ by, id }: { by: TraceBy | ''; id: string }) {
  const w = words();
  const lots = useView('lots', {});
  const [job, setJob] = useState(by === 'job' ? id : '');
  const options =
    lots.kind === 'here'
      ? lots.value.map((l) => ({ value: l.lot, label: `${l.powder.name} · ${l.batch}`, note: l.stock.text }))
      : [];
  return (
    <Card>
      <div class="two">
        <Select
          label={w.traceByLot}
          options={[...options, { value: unknownLot, label: w.recall.unknown }]}
          value={by === 'lot' ? id : ''}
          onValue={(v) => {
            if (v !== '') go({ at: 'trace', by: 'lot', id: v });
          }}
        />
        <form
          class="with-button"
          onSubmit={(e) => {
            e.preventDefault();
            if (job.trim() !== '') go({ at: 'trace', by: 'job', id: job.trim() });
          }}
        >
          <TextField label={w.traceByJob} value={job} onValue={setJob} type="search" />
          <button type="submit" class="plain">
            <span>{w.find}</span>
          </button>
        </form>
      </div>
    </Card>
  );
}

function Answer({ by, id }: { by: TraceBy; id: string }) {
  const w = words();
  const [job, setJob] = useState('');
  const pm = perMille(least.value);
  const asked = { [by]: id, min_pm: pm ?? 0 };
  const whole = useWhole('trace', asked);
  const view = useWhole('trace', job === '' ? asked : { ...asked, job });
  const jobs =
    whole.kind === 'here' && by === 'lot'
      ? [...new Set(whole.value.runs.flatMap((r) => r.jobs.map((j) => j.job)))].sort()
      : [];
  return (
    <>
      <Card>
        <div class="two">
          <NumberField
            label={w.recall.from}
            hint={w.recall.fromHint}
            value={least.value}
            onValue={(v) => {
              least.value = v;
            }}
            fault={pm === null ? { code: 'form.range', want: '0–100 %' } : null}
          />
          {by === 'lot' && (
            <Select
              label={w.recall.onlyJob}
              options={jobs.map((j) => ({ value: j, label: j }))}
              value={job}
              onValue={setJob}
            />
          )}
        </div>
        <button type="button" class="plain" onClick={() => window.print()}>
          <Icon name="ledger" />
          <span>{w.recall.print}</span>
        </button>
      </Card>
      <WholeShown of={view}>
        {(t, part) => (
          <>
            <Known t={t} by={by} part={part} />
            <RecallSheet t={t} part={part} />
          </>
        )}
      </WholeShown>
    </>
  );
}

function Known({ t, by, part }: { t: TraceView; by: TraceBy; part: Part | null }) {
  const w = words();
  const isNone = t.runs.length === 0 && t.runs_rest === undefined;
  return (
    <>
      {by === 'lot' && <About t={t} />}
      {t.places.length + (t.places_rest?.rows ?? 0) > 0 && <Places t={t} />}
      {isNone && part !== null ? null : (
        <Card title={w.traceRuns}>
          {isNone ? (
            <Empty>{w.traceNoRuns}</Empty>
          ) : (
            <>
              <p class="hint">
                {t.parts.mass.text} {w.recall.of(t.parts.of.text)}
              </p>
              <ul class="runs">
                {t.runs.map((r) => (
                  <RunRow key={r.run} r={r} by={by} />
                ))}
                <Rest of={t.runs_rest} />
              </ul>
            </>
          )}
        </Card>
      )}
      {t.lot_id === '' && <Lots t={t} />}
    </>
  );
}

// About says what lot it is and where all of it went.
function About({ t }: { t: TraceView }) {
  const w = words();
  const l = t.lot;
  const title =
    l === undefined ? (t.lot_id === unknownLot ? w.recall.unknown : t.lot_id) : `${l.powder.name} · ${l.batch}`;
  return (
    <Card title={title} to={l === undefined ? undefined : { at: 'lot', id: l.lot }}>
      {t.lot_id === unknownLot && <p class="hint">{w.recall.unknownHint}</p>}
      <div class="figures">
        {l !== undefined && (
          <div class="figure">
            <Swatch powder={l.powder} size={48} />
          </div>
        )}
        {bookRows(t).map((b) => (
          <Figure
            key={b.name}
            name={b.name}
            text={b.text}
            to={{ at: 'entries', behind: { by: 'lot', id: t.lot_id } }}
          />
        ))}
      </div>
    </Card>
  );
}

function Places({ t }: { t: TraceView }) {
  const w = words();
  return (
    <Card title={w.recall.places}>
      <table class="table">
        <thead>
          <tr>
            <th scope="col">{w.place}</th>
            <th scope="col" class="num">
              {w.mass}
            </th>
            <th scope="col" class="num">
              {w.share}
            </th>
          </tr>
        </thead>
        <tbody>
          {t.places.map((p) => (
            <tr key={p.place.id}>
              <td>
                <a href={href({ at: 'place', id: p.place.id })}>{p.place.name}</a>{' '}
                {p.kind === 'scrap' && <em class="stamp is-warn">{word(w.placeKinds, p.kind)}</em>}
                <br />
                <small>{passWords(p.passes)}</small>
              </td>
              <td class="num">{p.mass.text}</td>
              <td class="num">{percent(p.share_pm)}</td>
            </tr>
          ))}
          {t.places_rest !== undefined && (
            <tr>
              <td>{w.recall.rest(t.places_rest.rows)}</td>
              <td class="num">{t.places_rest.mass.text}</td>
              <td />
            </tr>
          )}
        </tbody>
      </table>
    </Card>
  );
}

function RunRow({ r, by }: { r: TraceRunView; by: TraceBy }) {
  const w = words();
  const job = (j: TraceJobView) => (
    <a key={j.job} href={href({ at: 'trace', by: 'job', id: j.job })}>
      {j.job}{' '}
      <small>
        × {j.count} · {j.on_parts.text}
        {by === 'lot' && ` · ${percent(j.share_pm)}`}
      </small>
    </a>
  );
  return (
    <li class="trail">
      <span class="run-words">
        <a href={href({ at: 'run', id: r.run })}>
          {day(r.at_ms)} · {r.booth.name}
          {r.open && <em class="stamp">{w.run.open}</em>}
        </a>
        {r.jobs.map(job)}
      </span>
      <span class="run-figures">
        <b>{r.on_parts.text}</b>
        <small>{by === 'lot' ? `${w.traceOnParts} · ${percent(r.share_pm)}` : w.balance.on_parts}</small>
        <small>{passWords(r.passes)}</small>
        {r.lost.mg > 0 && (
          <small>
            {r.open ? w.recall.book.open : w.recall.book.lost} {r.lost.text}
          </small>
        )}
      </span>
    </li>
  );
}

function Rest({ of }: { of: TraceRest | undefined }) {
  const w = words();
  return of === undefined ? null : (
    <li class="trail">
      <span class="run-words">{w.recall.rest(of.rows)}</span>
      <span class="run-figures">
        <b>{of.mass.text}</b>
        {of.lost.mg > 0 && (
          <small>
            {w.recall.book.lost} {of.lost.text}
          </small>
        )}
      </span>
    </li>
  );
}

function Lots({ t }: { t: TraceView }) {
  const w = words();
  if (t.lots.length === 0 && t.lots_rest === undefined) return null;
  return (
    <Card title={w.recall.lots}>
      <LotTable rows={t.lots} name={(l) => <a href={href({ at: 'trace', by: 'lot', id: l.lot })}>{batchOf(l)}</a>}>
        {t.lots_rest !== undefined && (
          <tr>
            <td colSpan={2}>{w.recall.rest(t.lots_rest.rows)}</td>
            <td class="num">{t.lots_rest.mass.text}</td>
            <td class="num">{percent(t.lots_rest.share_pm)}</td>
          </tr>
        )}
      </LotTable>
    </Card>
  );
}
