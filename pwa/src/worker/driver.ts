// Carries out what the replica asks for: requests, writes, the timer, the stream.
// It decides nothing itself.

import type { Upkeep } from '../bridge/api';
import type { CoreCall } from './core';
import type { Effect } from './effects';
import type { Live } from './live';
import type { Net } from './net';
import { failureOf } from './net';
import type { Seats } from './seats';
import type { Tokens } from './session';
import type { Base, Cursor, OutboxRow, OwnRow, Shelf } from './shelf';
import { type Fetched, type Piece, Snapshots } from './snapshot';

export const protocol = 2; // what this phone speaks; the server names the oldest it takes

export interface DriverPorts {
  core: CoreCall;
  shelf: Shelf;
  net: Net;
  tokens: Tokens;
  seats: Seats;
  live: Live;
  wallMs: () => number;
  changed: (isAllSent?: boolean) => void; // status may look different; somebody may wait for all being sent
  stored: () => void; // the store has changed: other windows should look
  pulled: () => void; // the books have grown from the server
  skew: (ms: number) => void;
  upkeep: (news: Partial<Upkeep>) => void;
  isShut: (isShut: boolean) => void; // whether a manager has shut this phone out
  greeted: () => void; // the server is there
  late: () => void; // this driver has changed the store after another one took its place
  notify: (code: string, detail: string) => void;
  broke: (e: unknown) => void; // the core is gone
}

// Effects by which entries come and go, and after which more news follow.
const transfers: ReadonlySet<Effect['do']> = new Set([
  'push',
  'pull',
  'mark',
  'store_pulled',
  'fetch_base',
  'store_base',
]);

export class Driver {
  readonly #p: DriverPorts;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #isOff = false;
  #had: { cursor: Cursor; base: Base } | null = null; // the store's copy of the log as last seen
  readonly #snapshots: Snapshots;
  #fetched: Extract<Fetched, { kind: 'whole' }> | null = null; // on its way from the server into the store
  #moving = 0; // op of the transfer under way; 0 when there is none

