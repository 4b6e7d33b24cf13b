// What the phone keeps, and how each change of it is one transaction.
//
//   events  [epoch, first seq]  one pulled page, as it came
//   outbox  n                   an entry made on this phone
//   outbox  fate, n/64          what became of 64 entries, once the server has said
//   blobs   'fold' 'reserve'    the folded state for the next start; spare room
//           'base'              the snapshot that events go on from
//   meta    device counter cursor base proof session seats shut ending prefs skew synced requests draft:PERSON:KEY

import type { Prefs } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import { type Cut, mayHold, shed } from './scope';
import { changeSeated, type DraftOf, draftKey, readSeated, type Seated } from './seated';
import type { Store, Tx } from './store';
import {
  type Base,
  type Cursor,
  noBase,
  noCursor,
  type Page,
  pagesAtOnce,
  type Proof,
  type StoredBase,
} from './stored';

export type { Base, Cursor, DraftOf, Page, Proof, StoredBase };

// OwnRow is the core's view of an outbox row; the entry's bytes lie beside it.
export interface OwnRow {
  n: number;
  id: string;
  by: string;
  recorded_ms: number;
  mark: string;
  epoch: string;
  seq: number;
  effective_ms: number;
  reason: string;
  late: boolean;
}
export interface OutboxRow extends OwnRow {
  bytes: Uint8Array;
}
// Fate is what changes of a row. Fates lie apart and many together, because IndexedDB
// costs by the record and not by the byte: ten thousand marks are 157 writes. The core
// reads a mark of another epoch than the cursor's as unsent.
type Fate = Pick<OwnRow, 'n' | 'id' | 'mark' | 'epoch' | 'seq' | 'effective_ms' | 'reason' | 'late'>;
export interface SavedAt {
  cursor: Cursor;
  n: number;
  scope: string;
}
// SavedFold is the folded state for the next start. views holds the answers to the
// views last asked for, as JSON by viewKey, as `who` saw them: they can be shown
// before the core runs.
export interface SavedFold {
  at: SavedAt;
  core: string;
  bytes: Uint8Array;
  who: string;
  views: Record<string, string>;
}

// Contents is everything that a start needs, read in one transaction.
export interface Contents extends Seated {
  device: string;
  counter: number;
  cursor: Cursor;
  base: Base;
  proof: Proof;
  prefs: Partial<Prefs>;
  skewMs: number;
  syncedMs: number; // wall clock of the last whole exchange, about; 0 never
  fold: SavedFold | null;
  own: OutboxRow[];
}

export interface Sealed {
  row: OwnRow;
  bytes: Uint8Array;
}
interface Done {
  request: string;
  ids: string[];
  savedMs: number;
}

const noProof: Proof = { epoch: '', seq: 0, text: '' };
const requestsMax = 64; // remembered record calls; a repeat comes within seconds
const reserveBytes = 2 << 20;
const lastN = Number.MAX_SAFE_INTEGER;
const fatesInOne = 64; // rows of 6 KB together: a single mark stays a small write

export class Shelf {
  readonly #store: Store;
  readonly isDurable: boolean;

  constructor(store: Store, isDurable: boolean) {
    this.#store = store;
    this.isDurable = isDurable;
  }

  close(): void {
    this.#store.close();
  }

