// Every calculation of the core, as a list and as generated forms.

import { createContext } from 'preact';
import { useContext, useEffect, useState } from 'preact/hooks';
import type { CalcInfo, Problem } from '../../bridge/api';
import { Choice, NumberField, TextField, Toggle } from '../controls/controls';
import { Card, LinkButton, Page, ProblemBox } from '../controls/page';
import { onEnter } from '../controls/scan';
import { advise, dateWords, isCode, word, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { prefs, problemOf, useCore } from '../store/store';
import {
  build,
  isInstant,
  isWhole,
  outText,
  pathOf,
  range,
  rowsOf,
  seed,
  shownUnit,
  type Field,
  type Output,
  type Typed,
} from './model';
import { calcAbout, calcTitle, fieldWord, resultWord, valueWord } from './words';

let kept: CalcInfo[] | null = null;

function useCalcs(): { list: CalcInfo[] | null; problem: Problem | null } {
  const core = useCore();
  const [list, setList] = useState(kept);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    if (kept !== null) return;
    core.calcs().then(
      (l) => {
        kept = l;
        setList(l);
      },
      (e: unknown) => setProblem(problemOf(e)),
    );
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
      {list === null && problem === null && (
        <p class="waiting" role="status">
          {w.reading}
        </p>
      )}
      <div class="sums-grid">
        {[...groups].map(([group, calcs]) => (
          <Card key={group} title={word(w.sums.groups, group)}>
            <ul class="plain-list">
              {calcs.map((c) => (
                <li key={c.name}>
                  <a class="row" href={href({ at: 'sum', name: c.name })}>
                    <span class="row-words">
                      <b>{titleOf(c)}</b>
                      <small>{aboutOf(c)}</small>
                    </span>
                    <Icon name="go" size={20} />
                  </a>
                </li>
              ))}
            </ul>
          </Card>
        ))}
      </div>
    </Page>
  );
}

const titleOf = (c: CalcInfo): string => calcTitle(c.name, prefs.value.lang) ?? c.name;
const aboutOf = (c: CalcInfo): string => calcAbout(c.name, prefs.value.lang) ?? c.about;
const fieldTitle = (f: { name: string }): string => fieldWord(f.name, prefs.value.lang) ?? f.name;

const mark = () => (prefs.value.lang === 'es' ? ',' : '.');

// CalcName is the calculation on the screen: a word may mean something else in another.
const CalcName = createContext('');

export function Sum({ name }: { name: string }) {
  const w = words();
  const { list, problem } = useCalcs();
  const info = list?.find((c) => c.name === name);
  if (info !== undefined)
    return (
      <CalcName.Provider value={name}>
        <Known info={info} key={name} />
      </CalcName.Provider>
    );
  return (
    <Page title={w.sections.sums} up={{ at: 'sums' }}>
      {problem !== null && <ProblemBox problem={problem} />}
      {problem === null && list === null && (
        <p class="waiting" role="status">
          {w.reading}
        </p>
      )}
      {list !== null && (
        <>
          <ProblemBox problem={{ code: 'calc.unknown', title: '' }} />
          <p class="buttons">
            <LinkButton kind="main" icon="sum" to={{ at: 'sums' }}>
              {w.sums.all}
            </LinkButton>
          </p>
        </>
      )}
    </Page>
  );
}

// An answer belongs to what was typed when it was asked for.
type Answer = { kind: 'here'; to: string; value: unknown } | { kind: 'failed'; to: string; problem: Problem };

