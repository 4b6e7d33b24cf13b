import assert from 'node:assert/strict';
import { test } from 'node:test';
import { MemoryStore, compare } from './memory-store';
import type { Role } from '../bridge/api';
import { type Base, type OwnRow, type Sealed, Shelf } from './shelf';
import type { Store, StoreName, Tx } from './store';

const row = (n: number): Sealed => ({
  row: {
    n,
    id: `id-${n}`,
    by: 'ana',
    recorded_ms: 1,
    mark: '',
    epoch: '',
    seq: 0,
    effective_ms: 0,
    reason: '',
    late: false,
  },
  bytes: new TextEncoder().encode(`{"n":${n}}`),
});
const seal = (count: number) => (first: number) => Array.from({ length: count }, (_, i) => row(first + i));

// held has somebody sign in and hold the phone, alone.
async function held(shelf: Shelf, id: string, role: Role, isOver = false): Promise<void> {
  const person = { id, name: id, role };
  await shelf.changeSeats((at) => ({
    ...at,
    session: { person, server: 'srv', isSignedIn: true },
    seats: [{ person, isOver, isMoment: false, pin: null, wrong: 0, untilMs: 0 }],
  }));
}

const weighing = { person: 'ana', key: 'weigh' };

// Faulty fails the transaction it is told to, before or after it was kept.
class Faulty implements Store {
  readonly inner = new MemoryStore();
  fail: { when: 'before' | 'after'; error: Error } | null = null;
  async run<T>(stores: readonly StoreName[], mode: 'readonly' | 'readwrite', body: (tx: Tx) => Promise<T>): Promise<T> {
    const fail = mode === 'readwrite' ? this.fail : null;
    if (fail !== null) this.fail = null;
    if (fail?.when === 'before') throw fail.error;
    const value = await this.inner.run(stores, mode, body);
    if (fail?.when === 'after') throw fail.error;
    return value;
  }
  close(): void {
    /* nothing held */
  }
}

test('counters go on from where they were, without a gap, whoever records', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await Promise.all(Array.from({ length: 50 }, (_, i) => shelf.record(`r${i}`, weighing, 1, seal(1 + (i % 3)))));
  const { own, counter } = await shelf.reread();
  assert.deepEqual(
    own.map((r) => r.n),
    Array.from({ length: counter }, (_, i) => i + 1),
  );
});

test('the same request twice stores once and answers alike', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  const a = await shelf.record('r', weighing, 1, seal(2)),
    b = await shelf.record('r', weighing, 9, seal(2));
  assert.deepEqual([a.isNew, b.isNew], [true, false]);
  assert.deepEqual(b.ids, a.ids);
  assert.equal((await shelf.reread()).own.length, 2);
});

for (const when of ['before', 'after'] as const) {
  test(`a write that fails ${when} it was kept is never doubled by its repeat`, async () => {
    const store = new Faulty(),
      shelf = new Shelf(store, true);
    store.fail = { when, error: new Error('phone fell asleep') };
    await assert.rejects(shelf.record('r', weighing, 1, seal(1)));
    const again = await shelf.record('r', weighing, 1, seal(1));
    const { own, counter } = await shelf.reread();
    assert.deepEqual(
      own.map((r) => r.id),
      again.ids,
    );
    assert.equal(counter, 1);
  });
}

test('a seal that throws takes no counter', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await assert.rejects(
    shelf.record('r', weighing, 1, () => {
      throw new Error('panic');
    }),
  );
  assert.equal((await shelf.reread()).counter, 0);
});

const base = { seq: 0, floor_ms: 0, tail: 0, scope: 'plain' },
  noProof = { epoch: '', seq: 0, text: '' };

