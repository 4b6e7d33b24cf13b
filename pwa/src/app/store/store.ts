// What every screen shares: the core, the person, the status, where we are. Signals
// hold it; only this file writes them.

import { computed, signal } from '@preact/signals';
import { createContext } from 'preact';
import { useContext, useEffect, useRef, useState } from 'preact/hooks';
import type { Boot, Core, Prefs, Problem, Role, Status, ViewName, Views } from '../../bridge/api';
import { href, parse, type Route } from '../route/route';

export const boot = signal<Boot | null>(null);
export const bootProblem = signal<Problem | null>(null);
export const status = signal<Status | null>(null);
export const route = signal<Route>({ at: 'start' });
export const toast = signal<{ text: string; tone: 'ok' | 'bad' } | null>(null);
export const held = signal(false); // another window keeps the store shut
export const stuck = signal(''); // the file for which the last update could not be installed
export const hands = signal(0); // grows when a manager's phone goes to other hands: screens begin anew
export const update = signal<{ apply(): void } | null>(null);

export const prefs = computed<Prefs>(() => boot.value?.prefs ?? { lang: firstLang(), units: 'metric', theme: 'auto' });
export const role = computed<Role | null>(() => boot.value?.person?.role ?? null);

function firstLang(): Prefs['lang'] {
  return typeof navigator !== 'undefined' && navigator.language.toLowerCase().startsWith('es') ? 'es' : 'en';
}

export const CoreContext = createContext<Core | null>(null);

export function useCore(): Core {
  const core = useContext(CoreContext);
  if (core === null) throw new Error('app: a screen stands outside of CoreContext');
  return core;
}

// problemOf reads what a rejected call carries; anything else is our own fault and says so.
export function problemOf(e: unknown): Problem {
  if (typeof e === 'object' && e !== null && 'code' in e && typeof e.code === 'string') {
    const title = 'title' in e && typeof e.title === 'string' ? e.title : '';
    return 'detail' in e && typeof e.detail === 'string'
      ? { code: e.code, title, detail: e.detail }
      : { code: e.code, title };
  }
  return { code: 'app_fault', title: '', detail: e instanceof Error ? e.message : String(e) };
}

// reboot reads who and where we are from the phone's own store.
export async function reboot(core: Core): Promise<void> {
  try {
    boot.value = await core.boot();
    bootProblem.value = null;
  } catch (e) {
    bootProblem.value = problemOf(e);
  }
}

// follow keeps the signals up to date from now on.
export function follow(core: Core): void {
  let was: Status | null = null;
  core.onChange((s) => {
    status.value = s;
    const had = was?.seats.find((x) => x.isHere),
      has = s.seats.find((x) => x.isHere);
    if (was !== null && had?.id !== has?.id) {
      forget();
      if (had?.role === 'manager') hands.value++;
      void reboot(core);
    }
    // The server may have told who we are, or forgotten it; the books may have brought
    // the shop's name: ask again.
    if (was !== null && (was.signedIn !== s.signedIn || (was.rev !== s.rev && boot.value?.person != null)))
      void reboot(core);
    was = s;
  });
  core.onHeld((isHeld) => {
    const wasHeld = held.value;
    held.value = isHeld;
    if (!wasHeld || isHeld) return;
    forget(); // what was shown meanwhile may have come from no store
    void reboot(core);
  });
  const read = () => {
    route.value = parse(location.hash);
  };
  window.addEventListener('hashchange', () => {
    read();
    window.scrollTo(0, 0);
  });
  read();
}

export function go(r: Route): void {
  location.hash = href(r);
}

// replace goes to a route without leaving the present one behind the back button.
export function replace(r: Route): void {
  history.replaceState(null, '', href(r));
  route.value = r;
  window.scrollTo(0, 0);
}

// back leaves a screen; with nothing behind it, it goes to where the screen belongs.
export function back(otherwise: Route): void {
  if (history.length > 1) history.back();
  else replace(otherwise);
}

let toastTimer: ReturnType<typeof setTimeout> | undefined;

export function say(text: string, tone: 'ok' | 'bad' = 'ok'): void {
  toast.value = { text, tone };
  clearTimeout(toastTimer);
  toastTimer = setTimeout(() => {
    toast.value = null;
  }, 6000);
}

// hush takes the message away: what it said of the last record is not so of the next.
export function hush(): void {
  clearTimeout(toastTimer);
  toast.value = null;
}

export type Loaded<T> = { kind: 'waiting' } | { kind: 'here'; value: T } | { kind: 'failed'; problem: Problem };

const cache = new Map<string, unknown>();
let forgotten = 0; // times
export const keyOf = (name: ViewName, params: object): string =>
  name + JSON.stringify(params) + prefs.value.units + prefs.value.lang;
// keeper keeps the answer to what is asked now, unless it comes after forget.
export function keeper(): (key: string, value: unknown) => void {
  const nth = forgotten;
  return (key, value) => {
    if (nth === forgotten) cache.set(key, value);
  };
}
export const keptOf = (key: string): unknown => cache.get(key);

// forget drops every kept view, as when another person signs in.
export function forget(): void {
  cache.clear();
  forgotten++;
}

// useView shows a view of the books and asks again after every change of them.
// The last answer is shown at once when a screen comes back.
export function useView<K extends ViewName>(name: K, params: Record<string, unknown>): Loaded<Views[K]> {
  const core = useCore();
  const key = keyOf(name, params);
  const rev = status.value?.rev ?? 0;
  const [, redraw] = useState(0);
  const failed = useRef<{ key: string; problem: Problem } | null>(null);
  useEffect(() => {
    let isGone = false;
    const keep = keeper();
    core
      .view(name, params)
      .then(
        (value) => {
          keep(key, value);
          failed.current = null;
        },
        (e: unknown) => {
          failed.current = { key, problem: problemOf(e) };
        },
      )
      .finally(() => {
        if (!isGone) redraw((n) => n + 1);
      });
    return () => {
      isGone = true;
    };
  }, [key, rev]);
  if (failed.current?.key === key) return { kind: 'failed', problem: failed.current.problem };
  const kept = cache.get(key) as Views[K] | undefined; // only this function writes under this key
  return kept === undefined ? { kind: 'waiting' } : { kind: 'here', value: kept };
}

export function assertNever(x: never): never {
  throw new Error('app: unexpected ' + JSON.stringify(x));
}
