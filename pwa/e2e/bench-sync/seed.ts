// Runs on a bare page of the shop's origin: fills the phone's real outbox in bulk, and
// reads it back with the phone's own code.
import { Shelf, type Sealed } from '../../src/worker/shelf';
import { IdbStore } from '../../src/worker/store';

interface Made {
  id: string;
  n: number;
  by: string;
  clock: { wall_ms: number };
}

const shelf = () => new Shelf(new IdbStore('hoppertally'), true);
const scope = window as unknown as Record<string, unknown>;

scope['seed'] = async (entries: readonly Made[]) => {
  const text = new TextEncoder(),
    store = shelf();
  const sealed: Sealed[] = entries.map((e) => ({
    row: {
      n: e.n,
      id: e.id,
      by: e.by,
      recorded_ms: e.clock.wall_ms,
      mark: '',
      seq: 0,
      effective_ms: 0,
      reason: '',
      late: false,
    },
    bytes: text.encode(JSON.stringify(e)),
  }));
  const done = await store.record('bench', { person: '', key: 'bench' }, Date.now(), (first) => {
    if (first !== 1) throw new Error(`the counter stands at ${first - 1}`);
    return sealed;
  });
  store.close();
  return done.ids.length;
};

scope['fates'] = async () => {
  const store = shelf(),
    count: Record<string, number> = {};
  for (const row of (await store.reread()).own) count[row.mark] = (count[row.mark] ?? 0) + 1;
  store.close();
  return count;
};

scope['cursor'] = async () => {
  const store = shelf(),
    { cursor } = await store.reread();
  store.close();
  return cursor;
};

// stored gives the time at which the log up to a place lies in the store. It looks often,
// and only at the cursor, so as not to stand in the way of the program's own writes.
scope['stored'] = async (after: number) => {
  const store = new IdbStore('hoppertally');
  const cursor = () =>
    store.run(['meta'], 'readonly', (tx) => tx.get('meta', 'cursor')) as Promise<{ after: number } | undefined>;
  for (; ((await cursor())?.after ?? 0) < after;) await new Promise((ok) => setTimeout(ok, 5));
  store.close();
  return performance.now();
};
