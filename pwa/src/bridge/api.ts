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
  // older is a view as the server has it: whole, also where this phone's window begins
  // later, but without what is unsent here. It rejects with no_server, or the refusal.
  older<K extends ViewName>(name: K, params: Record<string, unknown>): Promise<Views[K]>;
  // plan shows what record would do with the same form; it changes nothing.
  plan(task: string, form: Record<string, string>): Promise<Plan>;
  // record resolves only after the entries are durable on this phone. `why` is the
  // reason for going against warnings, "" when there are none.
  record(task: string, form: Record<string, string>, why: string, how?: RecordHow): Promise<Recorded>;
  calc(name: string, input: unknown): Promise<unknown>;
  calcs(): Promise<CalcInfo[]>;
  // text prints a bare number of the core: mg, tenths of µm, cm², tenths of °C, per mille.
  text(kind: TextKind, value: number): Promise<string>;
  // signIn, setUp and invite need the server: without it they reject with "no_server".
  signIn(by: SignInBy): Promise<Boot>;
  setUp(form: SetUpForm): Promise<Boot>;
  // signOut ends the session of whoever holds the phone and keeps every entry on it;
  // the others on the same phone stay signed in.
  signOut(): Promise<void>;
  // swap gives the phone to another person who is signed in on it, without the server.
  // It rejects with pin_wrong, pin_wait (detail: how long), pin_manager, pin_none or seat_none.
  swap(person: string, pin: string): Promise<Boot>;
  // setPin sets the holder's PIN on this phone; old is needed when there is one, unless
  // the holder has just signed in.
  setPin(pin: string, old: string): Promise<void>;
  // takeOff has a manager take somebody else off this phone: their session ends, their
  // entries wait. It asks the server.
  takeOff(person: string): Promise<void>;
  // handIn sends what somebody left on this phone in the session of the manager who
  // holds it; the server holds those entries.
  handIn(person: string): Promise<void>;
  setPrefs(prefs: Partial<Prefs>): Promise<void>;
  // What follows, down to events, asks the server: without it, "no_server".
  invite(person: string): Promise<Invite>;
  signOutAll(person: string): Promise<void>;
  setPassphrase(old: string, fresh: string): Promise<void>;
  me(): Promise<Me>;
  phones(): Promise<PhoneInfo[]>;
  namePhone(device: string, name: string): Promise<void>;
  revokePhone(device: string, isBack: boolean): Promise<void>;
  events(): Promise<Event[]>;
  // A draft is kept under a key of the page's own, for each person apart; not when
  // somebody else than `by`, who fills it in, has the phone by now.
  saveDraft(key: string, form: Record<string, string>, by?: string): Promise<void>;
  draft(key: string): Promise<Record<string, string> | null>;
  syncNow(): void;
  // updateStuck tells the server that an update could not be installed for want of a
  // file; "" that one could.
  updateStuck(file: string): void;
  // onHeld says whether another window keeps the store shut, which it must not for long.
  onHeld(fn: (isHeld: boolean) => void): () => void;
  // exportUnsent gives what the server has not got yet, one JSON entry a line, byte for byte.
  exportUnsent(): Promise<string>;
  // onChange calls back after every change of books, outbox or connection, and once
  // at the start; it returns the way to stop it.
  onChange(fn: (s: Status) => void): () => void;
}

export type Role = 'coater' | 'clerk' | 'manager';
export type TextKind = 'mass' | 'film' | 'area' | 'temp' | 'share';
export type SignInBy = { code: string } | { name: string; passphrase: string };
export interface SetUpForm {
  code: string;
  name: string;
  passphrase: string;
  shop: Record<string, string>;
}
export interface Invite {
  link: string;
  expires_ms: number;
  qr: QR;
}
// QR is a code as rows of modules, '1' dark, without the quiet zone around it.
export type QR = readonly string[];
export interface Me {
  person: { id: string; name: string; role: Role };
  device: string;
  has_passphrase: boolean;
  invited: boolean;
  revoked: boolean;
} // invited: free to choose a passphrase without the old one

// PhoneInfo is one phone as the server's list has it.
export interface PhoneInfo {
  device: string;
  number: number;
  name: string;
  kind: '' | 'phone' | 'tablet' | 'computer';
  app_version: string;
  update_stuck: string; // the file for which it could not install an update; "" none
  unsent: number; // at the last contact; -1 when it did not say
  made_ms: number;
  seen_ms: number;
  revoked_ms: number; // 0: it may sync
  clock: { quality: 'right' | 'off' | 'wrong' | 'unknown'; offset_ms: number; heard_ms: number };
  people: { person: string; name: string; role: string; gone: boolean; signed_in: boolean; used_ms: number }[];
}

// Event is one line of the record of sign-ins and of changes to people and phones.
export interface Event {
  at_ms: number;
  what: string;
  person?: string;
  by?: string;
  device?: string;
  address?: string;
  detail?: string;
}
export interface Prefs {
  lang: 'en' | 'es';
  units: 'metric' | 'us';
  theme: 'auto' | 'light' | 'dark';
}

export interface Status {
  rev: number; // grows with every change of the books or of the outbox
  unsent: number;
  oldestUnsentMs: number | null; // when the oldest unsent entry was recorded
  online: 'yes' | 'no' | 'unknown'; // the last answer of our own server, not what the browser thinks
  signedIn: boolean;
  sessionEnded: boolean; // the server no longer knows the holder's session: sign in again, nothing is lost
  seats: readonly SeatView[]; // who is signed in on this phone
  waiting: readonly { by: string; n: number }[]; // unsent entries of people who must sign in first
  isShutOut: boolean; // a manager shut this phone out: what it sends is held, nothing comes in
  lastSyncMs: number | null; // when nothing was left to send or to fetch last, to a minute; null never
  storage: 'ok' | 'failing' | 'none';
  attention: number;
  windowMs: number | null; // since when all entries are on this phone; null: from the beginning
  cutMs: number | null; // runs closed before are not listed on this phone; null: all are
  newerClientNeeded: boolean;
  upkeep: Upkeep;
}

// Upkeep is what the server last said of its own state.
export interface Upkeep {
  isFull: boolean; // its disk is nearly full: it takes no entries for now
  backupMs: number | null; // when the last good backup was made; 0: never; null: it has not said
  isBackupFailed: boolean; // the last one that was due failed
}

// SeatView is one person who is signed in on this phone; for the moment: until somebody
// else takes it, ten minutes without a tap, or the app closes.
export interface SeatView {
  id: string;
  name: string;
  role: Role;
  isHere: boolean;
  isOver: boolean;
  isMoment: boolean;
  hasPin: boolean;
  pinDigits: number | null;
  waitMs: number;
}

export interface RecordHow {
  by?: string; // who filled the form in: if somebody else has the phone by now, "holder_changed", and nothing is recorded
  draft?: string; // the key of the form's draft, which goes with the record; default: the task
  attempt?: string; // the page's id for recording this very content: a second try after a failure that was none stores nothing twice
}

export interface Boot {
  person: { id: string; name: string; role: Role } | null;
  shop: ShopView | null;
  prefs: Prefs;
  device: string;
  version: string;
  needsSetUp: boolean | null; // null when the server did not answer
  left: readonly string[]; // addresses of this shop that lead nowhere now, where this phone may have something unsent
  storage: Status['storage'];
}

export interface Recorded {
  ids: string[];
  savedMs: number;
}

// Problem is what a rejected call carries. `code` has words in every language.
export interface Problem {
  code: string;
  title: string;
  detail?: string;
}

// CalcInfo describes one calculation: its inputs, outputs, source and an example.
export type CalcInfo = Description;
