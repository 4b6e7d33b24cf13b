// A store that lives only in memory: the books can be read through it when the
// phone has no storage (a private window), but nothing may be recorded into it.
// The tests use it too.

import type { Key, Store, StoreName, Tx } from './store';
import { storeNames } from './store';

type Rows = Map<string, { key: Key; value: unknown }>;

export class MemoryStore implements Store {
  #rows: Record<StoreName, Rows> = { events: new Map(), outbox: new Map(), blobs: new Map(), meta: new Map() };
  #last: Promise<unknown> = Promise.resolve();

  // run takes the transactions one by one; a body that throws leaves nothing behind.
  run<T>(_stores: readonly StoreName[], _mode: 'readonly' | 'readwrite', body: (tx: Tx) => Promise<T>): Promise<T> {
    const turn = this.#last.then(async () => {
      const copy = { ...this.#rows };
      for (const name of storeNames) copy[name] = new Map(this.#rows[name]);
      const value = await body(txOver(copy));
      this.#rows = copy;
      return value;
    });
    this.#last = turn.catch(() => undefined);
    return turn;
  }

  close(): void {
    /* nothing is held open */
  }
}

function txOver(rows: Record<StoreName, Rows>): Tx {
  const name = (k: Key) => JSON.stringify(k);
  return {
    get: async (store, k) => structuredClone(rows[store].get(name(k))?.value),
    put: async (store, k, value) => {
      rows[store].set(name(k), { key: k, value: structuredClone(value) });
    },
    delete: async (store, k) => {
      rows[store].delete(name(k));
    },
    clear: async (store) => {
      rows[store].clear();
    },
    drop: async (store, from, to) => {
      for (const [n, r] of rows[store]) if (compare(from, r.key) <= 0 && compare(r.key, to) <= 0) rows[store].delete(n);
    },
    values: async (store, from, to, max = Infinity) =>
      [...rows[store].values()]
        .filter((r) => compare(from, r.key) <= 0 && compare(r.key, to) <= 0)
        .sort((a, b) => compare(a.key, b.key))
        .slice(0, max)
        .map((r) => structuredClone(r.value)),
  };
}

// compare orders keys as IndexedDB does, for the kinds of key used here: numbers
// before texts before lists, lists element by element.
export function compare(a: Key, b: Key): number {
  const rank = (k: Key) => (typeof k === 'number' ? 0 : typeof k === 'string' ? 1 : 2);
  if (rank(a) !== rank(b)) return rank(a) - rank(b);
  if (typeof a === 'object' && typeof b === 'object') {
    for (let i = 0; i < Math.min(a.length, b.length); i++) {
      const x = a[i],
        y = b[i];
      if (x === undefined || y === undefined) break;
      const c = compare(x, y);
      if (c !== 0) return c;
    }
    return a.length - b.length;
  }
  return a < b ? -1 : a > b ? 1 : 0;
}