test('a page is stored only where the cursor stands', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.reset('e', []);
  const page = new Uint8Array([1]);
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 7 }, base, 1, page, [], noProof),
    true,
  );
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 9 }, base, 1, page, [], noProof),
    false,
  );
  assert.equal(
    await shelf.pulled({ epoch: 'f', after: 7 }, { epoch: 'f', after: 9 }, base, 8, page, [], noProof),
    false,
  );
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 7 }, { epoch: 'e', after: 9 }, base, 8, page, [], noProof),
    true,
  );
  assert.deepEqual(
    (await shelf.pages({ epoch: 'e', after: 7 })).map((p) => p.first),
    [8],
  );
  assert.deepEqual((await shelf.reread()).cursor, { epoch: 'e', after: 9 });
});

test('a store that never had anything takes the first page of any epoch, and only the first', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  const page = new Uint8Array([1]);
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 7 }, { epoch: 'e', after: 9 }, base, 8, page, [], noProof),
    false,
  );
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 7 }, base, 1, page, [], noProof),
    true,
  );
  assert.equal(
    await shelf.pulled({ epoch: 'f', after: 0 }, { epoch: 'f', after: 7 }, base, 1, page, [], noProof),
    false,
  );
  assert.deepEqual((await shelf.reread()).cursor, { epoch: 'e', after: 7 });
});

test('a snapshot takes the place of the pages, and the pages after it go on from there', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.reset('e', []);
  await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 7 }, base, 1, new Uint8Array([1]), [], noProof);
  const stored = {
    epoch: 'e',
    base: { seq: 40, floor_ms: 5, tail: 2, scope: 'plain' },
    state: new Uint8Array([3]),
    pages: [new Uint8Array([4])],
  };
  assert.equal(await shelf.based({ epoch: 'e', after: 6 }, { epoch: 'e', after: 40 }, stored, noProof), false);
  assert.equal(await shelf.base(), null);
  assert.equal(await shelf.based({ epoch: 'e', after: 7 }, { epoch: 'e', after: 40 }, stored, noProof), true);
  assert.deepEqual(await shelf.base(), stored);
  assert.deepEqual(
    (await shelf.pages({ epoch: 'e', after: 0 })).map((p) => p.first),
    [],
  );
  await shelf.pulled(
    { epoch: 'e', after: 40 },
    { epoch: 'e', after: 44 },
    stored.base,
    41,
    new Uint8Array([5]),
    [],
    noProof,
  );
  const c = await shelf.read(() => 'd');
  assert.deepEqual([c.base, c.cursor], [stored.base, { epoch: 'e', after: 44 }]);
  await shelf.reset('f', []);
  assert.equal(await shelf.base(), null);
});

test('a reset drops the log and the saved state, and keeps outbox and drafts', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.reset('e', []);
  await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 7 }, base, 1, new Uint8Array([1]), [], noProof);
  await shelf.saveFold({
    at: { cursor: { epoch: 'e', after: 7 }, n: 0, scope: 'plain' },
    core: 'c',
    bytes: new Uint8Array([2]),
    who: '',
    views: {},
  });
  await held(shelf, 'ana', 'coater');
  await shelf.record('r', weighing, 1, seal(1));
  await shelf.saveDraft({ person: 'ana', key: 'move' }, { a: 'b' });
  await shelf.reset('f', [{ ...row(1).row, mark: '' }]);
  const c = await shelf.read(() => 'd');
  assert.deepEqual([c.cursor, c.fold, c.own.length], [{ epoch: 'f', after: 0 }, null, 1]);
  assert.deepEqual(await shelf.draft({ person: 'ana', key: 'move' }), { a: 'b' });
  assert.equal(await shelf.draft({ person: 'bo', key: 'move' }), null);
  assert.deepEqual(await shelf.pages({ epoch: 'e', after: 0 }), []);
});

test('a saved state of another epoch is not kept', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.reset('f', []);
  await shelf.saveFold({
    at: { cursor: { epoch: 'e', after: 7 }, n: 0, scope: '' },
    core: 'c',
    bytes: new Uint8Array([2]),
    who: '',
    views: {},
  });
  assert.equal((await shelf.read(() => 'd')).fold, null);
});