  // probe proves that the store opens, keeps, gives back and deletes.
  async probe(): Promise<void> {
    const mark = `probe ${Math.random()}`;
    await this.#store.run(['meta'], 'readwrite', (tx) => tx.put('meta', 'probe', mark));
    await this.#store.run(['meta'], 'readwrite', async (tx) => {
      if ((await tx.get('meta', 'probe')) !== mark) throw new Error('the store forgets');
      await tx.delete('meta', 'probe');
    });
  }

  // isUsed tells whether the store has ever kept anything; it throws when it cannot
  // be read at all.
  isUsed(): Promise<boolean> {
    return this.#store.run(['meta'], 'readonly', async (tx) => (await tx.get('meta', 'device')) !== undefined);
  }

  // read gives the contents, making the device's identity the first time. The
  // identity lies with the entries, so a phone that lost them is another device.
  async read(newDevice: () => string): Promise<Contents> {
    const contents = await this.#store.run(['meta', 'outbox', 'blobs'], 'readonly', readAll);
    if (contents.device !== '') return contents;
    return this.#store.run(
      ['meta', 'outbox', 'blobs'],
      'readwrite',
      async (tx) => {
        const now = await readAll(tx);
        if (now.device !== '') return now;
        now.device = newDevice();
        await tx.put('meta', 'device', now.device);
        await tx.put('meta', 'counter', 0);
        return now;
      },
      true,
    );
  }

  // secret shows the server that this phone is the device it says (server/auth/device.go).
  // It is made once and lies beside the device; '' when the phone cannot keep one just now.
  async secret(make: () => string): Promise<string> {
    try {
      const kept = await this.#store.run(['meta'], 'readonly', (tx) => tx.get('meta', 'secret'));
      if (typeof kept === 'string') return kept;
      return await this.#store.run(
        ['meta'],
        'readwrite',
        async (tx) => {
          const now = await tx.get('meta', 'secret');
          if (typeof now === 'string') return now;
          const made = make();
          await tx.put('meta', 'secret', made);
          return made;
        },
        true,
      );
    } catch {
      return '';
    }
  }

  // reread gives what other windows may have changed.
  reread(): Promise<Seated & { cursor: Cursor; base: Base; proof: Proof; counter: number; own: OutboxRow[] }> {
    return this.#store.run(['meta', 'outbox'], 'readonly', async (tx) => ({
      cursor: ((await tx.get('meta', 'cursor')) ?? noCursor) as Cursor,
      base: ((await tx.get('meta', 'base')) ?? noBase) as Base,
      proof: ((await tx.get('meta', 'proof')) ?? noProof) as Proof,
      counter: ((await tx.get('meta', 'counter')) ?? 0) as number,
      ...(await readSeated(tx)),
      own: await readOwn(tx),
    }));
  }

  // earlier tells the outcome of a record call that has been carried out before.
  earlier(request: string): Promise<Done | null> {
    return this.#store.run(['meta'], 'readonly', (tx) => findDone(tx, request));
  }

  // record stores entries with the next counters, durable before it resolves. seal
  // makes their bytes and must not wait for anything. The same request twice gives
  // the first outcome and stores nothing.
  async record(
    request: string,
    draft: DraftOf,
    now: number,
    seal: (firstN: number) => Sealed[],
  ): Promise<Done & { isNew: boolean }> {
    const write = () =>
      this.#store.run(
        ['meta', 'outbox'],
        'readwrite',
        async (tx) => {
          const before = await findDone(tx, request);
          if (before !== null) return { ...before, isNew: false };
          const counter = ((await tx.get('meta', 'counter')) ?? 0) as number;
          const sealed = seal(counter + 1);
          await Promise.all(
            sealed.map(({ row, bytes }) => tx.put('outbox', row.n, { ...row, bytes } satisfies OutboxRow)),
          );
          await tx.put('meta', 'counter', counter + sealed.length);
          const done: Done = { request, ids: sealed.map((s) => s.row.id), savedMs: now };
          const requests = ((await tx.get('meta', 'requests')) ?? []) as Done[];
          await tx.put('meta', 'requests', [...requests, done].slice(-requestsMax));
          await tx.delete('meta', draftKey(draft));
          return { ...done, isNew: true };
        },
        true,
      );
    if (!this.isDurable)
      throw new ProblemError('not_saved', 'this phone cannot keep anything, so nothing was recorded');
    try {
      return await write();
    } catch (e) {
      if (!isFull(e)) throw e;
      // What the next start can do without goes first: spare room, then the folded state.
      let last = e;
      for (const spare of ['reserve', 'fold']) {
        try {
          await this.#store.run(['blobs'], 'readwrite', (tx) => tx.delete('blobs', spare));
          return await write();
        } catch (again) {
          if (!isFull(again)) throw again;
          last = again;
        }
      }
      throw last;
    }
  }

  // pulled stores a page and moves the cursor, unless it stands elsewhere, or the page
  // tells more than this phone may hold: then nothing is written and the answer is false.
  pulled(
    from: Cursor,
    to: Cursor,
    base: Base,
    first: number,
    bytes: Uint8Array,
    rows: readonly OwnRow[],
    proof: Proof,
  ): Promise<boolean> {
    return this.#store.run(['meta', 'outbox', 'events'], 'readwrite', async (tx) => {
      if (!(await follows(tx, from)) || !(await mayHold(tx, base))) return false;
      if (from.after > 0 && (((await tx.get('meta', 'base')) ?? noBase) as Base).scope !== base.scope) return false;
      await tx.put('events', [to.epoch, first], { epoch: to.epoch, first, to: to.after, bytes } satisfies Page);
      await tx.put('meta', 'cursor', to);
      if (from.after === 0) await tx.put('meta', 'base', base);
      await markRows(tx, rows);
      await keepProof(tx, proof);
      return true;
    });
  }

  // based puts a snapshot in the place of everything that was pulled, unless the
  // cursor stands elsewhere, or it tells more than this phone may hold.
  based(from: Cursor, to: Cursor, stored: StoredBase, proof: Proof): Promise<boolean> {
    return this.#store.run(['meta', 'events', 'blobs'], 'readwrite', async (tx) => {
      if (!(await follows(tx, from)) || !(await mayHold(tx, stored.base))) return false;
      await tx.clear('events');
      await tx.delete('blobs', 'fold');
      await tx.put('blobs', 'base', stored);
      await tx.put('meta', 'base', stored.base);
      await tx.put('meta', 'cursor', to);
      await keepProof(tx, proof);
      return true;
    });
  }

  // base gives the snapshot that the stored pages go on from, null if they begin at
  // the beginning.
  base(): Promise<StoredBase | null> {
    return this.#store.run(
      ['blobs'],
      'readonly',
      async (tx) => ((await tx.get('blobs', 'base')) ?? null) as StoredBase | null,
    );
  }

  // shed takes out what this phone may not hold any more: see scope.ts.
  shed(cut: Cut): Promise<void> {
    return this.#store.run(['meta', 'events', 'blobs'], 'readwrite', (tx) => shed(tx, cut), true);
  }

  mark(rows: readonly OwnRow[], proof: Proof): Promise<void> {
    return this.#store.run(['meta', 'outbox'], 'readwrite', async (tx) => {
      await markRows(tx, rows);
      await keepProof(tx, proof);
    });
  }

  forget(gone: readonly number[]): Promise<void> {
    return this.#store.run(['outbox'], 'readwrite', async (tx) => {
      await Promise.all(gone.map((n) => tx.delete('outbox', n)));
      await changeFates(
        tx,
        gone,
        (n) => n,
        () => null,
      );
    });
  }

  // reset starts the log over in another epoch; the outbox and drafts stay.
  reset(epoch: string, rows: readonly OwnRow[]): Promise<void> {
    return this.#store.run(
      ['meta', 'outbox', 'events', 'blobs'],
      'readwrite',
      async (tx) => {
        await tx.clear('events');
        await tx.delete('blobs', 'fold');
        await tx.delete('blobs', 'base');
        await tx.put('meta', 'base', noBase);
        await tx.delete('meta', 'proof');
        await tx.put('meta', 'cursor', { epoch, after: 0 } satisfies Cursor);
        await dropMarksWithoutEpoch(tx);
        await markRows(tx, rows);
      },
      true,
    );
  }

  raiseCounter(n: number): Promise<void> {
    return this.#store.run(
      ['meta'],
      'readwrite',
      async (tx) => {
        const counter = ((await tx.get('meta', 'counter')) ?? 0) as number;
        if (counter < n) await tx.put('meta', 'counter', n);
      },
      true,
    );
  }

  // pages gives the next few stored pages of the log after a seq, in order.
  pages(after: Cursor): Promise<Page[]> {
    return this.#store.run(
      ['events'],
      'readonly',
      async (tx) =>
        (await tx.values('events', [after.epoch, after.after + 1], [after.epoch, lastN], pagesAtOnce)) as Page[],
    );
  }

  saveFold(fold: SavedFold): Promise<void> {
    return this.#store.run(['blobs', 'meta'], 'readwrite', async (tx) => {
      const at = ((await tx.get('meta', 'cursor')) ?? noCursor) as Cursor,
        base = ((await tx.get('meta', 'base')) ?? noBase) as Base;
      if (at.epoch === fold.at.cursor.epoch && base.scope === fold.at.scope) await tx.put('blobs', 'fold', fold);
    });
  }

  // keepReserve lays two megabytes aside once, to be given up when the disk is full.
  async keepReserve(noise: (bytes: number) => Uint8Array): Promise<void> {
    const isThere = await this.#store.run(
      ['blobs'],
      'readonly',
      async (tx) => (await tx.values('blobs', 'reserve', 'reserve')).length > 0,
    );
    if (!isThere)
      await this.#store.run(['blobs'], 'readwrite', (tx) => tx.put('blobs', 'reserve', noise(reserveBytes)));
  }

  // changeSeats changes who holds the phone and who is signed in on it, in one piece.
  changeSeats(how: (at: Seated) => Seated): Promise<Seated> {
    return this.#store.run(['meta'], 'readwrite', (tx) => changeSeated(tx, how), true);
  }

  savePrefs(prefs: Partial<Prefs>): Promise<void> {
    return this.#meta('prefs', prefs);
  }
  saveSynced(ms: number): Promise<void> {
    return this.#meta('synced', ms);
  }
  saveSkew(ms: number): Promise<void> {
    return this.#meta('skew', ms);
  }

  // saveDraft keeps a half-filled form, unless somebody else has the phone by now.
  saveDraft(draft: DraftOf, form: Record<string, string>): Promise<void> {
    return this.#store.run(['meta'], 'readwrite', async (tx) => {
      if ((await readSeated(tx)).session.person?.id === draft.person) await tx.put('meta', draftKey(draft), form);
    });
  }

  async draft(draft: DraftOf): Promise<Record<string, string> | null> {
    return this.#store.run(
      ['meta'],
      'readonly',
      async (tx) => ((await tx.get('meta', draftKey(draft))) ?? null) as Record<string, string> | null,
    );
  }

  #meta(key: string, value: unknown): Promise<void> {
    return this.#store.run(['meta'], 'readwrite', (tx) => tx.put('meta', key, value));
  }
}

