// The worker's heart: store, core, session and driver put together, and the page's
// calls answered from them. It is long because all of it turns on the same few facts:
// which core runs, whether it has read the whole store, and who is here.

import type { Boot, CalcInfo, Core, Event, Invite, Me, PhoneInfo, Plan, Prefs, Recorded, SetUpForm, SignInBy, Status, TextKind, ViewName, Views } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import type { Reading } from '../shared/clock';
import { Account } from './account';
import type { CoreHost } from './core';
import { CorePanic } from './core';
import { apart, Driver } from './driver';
import type { CoreStatus, Effect } from './effects';
import { askServer, reachesBack } from './history';
import type { Leader } from './leader';
import type { Live } from './live';
import type { Net } from './net';
import { Seats } from './seats';
import type { Tokens } from './session';
import type { Contents, Cursor, DraftOf, OwnRow, Session, Shelf } from './shelf';
import { isFull } from './shelf';

export interface BooksPorts {
  host: CoreHost;
  sums: CoreHost; // the calculations; started when somebody asks for one
  shelf: Shelf;
  net: Net;
  tokens: Tokens;
  live: Live;
  leader: Leader;
  core: string; // address of the core: a saved state is good only for the same one
  version: string;
  language: string; // of the browser
  clock: () => Reading;
  newDevice: () => string;
  noise: (bytes: number) => Uint8Array;
  tell: (message: Told) => void; // to the other windows
  show: (status: Status) => void;
  report: (what: string) => void;
}

// Told is what windows of one phone tell each other.
export type Told =
  | { type: 'beat' }
  | { type: 'stored' } // something in the store changed: look again
  | { type: 'session' } // somebody signed in or out, or took the phone
  | { type: 'status'; online: Status['online']; lastSyncMs: number | null; newerClientNeeded: boolean; isShutOut: boolean; waiting: Status['waiting']; upkeep: Status['upkeep'] };

const saveAfterMs = 500;
const publishMs = 5;
const publishMovingMs = 100; // between two news while thousands of entries come or go
const viewsMovingMs = 3000; // and between two after which the page asks its views again
const viewsMax = 12; // answers kept for the next start
// Tasks that name an earlier entry; a saved state knows only what entries have made.
const aboutEntries: ReadonlySet<string> = new Set(['void', 'note', 'admit', 'decline']);
const panicsMax = 3; // within panicWindowMs; then calls fail instead of restarting
const panicWindowMs = 60_000;

export class Books {
  readonly #p: BooksPorts;
  readonly #account: Account;
  readonly #seats: Seats;
  #ready: Promise<void>;
  #driver: Driver | null = null;
  #prefs: Partial<Prefs> = {};
  #device = '';
  #isFailing = false;
  #isVisible = true;
  #leaderSays: Extract<Told, { type: 'status' }> | null = null;
  #panics: number[] = [];
  #catching: Promise<void> | null = null;
  #publishing: ReturnType<typeof setTimeout> | undefined;
  #publishAt = 0;
  #published = -publishMovingMs;
  #toldRev = { rev: 0, at: 0 }; // the newest that the page knows of
  #isAwaited = false; // a person has recorded something and looks for it
  #saving: ReturnType<typeof setTimeout> | undefined;
  #savedRev = -1;
  #skewMs = 0;
  #upkeep: Status['upkeep'] = { isFull: false, backupMs: null, isBackupFailed: false };
  #known: Promise<void>; // the store has been read: who is here, and what was shown last
  #early: Record<string, string> | null = null; // answers from the last time, until the core is up
  #holder: string | undefined; // the person whom the core knows
  #unsent = 0; // as last counted
  #stuck = ''; // the file for which an update could not be installed
  readonly #asked = new Map<string, { name: string; params: object }>();