test("marks never change an entry's bytes, nor bring back a row that is gone", async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.record('r', weighing, 1, seal(1));
  await shelf.mark(
    [
      { ...row(1).row, mark: 'accepted', seq: 4 },
      { ...row(2).row, mark: 'accepted' },
    ],
    noProof,
  );
  const { own } = await shelf.reread();
  assert.deepEqual(
    own.map((r) => [r.n, r.mark, new TextDecoder().decode(r.bytes)]),
    [[1, 'accepted', '{"n":1}']],
  );
});

test('a full phone gives up its reserve for an entry', async () => {
  const store = new Faulty(),
    shelf = new Shelf(store, true);
  await shelf.keepReserve((n) => new Uint8Array(n));
  store.fail = { when: 'before', error: new DOMException('full', 'QuotaExceededError') };
  assert.equal((await shelf.record('r', weighing, 1, seal(1))).isNew, true);
  let isKept = true;
  await store.run(['blobs'], 'readonly', async (tx) => {
    isKept = (await tx.get('blobs', 'reserve')) !== undefined;
  });
  assert.equal(isKept, false);
});

test('the device is made once, and a store that cannot keep anything records nothing', async () => {
  const store = new MemoryStore(),
    shelf = new Shelf(store, false);
  let made = 0;
  for (let i = 0; i < 3; i++) assert.equal((await shelf.read(() => `d${++made}`)).device, 'd1');
  await assert.rejects(shelf.record('r', weighing, 1, seal(1)), /not_saved/);
});

test('the secret is made once, with two windows at once, and a phone that cannot keep it goes on without', async () => {
  const store = new Faulty(),
    shelf = new Shelf(store, true),
    other = new Shelf(store, true);
  store.fail = { when: 'before', error: new DOMException('full', 'QuotaExceededError') };
  assert.equal(await shelf.secret(() => 'lost'), '');
  store.fail = null;
  let made = 0;
  const make = () => `s${++made}`;
  assert.deepEqual(await Promise.all([shelf.secret(make), other.secret(make), shelf.secret(make)]), ['s1', 's1', 's1']);
  assert.equal(await new Shelf(store, true).secret(make), 's1');
});

test('keys sort as in IndexedDB: numbers, texts, lists', () => {
  const sorted = [['e', 9], ['e', 10], 'b', 2, 10, 'a', ['d', 11]].sort((a, b) => compare(a as never, b as never));
  assert.deepEqual(sorted, [2, 10, 'a', 'b', ['d', 11], ['e', 9], ['e', 10]]);
});

test('fates lie apart from the entries, many together, and go with them', async () => {
  const store = new MemoryStore(),
    shelf = new Shelf(store, true);
  await shelf.record('r', weighing, 1, seal(200));
  const was = (await shelf.reread()).own;
  const told = was
    .slice(0, 150)
    .map(({ bytes: _, ...r }) => ({ ...r, mark: 'accepted', seq: r.n + 10, effective_ms: 5 }));
  await shelf.mark(told, noProof);
  await shelf.mark([{ ...(told[3] as OwnRow), mark: 'held', reason: 'role' }], noProof);
  const now = (await shelf.reread()).own;
  assert.deepEqual(
    now.map((r) => r.mark),
    was.map((r) => (r.n === 4 ? 'held' : r.n <= 150 ? 'accepted' : '')),
  );
  assert.deepEqual([now[3]?.reason, now[4]?.seq, now[4]?.recorded_ms], ['role', 15, 1]);
  assert.deepEqual(
    now.map((r) => r.bytes),
    was.map((r) => r.bytes),
    'the bytes never change',
  );
  const records = async () =>
    (await store.run(['outbox'], 'readonly', (tx) => tx.values('outbox', ['fate', 0], ['fate', 1e9]))).length;
  assert.equal(await records(), 3, 'n 1 to 63, 64 to 127, 128 to 150');
  await shelf.forget(told.map((r) => r.n));
  assert.deepEqual(
    (await shelf.reread()).own.map((r) => r.n),
    was.slice(150).map((r) => r.n),
  );
  assert.equal(await records(), 0);
});

