// Every calculation of the core, as a list and as generated forms.

import { useEffect, useState } from 'preact/hooks';
import type { CalcInfo, Problem } from '../../bridge/api';
import { Choice, NumberField, TextField, Toggle } from '../controls/controls';
import { Card, Page, ProblemBox } from '../controls/page';
import { dateWords, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { prefs, problemOf, useCore } from '../store/store';
import { build, isInstant, outText, range, rowsOf, seed, shownUnit, title, type Field, type Output, type Typed } from './model';
import { calcAbout, calcTitle, fieldWord, valueWord } from './words';

let kept: CalcInfo[] | null = null;

function useCalcs(): { list: CalcInfo[] | null; problem: Problem | null } {
  const core = useCore();
  const [list, setList] = useState(kept);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    if (kept !== null) return;
    core.calcs().then((l) => { kept = l; setList(l); }, (e: unknown) => setProblem(problemOf(e)));
  }, []);
  return { list, problem };
}

export function Sums() {
  const w = words();
  const { list, problem } = useCalcs();
  const groups = new Map<string, CalcInfo[]>();
  for (const c of list ?? []) {
    const group = c.name.split('.')[0] ?? '';
    groups.set(group, [...(groups.get(group) ?? []), c]);
  }
  return (
    <Page title={w.sections.sums} under={w.sums.under}>
      {problem !== null && <ProblemBox problem={problem} />}
      {list === null && problem === null && <p class="waiting" role="status">{w.reading}</p>}
      <div class="sums-grid">
        {[...groups].map(([group, calcs]) => (
          <Card key={group} title={word(w.sums.groups, group)}>
            <ul class="plain-list">{calcs.map((c) => (
              <li key={c.name}><a class="row" href={href({ at: 'sum', name: c.name })}><span class="row-words"><b>{titleOf(c)}</b><small>{aboutOf(c)}</small></span><Icon name="go" size={20} /></a></li>
            ))}</ul>
          </Card>
        ))}
      </div>
    </Page>
  );
}

const titleOf = (c: CalcInfo): string => calcTitle(c.name, prefs.value.lang) ?? title(c.name.split('.')[1] ?? c.name);
const aboutOf = (c: CalcInfo): string => calcAbout(c.name, prefs.value.lang) ?? c.about;
// In English the core's own sentence about a result says more than a word could.
const fieldTitle = (f: { name: string; doc?: string }): string => (f.doc !== undefined && f.doc !== '' && prefs.value.lang === 'en' ? f.doc : fieldWord(f.name, prefs.value.lang) ?? title(f.name));

export function Sum({ name }: { name: string }) {
  const w = words();
  const { list, problem } = useCalcs();
  const info = list?.find((c) => c.name === name);
  if (info === undefined) return <Page title={w.sections.sums} up={{ at: 'sums' }}>{problem === null ? <p class="waiting" role="status">{w.reading}</p> : <ProblemBox problem={problem} />}</Page>;
  return <Known info={info} key={name} />;
}

type Answer = { kind: 'none' } | { kind: 'here'; value: unknown } | { kind: 'failed'; problem: Problem };

function Known({ info }: { info: CalcInfo }) {
  const w = words();
  const core = useCore();
  const [typed, setTyped] = useState<Typed>(() => seed(info.inputs, parse(info.example)));
  const [isTried, setTried] = useState(true);
  const [answer, setAnswer] = useState<Answer>({ kind: 'none' });
  const set = (path: string, v: string) => setTyped((t) => ({ ...t, [path]: v }));
  const { input, faults } = build(info.inputs, typed);
  const faultOf = (path: string) => (isTried ? faults.find((f) => f.path === path) ?? null : null);
  const text = JSON.stringify(input);
  useEffect(() => {
    if (faults.length > 0) { setAnswer({ kind: 'none' }); return undefined; }
    let isGone = false;
    const timer = setTimeout(() => {
      core.calc(info.name, input).then((value) => { if (!isGone) setAnswer({ kind: 'here', value }); }, (e: unknown) => { if (!isGone) setAnswer({ kind: 'failed', problem: problemOf(e) }); });
    }, 120);
    return () => { isGone = true; clearTimeout(timer); };
  }, [text, faults.length]);
  return (
    <Page title={titleOf(info)} under={aboutOf(info)} up={{ at: 'sums' }}>
      <div class="sum-grid">
        <form class="card sum-form" onSubmit={(e) => { e.preventDefault(); setTried(true); }} noValidate>
          <h2 class="part-title">{w.sums.inputs}</h2>
          <Inputs fields={info.inputs} at="" typed={typed} set={set} setAll={setTyped} faultOf={faultOf} />
          <div class="buttons">
            <button type="button" class="plain" onClick={() => setTyped({})}><span>{w.sums.clear}</span></button>
            <button type="button" class="plain" onClick={() => setTyped(seed(info.inputs, parse(info.example)))}><span>{w.sums.example}</span></button>
          </div>
        </form>
        <section class="card" aria-live="polite">
          <h2 class="part-title">{w.sums.result}</h2>
          {answer.kind === 'none' && <p class="empty">{w.sums.incomplete}</p>}
          {answer.kind === 'failed' && <ProblemBox problem={answer.problem} />}
          {answer.kind === 'here' && <Result outputs={info.outputs} value={answer.value} />}
          <p class="source"><b>{w.sums.source}:</b> {info.source}</p>
        </section>
      </div>
    </Page>
  );
}

function parse(json: string): unknown {
  try { return JSON.parse(json); } catch { return {}; }
}

const unitLetters = 7; // a longer unit stands below the field