  constructor(ports: DriverPorts) {
    this.#p = ports;
    this.#snapshots = new Snapshots(
      (path, timeoutMs, proof) => ports.tokens.ask(ports.seats.carrier(), path, { timeoutMs, proof }),
      (piece, bytes) => this.#read(piece, bytes),
    );
  }

  // off stops the driver for good: its core is gone.
  off(): void {
    this.#isOff = true;
    clearTimeout(this.#timer);
    this.#p.live.close();
  }

  // isMoving tells that entries are on their way out or in, so that more news follow.
  get isMoving(): boolean {
    return this.#moving !== 0;
  }

  // step gives the replica an input and starts what it asks for.
  step(
    input: { type: string; op?: number } & Record<string, unknown>,
    blobs: readonly Uint8Array[] = [],
    rows: readonly OwnRow[] = [],
  ): void {
    if (this.#isOff) return;
    if (input.op === this.#moving) this.#moving = 0;
    try {
      const out = this.#p.core('step', { input, rows }, blobs);
      this.carryOut(out.json as Effect[], out.blobs);
    } catch (e) {
      this.#p.broke(e);
    }
  }

  carryOut(effects: readonly Effect[], blobs: readonly Uint8Array[]): void {
    for (const e of effects) if (transfers.has(e.do) && 'op' in e) this.#moving = e.op; // before the page is told anything
    for (const e of effects) this.#one(e, blobs);
  }

  #one(e: Effect, blobs: readonly Uint8Array[]): void {
    const { shelf, live } = this.#p;
    switch (e.do) {
      case 'timer':
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => this.step({ type: 'timer' }), Math.min(e.after_ms, 2 ** 31 - 1));
        return;
      case 'hello':
        void this.#hello(e.op, e.timeout_ms, e.show);
        return;
      case 'refresh':
        void this.#refresh(e.op, e.timeout_ms);
        return;
      case 'push':
        void this.#push(e.op, e.author, e.timeout_ms, blobs[e.blob] ?? new Uint8Array(), e.show);
        return;
      case 'pull': {
        const query = new URLSearchParams({
          epoch: e.cursor.epoch,
          after: String(e.cursor.after),
          max: String(e.max),
          ...(e.scope ? { scope: e.scope } : {}),
        });
        void this.#pull(e.op, '/api/v1/pull?' + query, e.timeout_ms, e.show);
        return;
      }
      case 'store_pulled': {
        const bytes = blobs[e.blob] ?? new Uint8Array();
        void this.#move(e, () => shelf.pulled(e.cursor, e.to, e.base, e.first, bytes, e.rows ?? [], e.proof));
        return;
      }
      case 'fetch_base':
        void this.#fetchBase(e.op, e.n ?? 0, e.scope ?? '', e.timeout_ms, e.show);
        return;
      case 'store_base':
        void this.#storeBase(e);
        return;
      case 'mark':
        void this.#write(e.op, async () => {
          await shelf.mark(e.rows, e.proof);
          return true;
        });
        return;
      case 'forget':
        void this.#write(e.op, async () => {
          await shelf.forget(e.gone);
          return true;
        });
        return;
      case 'reset':
        void this.#write(e.op, async () => {
          await shelf.reset(e.epoch, e.rows ?? []);
          return true;
        });
        return;
      case 'read_store':
        void this.reread(true);
        return;
      case 'raise_counter':
        void shelf.raiseCounter(e.n).catch(() => undefined); // the next hello asks again
        return;
      case 'open_live':
        live.open({
          opened: () => this.step({ type: 'live_opened' }),
          poked: (head) => this.step({ type: 'poked', head }),
          closed: () => this.step({ type: 'live_closed' }),
        });
        return;
      case 'close_live':
        live.close();
        return;
      case 'changed':
        this.#p.changed(e.all_sent);
        return;
      case 'notify':
        this.#p.notify(e.code, e.detail ?? '');
        return;
      default:
        e satisfies never;
    }
  }

  // reread tells the replica what the store holds now. When that cannot be read the
  // replica is told so, and asks until it can. A page that was thought lost and is
  // there goes into the books too.
  async reread(isDoubt = false): Promise<void> {
    let now: Awaited<ReturnType<Shelf['reread']>>;
    try {
      now = await this.#p.shelf.reread();
    } catch {
      this.step({ type: 'unsure' });
      return;
    }
    const { rows, blobs } = apart(now.own);
    this.step(
      { type: 'reread', cursor: now.cursor, proof: now.proof, base: now.base, counter: now.counter },
      blobs,
      rows,
    );
    const had = this.#had;
    this.#had = { cursor: now.cursor, base: now.base };
    if (had !== null && !isSame(had, now)) {
      this.#p.pulled();
      if (isDoubt) this.#p.stored(); // the other windows were not told of it either
    }
    this.#p.changed();
  }

  // move writes what takes the store's cursor on. When another window has moved it
  // nothing was written, and the replica hears where it stands.
  #move(e: { op: number; to: Cursor; base: Base }, write: () => Promise<boolean>): Promise<void> {
    return this.#write(
      e.op,
      async () => {
        if (await write()) {
          this.#had = { cursor: e.to, base: e.base };
          return true;
        }
        await this.reread();
        return false;
      },
      true,
    );
  }

  async #write(op: number, write: () => Promise<boolean>, isPull = false): Promise<void> {
    let isKept: boolean;
    try {
      isKept = await write();
    } catch {
      this.step({ type: 'store_failed', op });
      this.#p.changed();
      return;
    }
    if (!isKept) return;
    if (this.#isOff) this.#p.late();
    this.step({ type: 'stored', op });
    this.#p.stored();
    if (isPull) this.#p.pulled();
    this.#p.changed();
  }

  // push sends entries in their author's session; without one they wait.
  async #push(op: number, author: string, timeoutMs: number, body: Uint8Array, proof = ''): Promise<void> {
    const { seats, tokens } = this.#p,
      sender = seats.sender(author);
    if (sender === '') {
      await Promise.resolve(); // the answer comes after the step that asked
      this.#failed(op, { why: 'author_out', retryMs: 0 });
      return;
    }
    const reply = await tokens.ask(sender, '/api/v1/push', { method: 'POST', body, timeoutMs, proof });
    if (reply.kind !== 'none') this.#p.upkeep({ isFull: reply.kind === 'problem' && reply.code === 'server.full' });
    if (reply.kind === 'answer') this.step({ type: 'push', op }, [reply.bytes]);
    else this.#failed(op, seats.sender(author) === '' ? { why: 'author_out', retryMs: 0 } : failureOf(reply));
  }

  async #pull(op: number, path: string, timeoutMs: number, proof = ''): Promise<void> {
    const reply = await this.#p.tokens.ask(this.#p.seats.carrier(), path, { timeoutMs, proof });
    if (reply.kind === 'answer') this.step({ type: 'pull', op }, [reply.bytes]);
    else this.#failed(op, failureOf(reply));
  }

  async #fetchBase(op: number, after: number, scope: string, timeoutMs: number, proof = ''): Promise<void> {
    const got = await this.#snapshots.fetch(after, scope, timeoutMs, this.#p.wallMs, proof);
    if (got.kind === 'failed') {
      this.#failed(op, got);
      return;
    }
    this.#fetched = got;
    this.step({ type: 'base', op, scope }, [got.list]);
    if (this.#fetched === null) return; // it is being stored
    this.#fetched = null;
    this.#snapshots.forget();
  }

  // storeBase stores a snapshot as it came; the core reads what it has not read yet once
  // that is safe, since both take the same thread.
  async #storeBase(e: Extract<Effect, { do: 'store_base' }>): Promise<void> {
    const got = this.#fetched;
    this.#fetched = null;
    await this.#move(e, async () => {
      if (got === null) throw new Error('a snapshot that was not fetched');
      const { state, pages } = got,
        stored = { epoch: e.to.epoch, base: e.base, state, pages };
      const isKept = await this.#p.shelf.based(e.cursor, e.to, stored, e.proof);
      if (isKept) await this.#snapshots.finish();
      return isKept;
    });
    this.#snapshots.forget();
  }

  // read has the core read a piece of a snapshot.
  #read({ kind, sha256 }: Piece, bytes: Uint8Array): boolean {
    if (this.#isOff) return false;
    try {
      this.#p.core('piece', { kind, sha256 }, [bytes]);
      return true;
    } catch (e) {
      this.#p.broke(e);
      return false;
    }
  }

  async #hello(op: number, timeoutMs: number, proof = ''): Promise<void> {
    const sent = this.#p.wallMs();
    const reply = await this.#p.tokens.ask(this.#p.seats.carrier(), '/api/v1/hello', { timeoutMs, proof });
    if (reply.kind !== 'answer') {
      this.#failed(op, failureOf(reply));
      return;
    }
    const got = this.#p.wallMs();
    const { oldest, nowMs, upkeep, isShut } = greeting(reply.bytes);
    this.#p.upkeep(upkeep);
    this.#p.isShut(isShut);
    this.#p.greeted();
    if (nowMs !== null && got - sent < 10_000) this.#p.skew(Math.round(nowMs - (sent + got) / 2));
    this.step({ type: 'hello', op, newer: oldest > protocol }, [reply.bytes]);
  }

  async #refresh(op: number, timeoutMs: number): Promise<void> {
    const { seats, tokens } = this.#p;
    for (let who = seats.carrier(); who !== ''; who = seats.carrier()) {
      const r = await tokens.refresh(who, timeoutMs);
      switch (r.kind) {
        case 'fresh':
          this.step({ type: 'refreshed', op });
          return;
        case 'ended': // then somebody else's session carries the phone
          await seats.over(who);
          continue;
        case 'failed':
          this.#failed(op, r);
          return;
        default:
          r satisfies never;
      }
    }
    await Promise.resolve();
    this.#failed(op, { why: 'session_over', retryMs: 0 });
  }

  #failed(op: number, f: { why: string; retryMs: number }): void {
    if (f.why === 'shut_out') this.#p.isShut(true);
    if (f.why === 'scope_denied') this.#p.tokens.drop(this.#p.seats.carrier()); // the next token tells the new role
    this.step({ type: 'failed', op, why: f.why, retry_ms: f.retryMs });
    this.#p.changed();
  }
}