function Known({ info }: { info: CalcInfo }) {
  const w = words();
  const core = useCore();
  const [typed, setTyped] = useState<Typed>(() => seed(info.inputs, parse(info.example), mark()));
  const [answer, setAnswer] = useState<Answer | null>(null);
  const set = (path: string, v: string) => setTyped((t) => ({ ...t, [path]: v }));
  const { input, faults } = build(info.inputs, typed);
  const text = JSON.stringify(input);
  const isAsking = faults.length === 0 && answer?.to !== text;
  useEffect(() => {
    if (!isAsking) return undefined;
    let isGone = false;
    const timer = setTimeout(() => {
      core.calc(info.name, input).then(
        (value) => {
          if (!isGone) setAnswer({ kind: 'here', to: text, value });
        },
        (e: unknown) => {
          if (!isGone) setAnswer({ kind: 'failed', to: text, problem: problemOf(e) });
        },
      );
    }, 120);
    return () => {
      isGone = true;
      clearTimeout(timer);
    };
  }, [text, isAsking]);
  const failed = faults.length === 0 && answer?.kind === 'failed' && !isAsking ? refusal(info, answer.problem) : null;
  const faultOf = (path: string) =>
    faults.find((f) => f.path === path) ?? (failed?.path === path ? { code: failed.code } : null);
  return (
    <Page title={titleOf(info)} under={aboutOf(info)} up={{ at: 'sums' }}>
      <div class="sum-grid">
        <form class="card sum-form" onKeyDown={onEnter} onSubmit={(e) => e.preventDefault()} noValidate>
          <h2 class="part-title">{w.sums.inputs}</h2>
          <Inputs fields={info.inputs} at="" typed={typed} set={set} setAll={setTyped} faultOf={faultOf} />
          <div class="buttons">
            <button type="button" class="plain" onClick={() => setTyped({})}>
              <span>{w.sums.clear}</span>
            </button>
            <button
              type="button"
              class="plain"
              onClick={() => setTyped(seed(info.inputs, parse(info.example), mark()))}
            >
              <span>{w.sums.example}</span>
            </button>
          </div>
        </form>
        <section class="card" aria-live="polite" aria-busy={isAsking}>
          <h2 class="part-title">{w.sums.result}</h2>
          {faults.length > 0 && <p class="empty">{w.sums.incomplete}</p>}
          {failed !== null && <ProblemBox problem={{ code: failed.code, title: '' }} about={failed.label} />}
          {faults.length === 0 && answer?.kind === 'here' && <Result outputs={info.outputs} value={answer.value} />}
          <p class="source">
            <b>{w.sums.source}:</b> {info.source}
          </p>
        </section>
      </div>
    </Page>
  );
}

// atField are the words beside a field for what the core says of one.
const atField: Readonly<Record<string, string>> = {
  'field.missing': 'form.missing',
  'field.type': 'form.number',
  'field.range': 'form.range',
};

// refusal says in words what the calculation would not take, and at which field.
function refusal(info: CalcInfo, problem: Problem): { code: string; path: string; label: string } {
  const path = pathOf(info.inputs, problem.detail ?? ''),
    name = path
      .split('.')
      .filter((s) => !/^\d+$/.test(s))
      .at(-1);
  return {
    code: atField[problem.code] ?? problem.code,
    path,
    label: name === undefined || name === '' ? '' : fieldTitle({ name }),
  };
}

function parse(json: string): unknown {
  try {
    return JSON.parse(json);
  } catch {
    return {};
  }
}

interface InputsProps {
  fields: readonly Field[];
  at: string;
  typed: Typed;
  set: (path: string, v: string) => void;
  setAll: (fn: (t: Typed) => Typed) => void;
  faultOf: (path: string) => { code: string } | null;
}

function Inputs(p: InputsProps) {
  return (
    <>
      {p.fields.map((f) => (
        <Input key={f.name} f={f} {...p} />
      ))}
    </>
  );
}

function Input({ f, at, typed, set, setAll, faultOf }: InputsProps & { f: Field }) {
  const w = words();
  const calc = useContext(CalcName);
  const path = at + f.name,
    unit = shownUnit(f).unit;
  const common = {
    label: fieldTitle(f),
    value: typed[path] ?? '',
    onValue: (v: string) => set(path, v),
    fault: faultOf(path),
    isOptional: f.optional,
    hint: range(f, mark()),
  };
  switch (f.type) {
    case 'object':
      return (
        <fieldset class="sum-group">
          <legend>{common.label}</legend>
          <Inputs fields={f.of ?? []} at={path + '.'} {...{ typed, set, setAll, faultOf }} />
        </fieldset>
      );
    case 'list': {
      if (f.of?.length === 1 && f.of[0]?.name === '') {
        return f.of[0].type === 'id' || f.of[0].type === 'text' ? (
          <TextField {...common} hint={w.sums.spaced} />
        ) : (
          <NumberField
            {...common}
            isList
            isSigned={(f.of[0].min ?? 0) < 0}
            isWhole={isWhole({ ...f, type: f.of[0].type })}
            unit={unit}
            hint={w.sums.spaced}
          />
        );
      }
      const rows = rowsOf(typed, path);
      return (
        <fieldset class="sum-group">
          <legend>{common.label}</legend>
          {Array.from({ length: rows }, (_, i) => (
            <fieldset class="sum-row" key={i}>
              <legend>{i + 1}</legend>
              <Inputs fields={f.of ?? []} at={`${path}.${i}.`} {...{ typed, set, setAll, faultOf }} />
            </fieldset>
          ))}
          <div class="buttons">
            <button type="button" class="plain" onClick={() => set(path + '.#', String(rows + 1))}>
              <Icon name="plus" />
              <span>{w.sums.addRow}</span>
            </button>
            {rows > 0 && (
              <button
                type="button"
                class="plain"
                onClick={() =>
                  setAll((t) => ({
                    ...Object.fromEntries(Object.entries(t).filter(([k]) => !k.startsWith(`${path}.${rows - 1}.`))),
                    [path + '.#']: String(rows - 1),
                  }))
                }
              >
                <Icon name="minus" />
                <span>{w.sums.dropRow}</span>
              </button>
            )}
          </div>
        </fieldset>
      );
    }
    case 'enum':
      return <Choice {...common} options={(f.options ?? []).map((o) => ({ value: o, label: codeWord(calc, o) }))} />;
    case 'bool':
      return <Toggle label={common.label} isOn={typed[path] === 'yes'} onValue={(v) => set(path, v ? 'yes' : '')} />;
    case 'date':
      return <TextField {...common} type="date" />;
    case 'mass':
    case 'int':
    case 'float':
      return isInstant(f) ? (
        <TextField {...common} type="date" hint="" />
      ) : (
        <NumberField {...common} unit={unit} isWhole={isWhole(f)} isSigned={(f.min ?? 0) < 0} />
      );
    default:
      return <TextField {...common} />;
  }
}