test('a row of an older version carries its fate itself, until a newer one is told', async () => {
  const store = new MemoryStore(),
    shelf = new Shelf(store, true);
  const { epoch: _, ...without } = row(1).row,
    old = { ...without, mark: 'accepted', seq: 9, bytes: row(1).bytes };
  await store.run(['outbox'], 'readwrite', (tx) => tx.put('outbox', 1, old));
  assert.deepEqual([(await shelf.reread()).own[0]?.seq, (await shelf.reread()).own[0]?.epoch], [9, '']);
  await shelf.mark([{ ...row(1).row }], noProof);
  assert.deepEqual(
    [(await shelf.reread()).own[0]?.mark, (await shelf.reread()).own[0]?.seq],
    ['', 0],
    'unsent again in a new epoch',
  );
});

test('a mark keeps the epoch it was given in, and one that a new epoch did not know of says so', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await shelf.reset('e', []);
  await shelf.record('r', weighing, 1, seal(2));
  await shelf.mark(
    [
      { ...row(1).row, mark: 'accepted', epoch: 'e', seq: 4 },
      { ...row(2).row, mark: 'held', epoch: 'e', seq: 5 },
    ],
    noProof,
  );
  await shelf.reset('f', [{ ...row(2).row }]); // the core knew of the second mark only
  assert.deepEqual(
    (await shelf.reread()).own.map((r) => [r.mark, r.epoch]),
    [
      ['accepted', 'e'],
      ['', ''],
    ],
  );
});

test('a new epoch takes back every mark without one, also those that the core does not know of, and no refusal', async () => {
  const store = new MemoryStore(),
    shelf = new Shelf(store, true);
  await shelf.record('r', weighing, 1, seal(3));
  const fate = (n: number, mark: string) => ({
    n,
    id: `id-${n}`,
    mark,
    seq: mark === 'refused' ? 0 : n,
    effective_ms: 5,
    reason: '',
    late: false,
  });
  await store.run(['outbox'], 'readwrite', (tx) =>
    tx.put('outbox', ['fate', 0], [fate(1, 'accepted'), fate(2, 'held'), fate(3, 'refused')]),
  );
  assert.deepEqual(
    (await shelf.reread()).own.map((r) => [r.mark, r.epoch]),
    [
      ['accepted', ''],
      ['held', ''],
      ['refused', ''],
    ],
  );
  await shelf.reset('f', []);
  assert.deepEqual(
    (await shelf.reread()).own.map((r) => r.mark),
    ['', '', 'refused'],
  );
});

test("a proof is kept with what it covers: the one that says most, of the store's own epoch", async () => {
  const shelf = new Shelf(new MemoryStore(), true),
    proof = (epoch: string, seq: number) => ({ epoch, seq, text: `${epoch} at ${seq}` });
  const kept = async () => (await shelf.reread()).proof.text;
  await shelf.reset('e', []);
  await shelf.record('r', weighing, 1, seal(1));
  assert.equal(await kept(), '');
  await shelf.mark([{ ...row(1).row, mark: 'accepted', epoch: 'e', seq: 4 }], proof('e', 4));
  assert.equal(await kept(), 'e at 4');
  await shelf.pulled(
    { epoch: 'e', after: 0 },
    { epoch: 'e', after: 7 },
    base,
    1,
    new Uint8Array([1]),
    [],
    proof('e', 9),
  );
  assert.equal(await kept(), 'e at 9');
  await shelf.mark([], proof('e', 6)); // of a window that knows less
  await shelf.mark([], proof('f', 20)); // of another epoch than the cursor's
  await shelf.mark([], noProof); // of a server that gives out none
  assert.equal(await kept(), 'e at 9');
  const stored = { epoch: 'e', base: { ...base, seq: 40 }, state: new Uint8Array([3]), pages: [] };
  assert.equal(await shelf.based({ epoch: 'e', after: 6 }, { epoch: 'e', after: 40 }, stored, proof('e', 50)), false);
  assert.equal(await kept(), 'e at 9', 'a snapshot that was not stored');
  await shelf.based({ epoch: 'e', after: 7 }, { epoch: 'e', after: 40 }, stored, proof('e', 41));
  assert.equal((await shelf.read(() => 'd')).proof.text, 'e at 41');
  await shelf.reset('f', []);
  assert.equal(await kept(), '');
});