  constructor(ports: BooksPorts) {
    this.#p = ports;
    this.#seats = new Seats({ shelf: ports.shelf, now: () => ports.clock().wall_ms, noise: ports.noise, changed: () => this.#seated() });
    this.#account = new Account(ports.net, ports.tokens, this.#seats);
    ports.tokens.told = { fresh: (person) => { this.#seats.renew(person).catch(() => undefined); }, over: (person) => this.#seats.over(person) };
    ports.net.contact = () => this.#contact();
    const known = this.#p.shelf.read(this.#p.newDevice);
    this.#known = known.then((c) => this.#know(c));
    this.#ready = this.#known.then(() => this.#start(known));
    this.#ready.then(() => ports.shelf.probe()).catch(() => { this.#isFailing = true; this.#publish(); });
    this.#ready.catch((e: unknown) => ports.report('start failed: ' + String(e)));
  }

  // start opens store and core. With a saved state the books are ready at once and the
  // entries follow in the background; without one they are read first, because empty
  // books would be a lie.
  async #start(contents: Promise<Contents>): Promise<void> {
    const [c] = await Promise.all([contents, this.#p.host.start()]);
    if (this.#open(c)) void this.#catchUp();
    else await this.#read();
  }

  // know takes what needs no core from the contents. The answers of the last time are
  // good only if nothing has happened since, and for the same eyes.
  #know(c: Contents): void {
    this.#device = c.device;
    this.#holder = c.session.person?.id;
    this.#seats.know(c);
    this.#prefs = c.prefs;
    this.#skewMs = c.skewMs;
    this.#p.net.server = c.session.server;
    const f = c.fold;
    const isFresh = f !== null && f.core === this.#p.core && f.at.n >= c.counter && f.at.cursor.epoch === c.cursor.epoch && f.at.cursor.after === c.cursor.after;
    if (isFresh && f.who === this.#who()) this.#early = f.views;
  }

  #who(): string {
    return JSON.stringify([this.#session.person?.id, this.#session.person?.role, this.#langOf(this.#prefs), this.#prefs.units]);
  }

  // open gives the store's contents to a fresh core; true when a saved state was among
  // them.
  #open(c: Contents): boolean {
    const p = this.#p;
    const fold = c.fold !== null && c.fold.core === p.core ? c.fold : null;
    const { rows, blobs } = apart(c.own);
    const driver = new Driver({
      core: p.host.call, shelf: p.shelf, net: p.net, tokens: p.tokens, seats: this.#seats, live: p.live,
      wallMs: () => p.clock().wall_ms,
      changed: () => this.#publish(),
      stored: () => p.tell({ type: 'stored' }),
      pulled: () => { this.#early = null; this.#saveSoon(); void this.#catchUp(); },
      skew: (ms) => this.#skew(ms),
      upkeep: (news) => { this.#upkeep = { ...this.#upkeep, ...news }; },
      notify: (code, detail) => p.report(`${code} ${detail}`),
      broke: (e) => this.#broke(e),
    });
    const out = p.host.call('open', {
      open: {
        device: c.device, person: c.session.person ?? {}, units: c.prefs.units ?? '', lang: this.#langOf(c.prefs), cursor: c.cursor, base: c.base, counter: c.counter,
        server: c.session.server, signed_in: c.seats.length > 0, skew_ms: c.skewMs, ...(fold === null ? {} : { saved: fold.at }),
      },
      has_snapshot: fold !== null, rows,
    }, fold === null ? blobs : [fold.bytes, ...blobs]);
    this.#driver?.off();
    this.#driver = driver;
    driver.carryOut(out.json as Effect[], out.blobs);
    this.#wants(driver);
    driver.step({ type: 'visible', yes: this.#isVisible });
    if (p.leader.isLeader) driver.step({ type: 'leads', yes: true });
    this.#publish();
    return fold !== null;
  }

  // wants tells the sync what this phone may hold: prices not, when one of the people
  // on it may not see them.
  #wants(driver: Driver | null): void {
    const seats = this.#seats.view();
    if (seats.length > 0) driver?.step({ type: 'wants', scope: seats.every((s) => s.role === 'manager') ? 'full' : 'plain' });
  }

  // broke replaces a core that has panicked by a new one, opened from the store.
  #broke(e: unknown): void {
    if (!(e instanceof CorePanic)) {
      this.#p.report('step failed: ' + String(e));
      return;
    }
    if (this.#p.host.isRunning) return; // a new one is there already
    const now = this.#p.clock().mono_ms;
    this.#panics = [...this.#panics.filter((at) => now - at < panicWindowMs), now];
    this.#p.report('core panicked: ' + e.message);
    this.#driver?.off();
    this.#driver = null;
    if (this.#panics.length > panicsMax) {
      this.#ready = Promise.reject(new ProblemError('core_broken', 'the core stopped too often', e.message));
      this.#ready.catch(() => undefined);
      return;
    }
    this.#ready = this.#start(this.#p.shelf.read(this.#p.newDevice));
    this.#ready.catch((again: unknown) => this.#p.report('restart failed: ' + String(again)));
  }

  // core runs an op on the running core; after a panic once more on the new one.
  async #core(op: string, args: object = {}): Promise<unknown> {
    await this.#ready;
    try {
      return this.#p.host.call(op, args).json;
    } catch (e) {
      if (!(e instanceof CorePanic)) throw e;
      this.#broke(e);
      await this.#ready;
      try {
        return this.#p.host.call(op, args).json;
      } catch (again) {
        if (again instanceof CorePanic) this.#broke(again);
        throw again;
      }
    }
  }

  // sums works something out; the calculations know nothing of the books.
  async #sums(op: string, args: object = {}): Promise<unknown> {
    if (!this.#p.sums.isRunning) await this.#p.sums.start();
    return this.#p.sums.call(op, args).json;
  }

  // catchUp brings the fold to where the store is: the newest pages straight on top,
  // or everything anew in the background while the old state stays on the screen.
  #catchUp(): Promise<void> {
    this.#catching ??= this.#ready.then(() => this.#read()).catch((e: unknown) => {
      if (e instanceof CorePanic) this.#broke(e);
      else this.#p.report('reading the books failed: ' + String(e));
    }).finally(() => { this.#catching = null; });
    return this.#catching;
  }

  async #read(): Promise<void> {
    const host = this.#p.host, status = () => host.call('status').json as CoreStatus;
    for (let s = status(); s.behind !== undefined || s.loading; s = status()) {
      const isShort = s.behind !== undefined && s.behind.epoch === s.have.epoch && s.behind.after > 0;
      if (isShort && s.behind !== undefined) {
        if (!(await this.#feed('append', s.behind))) break;
        this.#publish();
        continue;
      }
      await this.#load(s.cursor.epoch);
      host.call('loaded', { epoch: s.cursor.epoch });
      this.#early = null;
      this.#publish();
      this.#saveSoon();
    }
  }

  // load builds the books anew in the background: the stored base, if there is one,
  // and the pages after it.
  async #load(epoch: string): Promise<void> {
    const stored = await this.#p.shelf.base();
    if (stored === null || stored.epoch !== epoch) {
      await this.#feed('load', { epoch, after: 0 });
      return;
    }
    this.#p.host.call('load_base', { epoch, base: stored.base }, [stored.state, ...stored.pages]);
    await pause();
    await this.#feed('load', { epoch, after: stored.base.seq });
  }

  // feed reads the stored pages after a place into the core; false when there are none.
  async #feed(op: 'append' | 'load', from: Cursor): Promise<boolean> {
    let isAny = false;
    for (let at = from; ;) {
      const pages = await this.#p.shelf.pages(at);
      const last = pages.at(-1);
      if (last === undefined) return isAny;
      for (const page of pages) {
        this.#p.host.call(op, { epoch: page.epoch }, [page.bytes]);
        await pause();
      }
      isAny = true;
      at = { epoch: from.epoch, after: last.to };
    }
  }

  #saveSoon(): void {
    clearTimeout(this.#saving);
    this.#saving = setTimeout(() => { this.#save().catch(() => undefined); }, saveAfterMs);
  }

  // save keeps the folded state for the next start; losing it costs only time.
  async #save(): Promise<void> {
    await this.#ready;
    if (!this.#p.leader.isLeader) return;
    if (this.#driver?.isMoving === true) {
      this.#saveSoon(); // the same work again a moment later
      return;
    }
    const { rev } = this.#p.host.call('status').json as CoreStatus;
    if (rev === this.#savedRev) return;
    const out = this.#p.host.call('save'), bytes = out.blobs[0];
    if (out.json === null || bytes === undefined) return;
    const views: Record<string, string> = {};
    for (const [key, { name, params }] of this.#asked) {
      try {
        views[key] = JSON.stringify(this.#p.host.call('view', { name, params }).json);
      } catch (e) {
        if (e instanceof CorePanic) throw e; // else it asked for a thing that is gone
      }
    }
    await this.#p.shelf.saveFold({ at: out.json as { cursor: Cursor; n: number }, core: this.#p.core, bytes, who: this.#who(), views });
    this.#savedRev = rev;
    await this.#p.shelf.keepReserve(this.#p.noise);
  }

  #skew(ms: number): void {
    if (Math.abs(ms - this.#skewMs) < 500) return;
    this.#skewMs = ms;
    this.#p.host.call('skew', { skew_ms: ms });
    this.#p.shelf.saveSkew(ms).catch(() => undefined);
  }

  // publish tells the page how things stand: soon, or while entries stream now and
  // then; at once all the same when a person has recorded something.
  #publish(isRecord = false): void {
    this.#isAwaited ||= isRecord;
    const now = this.#p.clock().mono_ms, isMoving = !isRecord && this.#driver?.isMoving === true;
    const at = now + (isMoving ? Math.max(publishMs, this.#published + publishMovingMs - now) : publishMs);
    if (this.#publishing !== undefined && this.#publishAt <= at) return;
    clearTimeout(this.#publishing);
    this.#publishAt = at;
    this.#publishing = setTimeout(() => {
      this.#publishing = undefined;
      this.#published = this.#p.clock().mono_ms;
      void this.status().then((s) => {
        this.#p.show({ ...s, rev: this.#revToTell(s.rev) });
        if (this.#p.leader.isLeader) this.#p.tell({ type: 'status', online: s.online, lastSyncMs: s.lastSyncMs, newerClientNeeded: s.newerClientNeeded, isShutOut: s.isShutOut, waiting: s.waiting, upkeep: s.upkeep });
      }).catch(() => undefined);
    }, at - now);
  }

  // revToTell holds news of the books back for a while as long as entries stream: the
  // page would ask for its views each time, and the stream would wait for them.
  #revToTell(rev: number): number {
    const now = this.#p.clock().mono_ms, told = this.#toldRev;
    if (this.#isAwaited || this.#driver?.isMoving !== true || now - told.at >= viewsMovingMs) this.#toldRev = { rev, at: now };
    this.#isAwaited = false;
    return this.#toldRev.rev;
  }

  async status(): Promise<Status> {
    const c = (await this.#core('status')) as CoreStatus;
    const said = this.#p.leader.isLeader ? null : this.#leaderSays;
    this.#unsent = c.unsent;
    return {
      rev: c.rev, unsent: c.unsent, oldestUnsentMs: c.unsent > 0 ? c.oldest_unsent_ms : null,
      online: said?.online ?? c.online, signedIn: this.#session.isSignedIn, sessionEnded: this.#session.person !== null && this.#seats.isOver(this.#session.person.id),
      seats: this.#seats.view(), waiting: said?.waiting ?? c.waiting, isShutOut: said?.isShutOut ?? c.shut_out,
      lastSyncMs: said === null ? (c.last_sync_ms > 0 ? c.last_sync_ms : null) : said.lastSyncMs,
      storage: this.#storage(), attention: c.attention, windowMs: c.window_ms > 0 ? c.window_ms : null, newerClientNeeded: said?.newerClientNeeded ?? c.newer_client, upkeep: said?.upkeep ?? this.#upkeep,
    };
  }

  #storage(): Status['storage'] {
    return !this.#p.shelf.isDurable ? 'none' : this.#isFailing ? 'failing' : 'ok';
  }

  stream(signal: AbortSignal): Promise<ReadableStream<Uint8Array> | null> {
    return this.#p.tokens.stream(this.#seats.carrier(), signal);
  }

  // From outside: the page's visibility, the other windows, leadership.

  setVisible(isVisible: boolean): void {
    this.#isVisible = isVisible;
    this.#p.leader.setVisible(isVisible);
    this.#driver?.step({ type: 'visible', yes: isVisible });
    if (!isVisible) this.#save().catch(() => undefined);
  }

  syncNow(): void {
    this.#driver?.step({ type: 'sync_now' });
    if (!this.#p.leader.isLeader) this.#p.tell({ type: 'stored' });
  }

  leads(isLeader: boolean): void {
    this.#driver?.step({ type: 'leads', yes: isLeader });
    this.#publish();
  }

  async heard(message: Told): Promise<void> {
    switch (message.type) {
      case 'beat':
        this.#p.leader.heard();
        return;
      case 'status':
        this.#leaderSays = message;
        this.#publish();
        return;
      case 'stored':
        await this.#ready;
        await this.#driver?.reread();
        await this.#catchUp();
        this.#saveSoon();
        return;
      case 'session': {
        await this.#ready;
        const was = this.#session.person?.id;
        this.#seats.know(await this.#p.shelf.reread());
        this.#adopt(was);
        return;
      }
      default:
        message satisfies never;
    }
  }

  // sleep lets go of everything that a sleeping page must not hold; wake takes it up.
  sleep(): void {
    this.#p.leader.stop();
    this.#p.live.close();
    this.#p.shelf.close();
  }

  wake(): void {
    this.#p.leader.start();
    void this.heard({ type: 'stored' });
  }

  // The page's calls.

  readonly calls: Omit<Core, 'onChange' | 'syncNow' | 'updateStuck' | 'onHeld' | 'record'> & { record: (task: string, form: Record<string, string>, why: string, request: string, by?: string) => Promise<Recorded> } = {
    boot: () => this.#boot(),
    view: <K extends ViewName>(name: K, params: Record<string, unknown>) => this.#view(name, params),
    plan: async (task, form) => {
      if (aboutEntries.has(task)) await this.#whole();
      return (await this.#core('plan', { name: task, form })) as Plan;
    },
    record: (task, form, why, request, by) => this.#record(task, form, why, request, by),
    calc: (name, input) => this.#sums('calc', { name, params: input }),
    calcs: async () => (await this.#sums('calcs')) as CalcInfo[],
    text: async (kind: TextKind, value: number) => (await this.#core('text', { kind, value })) as string,
    signIn: (by: SignInBy) => this.#enter('/api/v1/session', by),
    setUp: (form: SetUpForm) => this.#enter('/api/v1/setup', form),
    signOut: async () => {
      await this.#ready;
      await this.#account.signOut();
    },
    swap: async (person, pin) => {
      await this.#ready;
      await this.#seats.swap(person, pin);
      return this.#boot();
    },
    setPin: async (pin, old) => {
      await this.#ready;
      await this.#seats.setPin(pin, old);
    },
    handIn: async (person) => {
      await this.#ready;
      await this.#seats.handIn(person);
    },
    setPrefs: (prefs) => this.#setPrefs(prefs),
    invite: (person) => this.#account.ask<Invite>('POST', `/people/${encodeURIComponent(person)}/invite`, {}),
    signOutAll: async (person) => { await this.#account.ask('POST', `/people/${encodeURIComponent(person)}/sign-out`, {}); },
    setPassphrase: async (old, fresh) => { await this.#account.ask('POST', '/me/passphrase', { ...(old === '' ? {} : { old }), new: fresh, sign_out_others: false }); },
    me: () => this.#account.ask<Me>('GET', '/me'),
    phones: async () => (await this.#account.ask<{ phones: PhoneInfo[] }>('GET', '/phones')).phones,
    namePhone: async (device, name) => { await this.#account.ask('POST', `/phones/${encodeURIComponent(device)}/name`, name === '' ? {} : { name }); },
    revokePhone: async (device, isBack) => { await this.#account.ask('POST', `/phones/${encodeURIComponent(device)}/${isBack ? 'restore' : 'revoke'}`, {}); },
    events: async () => (await this.#account.ask<{ events: Event[] }>('GET', '/events')).events,
    saveDraft: (task, form) => this.#p.shelf.saveDraft(this.#draftOf(task), form),
    draft: async (task) => {
      await this.#known;
      return this.#p.shelf.draft(this.#draftOf(task));
    },
    exportUnsent: async () => {
      await this.#ready;
      return new TextDecoder().decode(this.#p.host.call('unsent').blobs[0]);
    },
  };

  async #view<K extends ViewName>(name: K, params: Record<string, unknown>): Promise<Views[K]> {
    await this.#known;
    const key = name + JSON.stringify(params);
    this.#asked.delete(key);
    this.#asked.set(key, { name, params });
    for (const oldest of this.#asked.keys()) if (this.#asked.size > viewsMax) this.#asked.delete(oldest);
    const early = this.#early?.[key];
    if (early !== undefined) return JSON.parse(early) as Views[K];
    await this.#whole();
    let own: Views[K] | undefined, fault: unknown;
    try {
      own = (await this.#core('view', { name, params })) as Views[K];
    } catch (e) {
      fault = e;
    }
    const older = await this.#older(name, params, own);
    if (older !== undefined) return older;
    if (own === undefined) throw fault;
    return own;
  }

  // older asks the server for what lies behind this phone's window. What is unsent
  // only the phone knows, so then its own answer stands.
  async #older<K extends ViewName>(name: K, params: object, own: Views[K] | undefined): Promise<Views[K] | undefined> {
    if (!reachesBack(name, own)) return undefined;
    const s = await this.status();
    const person = this.#session.person?.id ?? '';
    if (s.windowMs === null || s.online !== 'yes' || s.unsent > 0 || this.#seats.isOver(person)) return undefined;
    const shop = (await this.#core('view', { name: 'shop', params: {} })) as Views['shop'];
    const how = { lang: this.#langOf(this.#prefs), units: this.#prefs.units ?? (shop.units === 'us' ? 'us' : 'metric') } as const;
    return (await askServer(this.#p.tokens, person, name, params, how, this.#p.clock().wall_ms + this.#skewMs, -new Date().getTimezoneOffset())) as Views[K] | undefined;
  }

  // whole waits until the entries behind a saved state have been read too.
  async #whole(): Promise<void> {
    await this.#ready;
    await this.#catching;
  }

  async #record(task: string, form: Record<string, string>, why: string, request: string, by?: string): Promise<Recorded> {
    await (aboutEntries.has(task) ? this.#whole() : this.#ready);
    const { host, shelf } = this.#p;
    const earlier = await shelf.earlier(request);
    if (earlier !== null) {
      this.#doubt();
      return { ids: earlier.ids, savedMs: earlier.savedMs };
    }
    if (by !== undefined && by !== this.#session.person?.id) throw new ProblemError('holder_changed', 'somebody else has the phone by now', '');
    const { token } = (await this.#core('prepare', { name: task, form, why })) as { token: number };
    const seal = (n: number) => {
      const out = host.call('seal', { token, n });
      return (out.json as OwnRow[]).map((row, i) => ({ row, bytes: out.blobs[i] ?? new Uint8Array() }));
    };
    let saved: Awaited<ReturnType<Shelf['record']>>;
    try {
      saved = await shelf.record(request, this.#draftOf(task), this.#p.clock().wall_ms, seal);
    } catch (e) {
      if (e instanceof CorePanic) this.#broke(e);
      else {
        if (host.isRunning) host.call('drop', { token });
        this.#doubt();
      }
      throw this.#notSaved(e);
    }
    this.#isFailing = false;
    this.#early = null;
    if (saved.isNew) {
      try {
        const out = host.call('recorded', { token });
        this.#driver?.carryOut(out.json as Effect[], out.blobs);
      } catch (e) {
        this.#broke(e); // the new core finds the entries in the store
      }
      this.#p.tell({ type: 'stored' });
    } else this.#doubt();
    this.#publish(true);
    this.#saveSoon();
    return { ids: saved.ids, savedMs: saved.savedMs };
  }

  // doubt has the store read in all windows: it may hold entries that no core knows
  // of. A transaction can be reported as failed and be complete all the same, when the
  // connection to the database dies in between; then its entries would wait there.
  #doubt(): void {
    this.#driver?.step({ type: 'unsure' });
    this.#p.tell({ type: 'stored' });
  }

  // notSaved says loudly that an entry is not on the phone.
  #notSaved(e: unknown): unknown {
    if (e instanceof ProblemError || e instanceof CorePanic) return e;
    this.#isFailing = true;
    this.#publish();
    return new ProblemError('not_saved', isFull(e) ? 'the phone is full: the entry was NOT saved' : 'the phone could not store the entry: it was NOT saved', String(e));
  }

  // langOf is the language that page and core both speak: the person's choice, else the browser's.
  #langOf(prefs: Partial<Prefs>): 'en' | 'es' {
    return prefs.lang ?? (this.#p.language.toLowerCase().startsWith('es') ? 'es' : 'en');
  }

  async #boot(): Promise<Boot> {
    await this.#known;
    const isSignedIn = this.#session.isSignedIn;
    const [shop, door] = await Promise.all([this.calls.view('shop', {}), isSignedIn ? { needsSetUp: false, left: [] } : this.#account.door()]);
    const lang = this.#langOf(this.#prefs);
    return {
      person: this.#session.person,
      shop: shop.name === '' ? null : shop,
      prefs: { lang, units: this.#prefs.units ?? (shop.units === 'us' ? 'us' : 'metric'), theme: this.#prefs.theme ?? 'auto' },
      device: this.#device, version: this.#p.version, needsSetUp: door?.needsSetUp ?? null, left: door?.left ?? [], storage: this.#storage(),
    };
  }

  async #enter(path: '/api/v1/session' | '/api/v1/setup', form: object): Promise<Boot> {
    await this.#ready;
    await this.#account.enter(path, { ...form, device: this.#device, app_version: this.#p.version });
    return this.#boot();
  }

  get #session(): Session { return this.#seats.session; }

  #draftOf(task: string): DraftOf { return { person: this.#session.person?.id ?? '', task }; }

  // contact is what the list of phones shows of this one.
  #contact(): string {
    const now = this.#p.clock();
    const stuck = this.#stuck === '' ? '' : `, stuck=${this.#stuck}`;
    return `unsent=${this.#unsent}, app=${this.#p.version}, wall=${now.wall_ms}, segment=${now.segment}${stuck}`;
  }

  // updateStuck has the server told with the next request, which is now.
  updateStuck(file: string): void {
    if (file === this.#stuck) return;
    this.#stuck = file;
    this.syncNow();
  }

  // seated follows a change of who is here, made in this window.
  #seated(): void {
    const was = this.#holder;
    this.#holder = this.#session.person?.id;
    this.#adopt(was);
    this.#p.tell({ type: 'session' });
  }

  // adopt makes what the seats say the present state of core and sync.
  #adopt(was: string | undefined): void {
    const { session } = this.#seats;
    this.#holder = session.person?.id;
    this.#p.net.server = session.server;
    this.#leaderSays = null;
    this.#early = null;
    if (!this.#p.host.isRunning) return; // the next core is opened with the person
    this.#p.host.call('person', { person: session.person ?? {} });
    this.#wants(this.#driver);
    if (!this.#seats.isAnybody) this.#driver?.step({ type: 'signed_out' });
    else if (was === session.person?.id && session.person !== null) this.#driver?.step({ type: 'seats' });
    else this.#driver?.step({ type: 'signed_in', server: session.server });
    this.#publish();
  }

  async #setPrefs(prefs: Partial<Prefs>): Promise<void> {
    await this.#ready;
    this.#prefs = { ...this.#prefs, ...prefs };
    this.#early = null;
    await this.#p.shelf.savePrefs(this.#prefs);
    await this.#core('style', { units: this.#prefs.units ?? '', lang: this.#langOf(this.#prefs) });
    this.#publish();
  }
}

// pause lets messages through between two pieces of a long job.
function pause(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, 0));
}