// codeWord finds words for a word of the vocabulary, wherever it stands. What a person
// typed, such as the name of a lot, comes back as it is.
function codeWord(calc: string, code: string): string {
  const w = words();
  const tables: Readonly<Record<string, string>>[] = [w.levels, w.modes, w.chemistries, w.finishes, w.roles];
  const known = valueWord(calc, code, prefs.value.lang) ?? tables.find((t) => t[code] !== undefined)?.[code];
  if (known !== undefined) return known;
  return isCode(code) ? advise(code).says : /_|^(kv|ua)$/.test(code) ? fieldTitle({ name: code }) : code;
}

function Result({ outputs, value }: { outputs: readonly Output[]; value: unknown }) {
  const calc = useContext(CalcName);
  if (typeof value !== 'object' || value === null) return null;
  const values: Readonly<Record<string, unknown>> = { ...value };
  return (
    <table class="table facts">
      <tbody>
        {outputs
          .filter((o) => values[o.name] !== undefined)
          .map((o) => (
            <tr key={o.name}>
              <th scope="row">{resultWord(calc, o.name, prefs.value.lang) ?? o.name}</th>
              <td>
                <OutValue o={o} value={values[o.name]} />
              </td>
            </tr>
          ))}
      </tbody>
    </table>
  );
}

function OutValue({ o, value }: { o: Output; value: unknown }) {
  const w = words();
  const calc = useContext(CalcName);
  if (o.type === 'object') return <Result outputs={o.of ?? []} value={value} />;
  if (o.type === 'list') {
    const list: readonly unknown[] = Array.isArray(value) ? value : [];
    if (list.length === 0) return <>–</>;
    const plain = o.of?.length === 1 && o.of[0]?.name === '' ? o.of[0] : undefined;
    if (plain !== undefined)
      return (
        <>{list.map((x) => (typeof x === 'string' ? codeWord(calc, x) : outText(plain, x, mark()))).join(' · ')}</>
      );
    return (
      <ol class="out-list">
        {list.map((x, i) => (
          <li key={i}>
            <Result outputs={o.of ?? []} value={x} />
          </li>
        ))}
      </ol>
    );
  }
  if (o.type === 'bool') return <>{value === true ? w.yes : w.no}</>;
  if (o.type === 'mass' && typeof value === 'number') return <CoreText kind="mass" value={value} />;
  if (o.unit === '‰' && typeof value === 'number') return <CoreText kind="share" value={value} />;
  if (typeof value === 'string')
    return <b>{/^\d{4}-\d\d-\d\d$/.test(value) ? dateWords(value) : codeWord(calc, value)}</b>;
  if (typeof value === 'number' && isInstant(o))
    return <b>{value === 0 ? '–' : dateWords(outText(o, value, mark()))}</b>;
  return <b>{outText(o, value, mark())}</b>;
}

// CoreText lets the core print a figure in the person's units.
function CoreText({ kind, value }: { kind: 'mass' | 'share'; value: number }) {
  const core = useCore();
  const [text, setText] = useState('');
  const style = prefs.value.units + prefs.value.lang;
  useEffect(() => {
    let isGone = false;
    core.text(kind, value).then(
      (t) => {
        if (!isGone) setText(t);
      },
      () => {
        if (!isGone) setText(outText(kind === 'mass' ? { type: 'mass' } : { type: 'int', unit: '‰' }, value, mark()));
      },
    );
    return () => {
      isGone = true;
    };
  }, [kind, value, style]);
  return <b aria-busy={text === ''}>{text}</b>;
}