// Prices, as the store sees them: bytes that the cutting function makes smaller.
const priced = new Uint8Array([7, 7]),
  plain = new Uint8Array([7]);
const cut = (blobs: readonly Uint8Array[]) => blobs.map((b) => b.slice(0, 1));
const full: Base = { seq: 40, floor_ms: 5, tail: 2, scope: 'full' };

async function managersShelf() {
  const store = new MemoryStore(),
    shelf = new Shelf(store, true);
  await held(shelf, 'mia', 'manager');
  await shelf.reset('e', []);
  assert.equal(
    await shelf.based(
      { epoch: 'e', after: 0 },
      { epoch: 'e', after: 40 },
      { epoch: 'e', base: full, state: priced, pages: [priced, priced] },
      noProof,
    ),
    true,
  );
  for (let n = 0; n < 40; n++)
    assert.equal(
      await shelf.pulled(
        { epoch: 'e', after: 40 + n },
        { epoch: 'e', after: 41 + n },
        full,
        41 + n,
        priced,
        [],
        noProof,
      ),
      true,
    );
  await shelf.saveFold({
    at: { cursor: { epoch: 'e', after: 80 }, n: 0, scope: 'full' },
    core: 'c',
    bytes: priced,
    who: 'mia',
    views: {},
  });
  await shelf.saveDraft({ person: 'mia', key: 'receive' }, { price: '98.76' });
  await shelf.record('r', { person: 'mia', key: 'weigh' }, 1, seal(1));
  return { store, shelf };
}

const leaves = (shelf: Shelf) =>
  shelf.changeSeats((at) => ({ ...at, session: { person: null, server: 'srv', isSignedIn: false }, seats: [] }));

test('nothing with prices is taken in unless a manager alone holds the phone', async () => {
  const ways: [string, boolean, (shelf: Shelf) => Promise<unknown>][] = [
    ['a manager', true, () => Promise.resolve()],
    ['nobody', false, leaves],
    ['a coater', false, (shelf) => held(shelf, 'ana', 'coater')],
    ['a manager whose session is over', false, (shelf) => held(shelf, 'mia', 'manager', true)],
    ['a manager on a phone that was shut out', false, (shelf) => shelf.changeSeats((at) => ({ ...at, isShut: true }))],
    [
      'a manager beside a coater',
      false,
      (shelf) =>
        shelf.changeSeats((at) => ({
          ...at,
          seats: [
            ...at.seats,
            {
              person: { id: 'ana', name: 'Ana', role: 'coater' },
              isOver: true,
              isMoment: false,
              pin: null,
              wrong: 0,
              untilMs: 0,
            },
          ],
        })),
    ],
  ];
  for (const [name, want, change] of ways) {
    const { shelf } = await managersShelf();
    await change(shelf);
    assert.equal(
      await shelf.pulled({ epoch: 'e', after: 80 }, { epoch: 'e', after: 81 }, full, 81, priced, [], noProof),
      want,
      `a page for ${name}`,
    );
    const after = want ? 81 : 80;
    assert.equal(
      await shelf.based(
        { epoch: 'e', after },
        { epoch: 'e', after: 90 },
        { epoch: 'e', base: { ...full, seq: 90 }, state: priced, pages: [] },
        noProof,
      ),
      want,
      `a snapshot for ${name}`,
    );
    await shelf.shed(cut);
    assert.equal((await shelf.read(() => 'd')).base.scope, want ? 'full' : 'plain', `after all, for ${name}`);
  }
});

