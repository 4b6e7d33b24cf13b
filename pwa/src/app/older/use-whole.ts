// A view that may reach behind this phone's window: what the phone has is shown at once,
// and says that it is cut until the server has answered.

import { useEffect, useState } from 'preact/hooks';
import type { Problem, Views } from '../../bridge/api';
import { keeper, keptOf, keyOf, problemOf, status, useCore, useView } from '../store/store';
import { isCut, type Deep } from './reach';

const askAgainMs = 15_000;

// Part says that a value is not all: what happened before sinceMs is missing, and why. No
// why: the server is being asked.
export interface Part {
  sinceMs: number;
  why: Problem | null;
}

export type Whole<T> =
  | { kind: 'waiting' }
  | { kind: 'failed'; problem: Problem; again?: () => void }
  // unsent: so many entries of this phone the server did not know when it answered
  | { kind: 'here'; value: T; part: Part | null; unsent: number; again: () => void };

export function useWhole<K extends Deep>(name: K, params: Readonly<Record<string, unknown>>): Whole<Views[K]> {
  const core = useCore();
  const own = useView(name, { ...params }),
    s = status.value;
  const key = `older ${keyOf(name, params)}`;
  const [turn, setTurn] = useState(0);
  // How the last question to the server ended.
  const [asked, setAsked] = useState<{ key: string; problem: Problem | null } | null>(null);
  const again = () => {
    setAsked(null);
    setTurn((n) => n + 1);
  };

  const value = own.kind === 'here' ? own.value : undefined;
  const isUnknown = own.kind === 'failed' && own.problem.code === 'thing.unknown';
  const windowMs = s?.windowMs ?? null;
  const isPart = windowMs !== null && (value !== undefined || isUnknown) && isCut(name, params, value);
  // A list of the newest entries that lacked the unsent ones would lack the very newest.
  const mustSend = name === 'entries' && (s?.unsent ?? 0) > 0;
  useEffect(() => {
    if (!isPart || mustSend) return undefined;
    let isGone = false;
    const keep = keeper();
    core
      .older(name, { ...params })
      .then((v) => {
        keep(key, v);
        return null;
      }, problemOf)
      .then((problem) => {
        if (!isGone) setAsked({ key, problem });
      });
    return () => {
      isGone = true;
    };
  }, [key, isPart, mustSend, s?.rev, s?.online === 'yes', turn]);

  // The network may have failed for this question alone: it is asked again by itself too.
  useEffect(() => {
    if (!isPart || asked === null || asked.problem === null) return undefined;
    const timer = setTimeout(() => setTurn((n) => n + 1), askAgainMs);
    return () => clearTimeout(timer);
  }, [asked, isPart]);

  if (own.kind === 'waiting' || s === null) return { kind: 'waiting' };
  if (!isPart) return own.kind === 'failed' ? own : { ...own, part: null, unsent: 0, again };
  const problem = mustSend ? { code: 'older_unsent', title: '' } : asked?.key === key ? asked.problem : null;
  const isNowhere = problem?.code === 'thing.unknown'; // the server knows no more than this phone
  const older = keptOf(key) as Views[K] | undefined; // only this function writes under this key
  if (problem === null && older !== undefined) {
    return { kind: 'here', value: older, part: null, unsent: s.unsent, again };
  }
  if (own.kind === 'here') {
    const part = { sinceMs: cutOf(own.value) ?? windowMs, why: problem };
    return { ...own, part: isNowhere ? null : part, unsent: 0, again };
  }
  return problem === null ? { kind: 'waiting' } : isNowhere ? own : { kind: 'failed', problem, again };
}

// cutOf is where an answer itself says that it begins.
function cutOf(value: object): number | undefined {
  return 'cut_ms' in value && typeof value.cut_ms === 'number' ? value.cut_ms : undefined;
}
