// What the page may ask of the worker, and what it gets back. Types only: this
// file is shared by both threads.

import type { Description, Plan, ShopView, ViewName, Views } from './types.gen';

export type * from './types.gen';

// Core is everything behind the bridge. Every call may reject with a Problem and
// with nothing else; none of them waits for the network unless it says so.
export interface Core {
  // boot answers from the phone's own store. Calling it again gives the present state.
  boot(): Promise<Boot>;
  view<K extends ViewName>(name: K, params: Record<string, unknown>): Promise<Views[K]>;
  // plan shows what record would do with the same form; it changes nothing.
  plan(task: string, form: Record<string, string>): Promise<Plan>;
  // record resolves only after the entries are durable on this phone. `why` is the
  // reason for going against warnings, "" when there are none.
  record(task: string, form: Record<string, string>, why: string): Promise<Recorded>;
  calc(name: string, input: unknown): Promise<unknown>;
  calcs(): Promise<CalcInfo[]>;
  // text prints a bare number of the core: mg, tenths of µm, cm², tenths of °C, per mille.
  text(kind: TextKind, value: number): Promise<string>;
  // signIn, setUp and invite need the server: without it they reject with "no_server".
  signIn(by: SignInBy): Promise<Boot>;
  setUp(form: SetUpForm): Promise<Boot>;
  // signOut ends the session and keeps every entry on the phone.
  signOut(): Promise<void>;
  setPrefs(prefs: Partial<Prefs>): Promise<void>;
  invite(person: string): Promise<Invite>;
  saveDraft(task: string, form: Record<string, string>): Promise<void>;
  draft(task: string): Promise<Record<string, string> | null>;
  syncNow(): void;
  // exportUnsent gives what the server has not got yet, one JSON entry a line, byte for byte.
  exportUnsent(): Promise<string>;
  // onChange calls back after every change of books, outbox or connection, and once
  // at the start; it returns the way to stop it.
  onChange(fn: (s: Status) => void): () => void;
}

export type Role = 'coater' | 'clerk' | 'manager';
export type TextKind = 'mass' | 'film' | 'area' | 'temp' | 'share';
export type SignInBy = { code: string } | { name: string; passphrase: string };
export interface SetUpForm { code: string; name: string; passphrase: string; shop: Record<string, string> }
export interface Invite { link: string; expires_ms: number }
export interface Prefs { lang: 'en' | 'es'; units: 'metric' | 'us'; theme: 'auto' | 'light' | 'dark' }

export interface Status {
  rev: number; // grows with every change of the books or of the outbox
  unsent: number;
  oldestUnsentMs: number | null; // when the oldest unsent entry was recorded
  online: 'yes' | 'no' | 'unknown'; // the last answer of our own server, not what the browser thinks
  signedIn: boolean;
  sessionEnded: boolean; // the server no longer knows this session: sign in again, nothing is lost
  lastSyncMs: number | null;
  storage: 'ok' | 'failing' | 'none';
  attention: number;
  newerClientNeeded: boolean;
}

export interface Boot {
  person: { id: string; name: string; role: Role } | null;
  shop: ShopView | null;
  prefs: Prefs;
  device: string;
  version: string;
  needsSetUp: boolean | null; // null when the server did not answer
  storage: Status['storage'];
}

export interface Recorded { ids: string[]; savedMs: number }

// Problem is what a rejected call carries. `code` has words in every language.
export interface Problem { code: string; title: string; detail?: string }

// CalcInfo describes one calculation: its inputs, outputs, source and an example.
export type CalcInfo = Description;
