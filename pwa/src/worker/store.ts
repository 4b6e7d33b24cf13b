// The gateway to IndexedDB: the only place that holds its handle. Four plain
// stores with keys given from outside, so the database's version need not change.

export type StoreName = 'events' | 'outbox' | 'blobs' | 'meta';
export type Key = string | number | readonly (string | number)[];
export const storeNames: readonly StoreName[] = ['events', 'outbox', 'blobs', 'meta'];

// Tx is one transaction. Its requests may be awaited one after the other; nothing
// else may be awaited in between, or the browser commits early.
export interface Tx {
  get(store: StoreName, key: Key): Promise<unknown>;
  put(store: StoreName, key: Key, value: unknown): Promise<void>;
  delete(store: StoreName, key: Key): Promise<void>;
  clear(store: StoreName): Promise<void>;
  // drop deletes what stands between both bounds, inclusive.
  drop(store: StoreName, from: Key, to: Key): Promise<void>;
  // values between both bounds, inclusive, in key order, at most max of them.
  values(store: StoreName, from: Key, to: Key, max?: number): Promise<unknown[]>;
}

// Store runs transactions. run resolves only after the transaction is complete;
// with strict, after the browser has handed it to the disk.
export interface Store {
  run<T>(
    stores: readonly StoreName[],
    mode: 'readonly' | 'readwrite',
    body: (tx: Tx) => Promise<T>,
    strict?: boolean,
  ): Promise<T>;
  close(): void;
}

// StoreError says that the store cannot be used now, and why.
export class StoreError extends Error {
  readonly why: 'blocked' | 'hung' | 'unavailable';
  constructor(why: StoreError['why'], detail: string) {
    super(`store ${why}: ${detail}`);
    this.name = 'StoreError';
    this.why = why;
  }
}

const openMs = 4_000; // a second opener that is queued behind another gets no event at all
const runMs = 15_000;

export class IdbStore implements Store {
  readonly #name: string;
  #open: Promise<IDBDatabase> | null = null;

  constructor(name: string) {
    this.#name = name;
  }

  async run<T>(
    stores: readonly StoreName[],
    mode: 'readonly' | 'readwrite',
    body: (tx: Tx) => Promise<T>,
    strict = false,
  ): Promise<T> {
    try {
      return await this.#once(stores, mode, body, strict);
    } catch (e) {
      if (!isLostHandle(e)) throw e;
      this.close();
      return await this.#once(stores, mode, body, strict);
    }
  }

  close(): void {
    const open = this.#open;
    this.#open = null;
    open?.then(
      (db) => db.close(),
      () => undefined,
    );
  }

  async #once<T>(
    stores: readonly StoreName[],
    mode: 'readonly' | 'readwrite',
    body: (tx: Tx) => Promise<T>,
    strict: boolean,
  ): Promise<T> {
    const db = await this.#handle();
    const tx = db.transaction(stores, mode, { durability: strict ? 'strict' : 'relaxed' });
    const done = new Promise<void>((resolve, reject) => {
      const watch = setTimeout(() => {
        this.close();
        reject(new StoreError('hung', 'no answer from the database'));
      }, runMs);
      const end = (settle: () => void) => {
        clearTimeout(watch);
        settle();
      };
      tx.oncomplete = () => end(resolve);
      tx.onabort = () => end(() => reject(tx.error ?? new DOMException('transaction aborted', 'AbortError')));
    });
    done.catch(() => undefined);
    let value: T;
    try {
      value = await Promise.race([body(wrap(tx)), done.then(() => new Promise<never>(() => undefined))]);
    } catch (e) {
      try {
        tx.abort();
      } catch {
        /* it has ended by itself */
      }
      throw e;
    }
    await done;
    return value;
  }

  #handle(): Promise<IDBDatabase> {
    this.#open ??= this.#connect();
    return this.#open;
  }

  #connect(): Promise<IDBDatabase> {
    const opening = new Promise<IDBDatabase>((resolve, reject) => {
      const request = indexedDB.open(this.#name, 1);
      let isLate = false;
      const late = setTimeout(() => {
        isLate = true;
        reject(new StoreError('blocked', 'another window holds the database'));
      }, openMs);
      request.onupgradeneeded = () => {
        for (const name of storeNames)
          if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name);
      };
      request.onerror = () => {
        clearTimeout(late);
        reject(request.error ?? new StoreError('unavailable', 'open failed'));
      };
      request.onsuccess = () => {
        clearTimeout(late);
        const db = request.result;
        if (isLate) return db.close(); // nobody waits for it any more
        db.onversionchange = () => {
          if (this.#open === opening) this.#open = null;
          db.close();
        };
        db.onclose = () => {
          if (this.#open === opening) this.#open = null;
        };
        resolve(db);
      };
    });
    opening.catch(() => {
      if (this.#open === opening) this.#open = null;
    });
    return opening;
  }
}

// heldMs is how long opening may take before somebody must be told that another window
// is in the way: who is queued behind it gets no event.
export const heldMs = 1_500;

// whenOpens resolves when the database can be opened, however long that takes.
export function whenOpens(name: string): Promise<void> {
  return new Promise((resolve) => {
    const request = indexedDB.open(name);
    request.onerror = () => resolve(); // of another version, say: that is for whoever opens it next
    request.onsuccess = () => {
      request.result.close();
      resolve();
    };
  });
}

// isLostHandle tells whether the connection died under us (a phone that slept, a
// storage process that crashed): then a new handle is worth one more try.
function isLostHandle(e: unknown): boolean {
  return e instanceof DOMException && (e.name === 'UnknownError' || e.name === 'InvalidStateError');
}

function wrap(tx: IDBTransaction): Tx {
  const ask = <T>(request: IDBRequest<T>) =>
    new Promise<T>((resolve, reject) => {
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error ?? new Error('request failed'));
    });
  const at = (store: StoreName) => tx.objectStore(store);
  const key = (k: Key) => k as IDBValidKey;
  return {
    get: (store, k) => ask(at(store).get(key(k))),
    put: async (store, k, value) => {
      await ask(at(store).put(value, key(k)));
    },
    delete: async (store, k) => {
      await ask(at(store).delete(key(k)));
    },
    clear: async (store) => {
      await ask(at(store).clear());
    },
    drop: async (store, from, to) => {
      await ask(at(store).delete(IDBKeyRange.bound(key(from), key(to))));
    },
    values: (store, from, to, max) => ask(at(store).getAll(IDBKeyRange.bound(key(from), key(to)), max)),
  };
}
