// How things stand, and when the page and the other windows are told.

import type { Status, Upkeep } from '../bridge/api';
import type { Doorbell } from './doorbell';
import type { CoreStatus } from './effects';
import type { Leader } from './leader';
import type { RunningCore } from './running-core';
import type { Seats } from './seats';
import type { Shelf } from './shelf';
import type { SyncNews, Told } from './windows';

const soonMs = 5;
const movingMs = 100; // between two news while thousands of entries come or go
const syncedMs = 60_000; // how far the kept time of the last exchange may lag
const viewsMovingMs = 3000; // and between two after which the page asks its views again

export interface NewsPorts {
  core: RunningCore;
  leader: Leader;
  seats: Seats;
  doorbell: Pick<Doorbell, 'heard'>;
  shelf: Pick<Shelf, 'isDurable' | 'saveSynced'>;
  isMoving: () => boolean; // entries are on their way out or in
  monoMs: () => number;
  show: (status: Status) => void; // to the page
  tell: (message: Told) => void; // to the other windows
}

export class News {
  readonly #p: NewsPorts;
  #leaderSays: SyncNews | null = null;
  #upkeep: Upkeep = { isFull: false, backupMs: null, isBackupFailed: false };
  #isFailing = false; // the store, when it was used last
  #unsent = 0;
  #synced = 0; // the last exchange, as the store has it
  #timer: ReturnType<typeof setTimeout> | undefined;
  #timerAt = 0;
  #published = -movingMs;
  #revs = { starts: 0, from: 0, last: 0 }; // a new core counts from its own beginning, and the page must see it grow
  #toldRev = { rev: 0, at: 0 }; // the newest that the page knows of
  #isAwaited = false; // a person has recorded something and looks for it

  constructor(ports: NewsPorts) {
    this.#p = ports;
  }

  // unsent is how many entries waited when somebody last asked for the status.
  get unsent(): number {
    return this.#unsent;
  }

  get storage(): Status['storage'] {
    return !this.#p.shelf.isDurable ? 'none' : this.#isFailing ? 'failing' : 'ok';
  }

  // synced takes when there was an exchange last, before this worker started.
  synced(ms: number): void {
    this.#synced = ms;
  }

  // storeFails has the page told; storeWorks waits for the news that follow a record.
  storeFails(): void {
    this.#isFailing = true;
    this.publish();
  }

  storeWorks(): void {
    this.#isFailing = false;
  }

  // upkeep takes what has become known of the server's disk and backups.
  upkeep(news: Partial<Upkeep>): void {
    this.#upkeep = { ...this.#upkeep, ...news };
  }

  // leaderSays takes what the window that syncs knows; null forgets it.
  leaderSays(said: SyncNews | null): void {
    this.#leaderSays = said;
  }

  async status(): Promise<Status> {
    const { core, leader, seats, doorbell } = this.#p;
    const c = (await core.run('status')) as CoreStatus;
    const said = leader.isLeader ? null : this.#leaderSays;
    const { session } = seats;
    this.#unsent = c.unsent;
    if (leader.isLeader) this.#keepSynced(c.last_sync_ms);
    const last = said?.lastSyncMs ?? Math.max(c.last_sync_ms, this.#synced);
    return {
      rev: this.#grown(c.rev),
      unsent: c.unsent,
      oldestUnsentMs: c.unsent > 0 ? c.oldest_unsent_ms : null,
      online: seats.isAnybody ? (said?.online ?? c.online) : doorbell.heard,
      signedIn: session.isSignedIn,
      sessionEnded: session.person !== null && seats.isOver(session.person.id),
      seats: seats.view(),
      waiting: said?.waiting ?? c.waiting,
      isShutOut: said?.isShutOut ?? c.shut_out,
      lastSyncMs: last > 0 ? last : null,
      storage: this.storage,
      attention: c.attention,
      windowMs: c.window_ms > 0 ? c.window_ms : null,
      cutMs: c.cut_ms > 0 ? c.cut_ms : null,
      newerClientNeeded: said?.newerClientNeeded ?? c.newer_client,
      upkeep: said?.upkeep ?? this.#upkeep,
    };
  }

  #grown(rev: number): number {
    const { starts } = this.#p.core,
      was = this.#revs;
    const from = starts === was.starts ? was.from : was.last + 1;
    this.#revs = { starts, from, last: Math.max(was.last, from + rev) };
    return from + rev;
  }

  #keepSynced(ms: number): void {
    if (ms < this.#synced + syncedMs) return;
    this.#synced = ms;
    this.#p.shelf.saveSynced(ms).catch(() => undefined);
  }

  // publish tells the page how things stand: soon, or while entries stream now and
  // then; at once all the same when a person has recorded something, or everything has
  // been sent.
  publish(news: 'some' | 'recorded' | 'sent' = 'some'): void {
    this.#isAwaited ||= news === 'recorded';
    const now = this.#p.monoMs(),
      isMoving = news === 'some' && this.#p.isMoving();
    const at = now + (isMoving ? Math.max(soonMs, this.#published + movingMs - now) : soonMs);
    if (this.#timer !== undefined && this.#timerAt <= at) return;
    clearTimeout(this.#timer);
    this.#timerAt = at;
    this.#timer = setTimeout(() => {
      this.#timer = undefined;
      this.#published = this.#p.monoMs();
      this.status()
        .then((s) => this.#send(s))
        .catch(() => undefined);
    }, at - now);
  }

  #send(s: Status): void {
    this.#p.show({ ...s, rev: this.#revToTell(s.rev) });
    if (this.#p.leader.isLeader)
      this.#p.tell({
        type: 'status',
        online: s.online,
        lastSyncMs: s.lastSyncMs,
        newerClientNeeded: s.newerClientNeeded,
        isShutOut: s.isShutOut,
        waiting: s.waiting,
        upkeep: s.upkeep,
      });
  }

  // revToTell holds news of the books back for a while as long as entries stream: the
  // page would ask for its views each time, and the stream would wait for them.
  #revToTell(rev: number): number {
    const now = this.#p.monoMs(),
      told = this.#toldRev;
    if (this.#isAwaited || !this.#p.isMoving() || now - told.at >= viewsMovingMs) this.#toldRev = { rev, at: now };
    this.#isAwaited = false;
    return this.#toldRev.rev;
  }
}
