// Entry of the worker: finds out what this browser has, puts the books together
// and answers the page.

import type { CallName, FromWorker, ToWorker } from '../shared/messages';
import { Clock } from '../shared/clock';
import { problemOf } from '../shared/problem';
import { Books } from './books';
import { CoreHost } from './core';
import { beatMs, Leader, lockName } from './leader';
import { Live } from './live';
import { MemoryStore } from './memory-store';
import { Net } from './net';
import { Tokens } from './session';
import { Shelf } from './shelf';
import { heldMs, IdbStore, StoreError, whenOpens } from './store';
import type { Told } from './windows';

const scope = self as unknown as DedicatedWorkerGlobalScope;
const post = (message: FromWorker) => scope.postMessage(message);
const report = (what: string) => console.warn('hoppertally:', what);

const clock = new Clock({
  wall: () => Date.now(),
  mono: () => performance.now(),
  newSegment: () => crypto.randomUUID(),
});
const now = () => ({
  ...clock.read(),
  offset_min: -new Date().getTimezoneOffset(),
  seed: crypto.getRandomValues(new Uint32Array(1))[0] ?? 0,
});

// Refreshing is serialised over all windows; a window that sleeps with the lock in
// its hands delays the others by a few seconds, no longer.
async function alone<T>(run: () => Promise<T>): Promise<T> {
  const locks = navigator.locks as LockManager | undefined;
  if (locks === undefined) return run();
  let isStarted = false;
  try {
    return (await locks.request('hoppertally-refresh', { signal: AbortSignal.timeout(4_000) }, () => {
      isStarted = true;
      return run();
    })) as T;
  } catch (e) {
    if (isStarted) throw e;
    return run();
  }
}

function noise(bytes: number): Uint8Array {
  const out = new Uint8Array(bytes);
  for (let at = 0; at < bytes; at += 65_536) crypto.getRandomValues(out.subarray(at, Math.min(at + 65_536, bytes)));
  return out;
}

const database = 'hoppertally';

// openShelf says when another window is in the way, and has this worker replaced once it
// no longer is. While a window of this app lives, whoever is signed in and what is unsent
// is known to be there, so nothing is shown in its place.
async function openShelf(): Promise<Shelf> {
  const shelf = new Shelf(new IdbStore(database), true);
  let isHeld = false;
  const late = setTimeout(() => {
    isHeld = true;
    post({ type: 'held', isHeld: true });
  }, heldMs);
  try {
    if (!(await shelf.isUsed())) await shelf.probe(); // later starts try it out once the books are open
    if (isHeld) post({ type: 'held', isHeld: false }); // it was only slow
    return shelf;
  } catch (e) {
    report('no storage: ' + String(e));
    if (e instanceof StoreError && e.why === 'blocked') {
      const free = whenOpens(database).then(() => post({ type: 'free' }));
      if (await isOtherWindow()) await free.then(() => new Promise<never>(() => undefined));
    }
    return new Shelf(new MemoryStore(), false);
  } finally {
    clearTimeout(late);
  }
}

// isOtherWindow tells whether another window of this app is open: it has the lock of
// whoever syncs.
async function isOtherWindow(): Promise<boolean> {
  const locks = navigator.locks as LockManager | undefined;
  return (await locks?.query())?.held?.some((lock) => lock.name === lockName) ?? false;
}

async function start(): Promise<Books> {
  const host = new CoreHost(now, __CORE__, 'hoppertallyCore');
  const shelf = await openShelf();
  const channel = new BroadcastChannel('hoppertally');
  const tell = (message: Told) => channel.postMessage(message);
  const net = new Net((input, init) => fetch(input, init));
  const tokens = new Tokens(net, alone);
  tokens.secret = () => shelf.secret(() => [...noise(32)].map((byte) => byte.toString(16).padStart(2, '0')).join(''));
  const live = new Live((signal) => books.stream(signal));
  const leader = new Leader({
    locks: navigator.locks as LockManager | undefined,
    say: () => tell({ type: 'beat' }),
    now: () => performance.now(),
    changed: (isLeader) => books.leads(isLeader),
  });
  const books = new Books({
    host,
    sums: new CoreHost(now, __SUMS__, 'hoppertallySums'),
    shelf,
    net,
    tokens,
    live,
    leader,
    core: __CORE__,
    version: __VERSION__,
    language: navigator.language,
    clock: () => clock.read(),
    newDevice: () => crypto.randomUUID(),
    noise,
    tell,
    report,
    show: (status) => post({ type: 'status', status }),
  });
  channel.onmessage = (e: MessageEvent<Told>) => {
    books.heard(e.data).catch((why: unknown) => report(String(why)));
  };
  leader.start();
  setInterval(() => leader.tick(), beatMs);
  return books;
}

const books = start();

scope.onmessage = (e: MessageEvent<ToWorker>) => {
  const m = e.data;
  switch (m.type) {
    case 'ping':
      post({ type: 'pong', id: m.id });
      return;
    case 'call':
      answer(m.call, m.args, m.request).then(
        (value) => post({ type: 'done', id: m.id, value }),
        (thrown: unknown) => post({ type: 'failed', id: m.id, problem: problemOf(thrown) }),
      );
      return;
    case 'sync':
      void books.then((b) => b.syncNow());
      return;
    case 'touched':
      void books.then((b) => b.touched());
      return;
    case 'stuck':
      void books.then((b) => b.updateStuck(m.file));
      return;
    case 'visible':
      void books.then((b) => b.setVisible(m.isVisible));
      return;
    case 'sleep':
      void books.then((b) => b.sleep());
      return;
    case 'wake':
      void books.then((b) => b.wake());
      return;
    default:
      m satisfies never;
  }
};

// answer runs one call of the page. The page's types vouch for the arguments.
async function answer(call: CallName, args: readonly unknown[], request: string): Promise<unknown> {
  const { calls } = await books;
  const run = calls[call] as (...args: unknown[]) => Promise<unknown>;
  return call === 'record' ? run(args[0], args[1], args[2], request, args[3]) : run(...args);
}