test('when a manager leaves, prices go out of all that was pulled, and drafts go; what was recorded stays', async () => {
  const { store, shelf } = await managersShelf();
  await leaves(shelf);
  await shelf.shed(cut);
  const c = await shelf.read(() => 'd');
  assert.deepEqual(
    [c.base, c.cursor, c.fold, c.own.length],
    [{ ...full, scope: 'plain' }, { epoch: 'e', after: 80 }, null, 1],
  );
  assert.deepEqual(await shelf.base(), {
    epoch: 'e',
    base: { ...full, scope: 'plain' },
    state: plain,
    pages: [plain, plain],
  });
  const pages = await store.run(['events'], 'readonly', (tx) => tx.values('events', ['e', 0], ['e', 1e9]));
  assert.deepEqual([pages.length, pages.every((p) => (p as { bytes: Uint8Array }).bytes.length === 1)], [40, true]);
  assert.equal(await shelf.draft({ person: 'mia', key: 'receive' }), null);
});

test('what comes late from before brings no price back', async () => {
  const { shelf } = await managersShelf();
  await leaves(shelf);
  await shelf.shed(cut);
  await held(shelf, 'mia', 'manager'); // she is back, and the page asked for before arrives
  assert.equal(
    await shelf.pulled({ epoch: 'e', after: 80 }, { epoch: 'e', after: 81 }, full, 81, priced, [], noProof),
    false,
    'a page with prices on books without',
  );
  await shelf.saveFold({
    at: { cursor: { epoch: 'e', after: 80 }, n: 0, scope: 'full' },
    core: 'c',
    bytes: priced,
    who: 'mia',
    views: {},
  });
  assert.equal((await shelf.read(() => 'd')).fold, null);
  await held(shelf, 'ana', 'coater');
  await shelf.saveDraft({ person: 'mia', key: 'receive' }, { price: '98.76' });
  await shelf.saveDraft({ person: 'ana', key: 'weigh' }, { mass: '1' });
  assert.deepEqual(
    [await shelf.draft({ person: 'mia', key: 'receive' }), await shelf.draft({ person: 'ana', key: 'weigh' })],
    [null, { mass: '1' }],
  );
});

test('what cannot be cut is thrown away and pulled again', async () => {
  const { shelf } = await managersShelf();
  await leaves(shelf);
  await shelf.shed(() => {
    throw new Error('no JSON');
  });
  const c = await shelf.read(() => 'd');
  assert.deepEqual(
    [c.base.scope, c.cursor, c.fold, await shelf.base(), c.own.length],
    ['', { epoch: 'e', after: 0 }, null, null, 1],
  );
  assert.deepEqual(await shelf.pages({ epoch: 'e', after: 0 }), []);
});

test('a coater’s books are not touched, and keep their drafts', async () => {
  const shelf = new Shelf(new MemoryStore(), true);
  await held(shelf, 'ana', 'coater');
  await shelf.reset('e', []);
  await shelf.pulled({ epoch: 'e', after: 0 }, { epoch: 'e', after: 7 }, base, 1, plain, [], noProof);
  await shelf.saveDraft({ person: 'ana', key: 'weigh' }, { mass: '1' });
  await held(shelf, 'bo', 'coater');
  await shelf.shed(() => {
    throw new Error('nothing is to be cut');
  });
  assert.deepEqual(
    [(await shelf.pages({ epoch: 'e', after: 0 })).length, await shelf.draft({ person: 'ana', key: 'weigh' })],
    [1, { mass: '1' }],
  );
});