interface InputsProps {
  fields: readonly Field[]; at: string; typed: Typed;
  set: (path: string, v: string) => void; setAll: (fn: (t: Typed) => Typed) => void;
  faultOf: (path: string) => { code: string } | null;
}

function Inputs(p: InputsProps) {
  return <>{p.fields.map((f) => <Input key={f.name} f={f} {...p} />)}</>;
}

function Input({ f, at, typed, set, setAll, faultOf }: InputsProps & { f: Field }) {
  const w = words();
  const path = at + f.name, unit = shownUnit(f).unit;
  const common = { label: fieldTitle(f), value: typed[path] ?? '', onValue: (v: string) => set(path, v), fault: faultOf(path), isOptional: f.optional, hint: range(f) };
  switch (f.type) {
    case 'object': return <fieldset class="sum-group"><legend>{common.label}</legend><Inputs fields={f.of ?? []} at={path + '.'} {...{ typed, set, setAll, faultOf }} /></fieldset>;
    case 'list': {
      if (f.of?.length === 1 && f.of[0]?.name === '') return <NumberField {...common} isList hint={[w.sums.spaced, unit].filter((s) => s !== '').join(' · ')} />;
      const rows = rowsOf(typed, path);
      return (
        <fieldset class="sum-group"><legend>{common.label}</legend>
          {Array.from({ length: rows }, (_, i) => (
            <fieldset class="sum-row" key={i}><legend>{i + 1}</legend><Inputs fields={f.of ?? []} at={`${path}.${i}.`} {...{ typed, set, setAll, faultOf }} /></fieldset>
          ))}
          <div class="buttons">
            <button type="button" class="plain" onClick={() => set(path + '.#', String(rows + 1))}><Icon name="plus" /><span>{w.sums.addRow}</span></button>
            {rows > 0 && <button type="button" class="plain" onClick={() => setAll((t) => ({ ...Object.fromEntries(Object.entries(t).filter(([k]) => !k.startsWith(`${path}.${rows - 1}.`))), [path + '.#']: String(rows - 1) }))}><Icon name="minus" /><span>{w.sums.dropRow}</span></button>}
          </div>
        </fieldset>
      );
    }
    case 'enum': return <Choice {...common} options={(f.options ?? []).map((o) => ({ value: o, label: codeWord(o) }))} />;
    case 'bool': return <Toggle label={common.label} isOn={typed[path] === 'yes'} onValue={(v) => set(path, v ? 'yes' : '')} />;
    case 'date': return <TextField {...common} type="date" />;
    case 'mass': case 'int': case 'float': return isInstant(f) ? <TextField {...common} type="date" hint="" /> : <NumberField {...common} {...(unit === '' || unit.length > unitLetters ? {} : { units: [unit] })} hint={[range(f), unit.length > unitLetters && range(f) === '' ? unit : ''].join('')} />;
    default: return <TextField {...common} />;
  }
}

// codeWord finds words for a word of the vocabulary, wherever it stands.
function codeWord(code: string): string {
  const w = words();
  const tables: Readonly<Record<string, string>>[] = [w.levels, w.modes, w.chemistries, w.finishes, w.roles];
  return valueWord(code, prefs.value.lang) ?? tables.find((t) => t[code] !== undefined)?.[code] ?? code.replaceAll('_', ' ');
}

function Result({ outputs, value }: { outputs: readonly Output[]; value: unknown }) {
  if (typeof value !== 'object' || value === null) return null;
  const values: Readonly<Record<string, unknown>> = { ...value };
  return (
    <table class="table facts"><tbody>
      {outputs.filter((o) => values[o.name] !== undefined).map((o) => (
        <tr key={o.name}><th scope="row">{fieldTitle(o)}</th><td><OutValue o={o} value={values[o.name]} /></td></tr>
      ))}
    </tbody></table>
  );
}

function OutValue({ o, value }: { o: Output; value: unknown }) {
  const w = words();
  if (o.type === 'object') return <Result outputs={o.of ?? []} value={value} />;
  if (o.type === 'list') {
    const list: readonly unknown[] = Array.isArray(value) ? value : [];
    if (list.length === 0) return <>–</>;
    const plain = o.of?.length === 1 && o.of[0]?.name === '' ? o.of[0] : undefined;
    if (plain !== undefined) return <>{list.map((x) => outText(plain, x)).join(' · ')}</>;
    return <ol class="out-list">{list.map((x, i) => <li key={i}><Result outputs={o.of ?? []} value={x} /></li>)}</ol>;
  }
  if (o.type === 'bool') return <>{value === true ? w.yes : w.no}</>;
  if (o.type === 'mass' && typeof value === 'number') return <CoreText kind="mass" value={value} />;
  if (o.unit === '‰' && typeof value === 'number') return <CoreText kind="share" value={value} />;
  if (typeof value === 'string') return <b>{/^\d{4}-\d\d-\d\d$/.test(value) ? dateWords(value) : codeWord(value)}</b>;
  return <b>{outText(o, value)}</b>;
}

// CoreText lets the core print a figure in the person's units.
function CoreText({ kind, value }: { kind: 'mass' | 'share'; value: number }) {
  const core = useCore();
  const [text, setText] = useState('');
  const style = prefs.value.units + prefs.value.lang;
  useEffect(() => {
    let isGone = false;
    core.text(kind, value).then((t) => { if (!isGone) setText(t); }, () => { if (!isGone) setText(outText(kind === 'mass' ? { type: 'mass' } : { type: 'int', unit: '‰' }, value)); });
    return () => { isGone = true; };
  }, [kind, value, style]);
  return <b>{text}</b>;
}