// follows tells whether what goes on from a place may follow what is stored. A store that
// never had anything takes the beginning of any epoch.
async function follows(tx: Tx, from: Cursor): Promise<boolean> {
  const at = ((await tx.get('meta', 'cursor')) ?? noCursor) as Cursor;
  return at.after === from.after && (at.epoch === from.epoch || (at.epoch === '' && at.after === 0));
}

// keepProof keeps the proof that says most of the store's own epoch: see Proof.Beyond in
// sync/replica.
async function keepProof(tx: Tx, proof: Proof): Promise<void> {
  const [cursor, old] = (await Promise.all([tx.get('meta', 'cursor'), tx.get('meta', 'proof')])) as [
    Cursor | undefined,
    Proof | undefined,
  ];
  if (proof.text !== '' && proof.epoch === cursor?.epoch && (old?.epoch !== proof.epoch || proof.seq > old.seq))
    await tx.put('meta', 'proof', proof);
}

async function readAll(tx: Tx): Promise<Contents> {
  const [device, counter, cursor, base, proof, seated, prefs, skew, synced, fold, own] = await Promise.all([
    tx.get('meta', 'device'),
    tx.get('meta', 'counter'),
    tx.get('meta', 'cursor'),
    tx.get('meta', 'base'),
    tx.get('meta', 'proof'),
    readSeated(tx),
    tx.get('meta', 'prefs'),
    tx.get('meta', 'skew'),
    tx.get('meta', 'synced'),
    tx.get('blobs', 'fold'),
    readOwn(tx),
  ]);
  return {
    device: (device ?? '') as string,
    counter: (counter ?? 0) as number,
    cursor: (cursor ?? noCursor) as Cursor,
    base: (base ?? noBase) as Base,
    proof: (proof ?? noProof) as Proof,
    ...seated,
    prefs: (prefs ?? {}) as Partial<Prefs>,
    skewMs: (skew ?? 0) as number,
    syncedMs: (synced ?? 0) as number,
    fold: (fold ?? null) as SavedFold | null,
    own,
  };
}

