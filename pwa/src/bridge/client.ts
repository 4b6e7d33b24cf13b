// The page's end of the bridge: one worker, calls by number, answers as promises.
// A worker that dies or falls silent is replaced, and every call that may be
// repeated is sent again; record is one of them, because its request id makes a
// second arrival give the first one's answer.

import type { CallName, FromWorker, ToWorker } from '../shared/messages';
import type { Core, Problem, Recorded, Status } from './api';

// Port is what the client needs of a worker.
export interface Port {
  post(message: ToWorker): void;
  listen(onMessage: (message: FromWorker) => void, onDeath: (why: string) => void): void;
  close(): void;
}

export interface ClientOptions {
  open: () => Port;
  newRequest: () => string; // a fresh unguessable id
  silenceMs: number; // an unanswered call this old makes the client ask whether the worker lives
  graceMs: number; // and this long without a reply to that means it does not
  restartsMax: number; // without a single answer in between
}

// Calls that must not be sent twice: the server may have acted on the first.
const once: ReadonlySet<CallName> = new Set(['signIn', 'setUp', 'invite', 'swap', 'setPassphrase']);
// Calls that wait for the network may take as long as its deadline.
const isSlow: ReadonlySet<CallName> = new Set([
  'signIn',
  'setUp',
  'invite',
  'signOut',
  'boot',
  'older',
  'swap',
  'setPin',
  'takeOff',
  'signOutAll',
  'setPassphrase',
  'me',
  'phones',
  'namePhone',
  'revokePhone',
  'events',
]);

interface Waiting {
  message: Extract<ToWorker, { type: 'call' }>;
  since: number;
  resolve: (value: unknown) => void;
  reject: (problem: Problem) => void;
}

export class Client {
  readonly #options: ClientOptions;
  readonly #waiting = new Map<number, Waiting>();
  readonly #watchers = new Set<(s: Status) => void>();
  #port: Port | null = null;
  #status: Status | null = null;
  readonly #heldWatchers = new Set<(isHeld: boolean) => void>();
  #isHeld = false;
  #next = 1;
  #pinged: { id: number; at: number } | null = null;
  #restarts = 0;
  #isVisible = true;

  constructor(options: ClientOptions) {
    this.#options = options;
    this.#start();
  }