function isSame(a: { cursor: Cursor; base: Base }, b: { cursor: Cursor; base: Base }): boolean {
  return (
    a.cursor.epoch === b.cursor.epoch &&
    a.cursor.after === b.cursor.after &&
    a.base.seq === b.base.seq &&
    a.base.floor_ms === b.base.floor_ms
  );
}

// apart splits stored rows into what the core reads as JSON and the entries' bytes.
export function apart(own: readonly OutboxRow[]): { rows: OwnRow[]; blobs: Uint8Array[] } {
  return { rows: own.map(({ bytes: _, ...row }) => row), blobs: own.map((r) => r.bytes) };
}

// greeting reads from a hello what the replica does not: the oldest protocol the
// server takes (0 when it does not say), its clock, how it stands with backups, and
// whether this phone was shut out.
export function greeting(bytes: Uint8Array): {
  oldest: number;
  nowMs: number | null;
  upkeep: Partial<Upkeep>;
  isShut: boolean;
} {
  try {
    const h = JSON.parse(new TextDecoder().decode(bytes)) as {
      min_client?: unknown;
      now_ms?: unknown;
      backup_at?: unknown;
      backup_failed?: unknown;
      revoked?: unknown;
    };
    const oldest = Number(h.min_client ?? 0);
    const upkeep =
      typeof h.backup_at === 'number' ? { backupMs: h.backup_at, isBackupFailed: h.backup_failed === true } : {};
    return {
      oldest: Number.isFinite(oldest) ? oldest : 0,
      nowMs: typeof h.now_ms === 'number' ? h.now_ms : null,
      upkeep,
      isShut: h.revoked === true,
    };
  } catch {
    return { oldest: 0, nowMs: null, upkeep: {}, isShut: false };
  }
}