async function findDone(tx: Tx, request: string): Promise<Done | null> {
  const requests = ((await tx.get('meta', 'requests')) ?? []) as Done[];
  return requests.find((d) => d.request === request) ?? null;
}

// readOwn gives the entries made here, each with its fate. A row of a phone's older
// version carries its fate itself, until a newer one is told; neither had an epoch.
async function readOwn(tx: Tx): Promise<OutboxRow[]> {
  const [rows, blocks] = await Promise.all([
    tx.values('outbox', 0, lastN),
    tx.values('outbox', ['fate', 0], ['fate', lastN]),
  ]);
  const fates = new Map((blocks as Fate[][]).flat().map((f) => [f.n, f]));
  return (rows as OutboxRow[]).map((row) => {
    const fate = fates.get(row.n);
    return { ...row, epoch: '', ...(fate?.id === row.id ? fate : null) };
  });
}

// markRows writes what became of rows; the rows themselves never change.
function markRows(tx: Tx, rows: readonly OwnRow[]): Promise<void> {
  return changeFates(
    tx,
    rows,
    (row) => row.n,
    ({ n, id, mark, epoch, seq, effective_ms, reason, late }) => ({
      n,
      id,
      mark,
      epoch,
      seq,
      effective_ms,
      reason,
      late,
    }),
  );
}