  // call never settles without an answer of the worker or the knowledge that there will be none.
  call(name: CallName, args: readonly unknown[], request = this.#options.newRequest()): Promise<unknown> {
    return new Promise((resolve, reject) => {
      const message = { type: 'call' as const, id: this.#next++, call: name, args, request };
      this.#waiting.set(message.id, { message, since: Date.now(), resolve, reject });
      this.#port?.post(message);
      if (this.#port === null) this.#start();
    });
  }

  send(message: ToWorker): void {
    if (message.type === 'visible') this.#isVisible = message.isVisible;
    this.#port?.post(message);
  }

  onChange(fn: (s: Status) => void): () => void {
    this.#watchers.add(fn);
    if (this.#status !== null) fn(this.#status);
    return () => this.#watchers.delete(fn);
  }

  onHeld(fn: (isHeld: boolean) => void): () => void {
    this.#heldWatchers.add(fn);
    fn(this.#isHeld);
    return () => this.#heldWatchers.delete(fn);
  }

  #holds(isHeld: boolean): void {
    this.#isHeld = isHeld;
    for (const fn of this.#heldWatchers) fn(isHeld);
  }

  // watch looks after the worker's health; call it every second or so.
  watch(now = Date.now()): void {
    if (this.#pinged !== null) {
      if (now - this.#pinged.at > this.#options.graceMs) this.#died('silent');
      return;
    }
    for (const w of this.#waiting.values()) {
      const limit = isSlow.has(w.message.call) ? this.#options.silenceMs * 4 : this.#options.silenceMs;
      if (now - w.since > limit) {
        w.since = now;
        this.#pinged = { id: this.#next++, at: now };
        this.#port?.post({ type: 'ping', id: this.#pinged.id });
        return;
      }
    }
  }

  #start(): void {
    const port = this.#options.open();
    this.#port = port;
    port.listen(
      (m) => {
        if (this.#port === port) this.#hear(m);
      },
      (why) => {
        if (this.#port === port) this.#died(why);
      },
    );
    if (!this.#isVisible) port.post({ type: 'visible', isVisible: false });
    for (const w of this.#waiting.values()) port.post(w.message);
  }

  #hear(m: FromWorker): void {
    switch (m.type) {
      case 'pong':
        this.#pinged = null;
        return;
      case 'held':
        this.#holds(m.isHeld);
        return;
      case 'free':
        this.#restarts = 0;
        this.#died('the store is free again');
        this.#holds(false);
        return;
      case 'status':
        this.#status = m.status;
        for (const fn of this.#watchers) fn(m.status);
        return;
      case 'done':
      case 'failed': {
        this.#restarts = 0;
        const w = this.#waiting.get(m.id);
        this.#waiting.delete(m.id);
        if (w === undefined) return;
        if (m.type === 'done') w.resolve(m.value);
        else w.reject(m.problem);
        return;
      }
      default:
        assertNever(m);
    }
  }

  #died(why: string): void {
    this.#port?.close();
    this.#port = null;
    this.#pinged = null;
    this.#restarts++;
    const isHopeless = this.#restarts > this.#options.restartsMax;
    for (const [id, w] of this.#waiting) {
      if (!isHopeless && !once.has(w.message.call)) continue;
      this.#waiting.delete(id);
      w.reject({
        code: isHopeless ? 'worker_dead' : 'worker_restarted',
        title: 'the part that keeps the books stopped',
        detail: why,
      });
    }
    if (!isHopeless) this.#start();
  }
}

export function assertNever(x: never): never {
  throw new Error('unexpected ' + JSON.stringify(x));
}

// coreOver spells the typed API on top of numbered calls.
export function coreOver(client: Client): Core {
  const ask = <T>(name: CallName, ...args: readonly unknown[]) => client.call(name, args) as Promise<T>;
  return {
    boot: () => ask('boot'),
    view: (name, params) => ask('view', name, params),
    older: (name, params) => ask('older', name, params),
    plan: (task, form) => ask('plan', task, form),
    record: (task, form, why, how = {}) =>
      client.call('record', [task, form, why, how], how.attempt) as Promise<Recorded>,
    calc: (name, input) => ask('calc', name, input),
    calcs: () => ask('calcs'),
    text: (kind, value) => ask('text', kind, value),
    signIn: (by) => ask('signIn', by),
    setUp: (form) => ask('setUp', form),
    signOut: () => ask('signOut'),
    setPrefs: (prefs) => ask('setPrefs', prefs),
    swap: (person, pin) => ask('swap', person, pin),
    setPin: (pin, old) => ask('setPin', pin, old),
    takeOff: (person) => ask('takeOff', person),
    handIn: (person) => ask('handIn', person),
    invite: (person) => ask('invite', person),
    signOutAll: (person) => ask('signOutAll', person),
    setPassphrase: (old, fresh) => ask('setPassphrase', old, fresh),
    me: () => ask('me'),
    phones: () => ask('phones'),
    namePhone: (device, name) => ask('namePhone', device, name),
    revokePhone: (device, isBack) => ask('revokePhone', device, isBack),
    events: () => ask('events'),
    saveDraft: (key, form, by) => ask('saveDraft', key, form, by),
    draft: (key) => ask('draft', key),
    exportUnsent: () => ask('exportUnsent'),
    syncNow: () => client.send({ type: 'sync' }),
    updateStuck: (file) => client.send({ type: 'stuck', file }),
    onHeld: (fn) => client.onHeld(fn),
    onChange: (fn) => client.onChange(fn),
  };
}