// dropMarksWithoutEpoch takes back in a new epoch what an older version noted: the core
// takes such marks for the cursor's, and need not know of each that stands in the store.
async function dropMarksWithoutEpoch(tx: Tx): Promise<void> {
  const blocks = (await tx.values('outbox', ['fate', 0], ['fate', lastN])) as Fate[][];
  const old = blocks.flat().filter((f) => !f.epoch && (f.mark === 'accepted' || f.mark === 'held'));
  await changeFates(
    tx,
    old,
    (f) => f.n,
    () => null,
  );
}

// changeFates puts new fates in the place of old ones, or none.
async function changeFates<T>(
  tx: Tx,
  list: readonly T[],
  nOf: (one: T) => number,
  fateOf: (one: T) => Fate | null,
): Promise<void> {
  const blocks = new Map<number, Map<number, Fate | null>>();
  for (const one of list) {
    const n = nOf(one),
      k = Math.floor(n / fatesInOne);
    let block = blocks.get(k);
    if (block === undefined) blocks.set(k, (block = new Map()));
    block.set(n, fateOf(one));
  }
  await Promise.all(
    [...blocks].map(async ([k, news]) => {
      const old = news.size === fatesInOne ? [] : (((await tx.get('outbox', ['fate', k])) ?? []) as Fate[]);
      const block = [...old.filter((f) => !news.has(f.n)), ...[...news.values()].filter((f) => f !== null)];
      await (block.length === 0 ? tx.delete('outbox', ['fate', k]) : tx.put('outbox', ['fate', k], block));
    }),
  );
}

// isFull tells whether the browser has no room left for us.
export function isFull(e: unknown): boolean {
  return e instanceof DOMException && e.name === 'QuotaExceededError';
}
