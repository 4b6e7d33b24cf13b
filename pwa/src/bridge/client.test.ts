import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { FromWorker, ToWorker } from '../shared/messages';
import type { Problem, Status } from './api';
import { Client, coreOver, type Port } from './client';

class FakeWorker implements Port {
  sent: ToWorker[] = [];
  isClosed = false;
  say: (m: FromWorker) => void = () => undefined;
  die: (why: string) => void = () => undefined;
  post(m: ToWorker): void {
    this.sent.push(m);
  }
  listen(onMessage: (m: FromWorker) => void, onDeath: (why: string) => void): void {
    this.say = onMessage;
    this.die = onDeath;
  }
  close(): void {
    this.isClosed = true;
  }
  calls() {
    return this.sent.filter((m) => m.type === 'call');
  }
}

function setUp() {
  const workers: FakeWorker[] = [];
  let n = 0;
  const client = new Client({
    open: () => {
      const w = new FakeWorker();
      workers.push(w);
      return w;
    },
    newRequest: () => `r${++n}`,
    silenceMs: 1_000,
    graceMs: 500,
    restartsMax: 2,
  });
  const last = () => {
    const w = workers.at(-1);
    assert.ok(w);
    return w;
  };
  return { client, core: coreOver(client), workers, last };
}

const failing = (p: Promise<unknown>) =>
  p.then(
    () => {
      throw new Error('it resolved');
    },
    (e: Problem) => e.code,
  );

test('answers find their calls, in any order', async () => {
  const { core, last } = setUp();
  const a = core.text('mass', 1),
    b = core.text('mass', 2);
  const [first, second] = last().calls();
  assert.ok(first && second);
  last().say({ type: 'done', id: second.id, value: 'two' });
  last().say({ type: 'done', id: first.id, value: 'one' });
  assert.deepEqual([await a, await b], ['one', 'two']);
});

test('a dead worker is replaced and the record goes again under its own request', async () => {
  const { core, workers, last } = setUp();
  const saved = core.record('weigh', { place: 'h1' }, '');
  const before = last().calls()[0];
  last().die('crash');
  const again = last().calls()[0];
  assert.ok(before && again && workers.length === 2 && workers[0]?.isClosed);
  assert.equal(again.request, before.request);
  last().say({ type: 'done', id: again.id, value: { ids: ['x'], savedMs: 1 } });
  assert.deepEqual(await saved, { ids: ['x'], savedMs: 1 });
});

test('a second try at recording the same goes under the id of the first', () => {
  const { core, last } = setUp();
  void core.record('weigh', { place: 'h1' }, '', { attempt: 'a1' });
  void core.record('weigh', { place: 'h1' }, '', { attempt: 'a1' });
  void core.record('weigh', { place: 'h1' }, '');
  const ids = last()
    .calls()
    .map((c) => c.request);
  assert.deepEqual(ids.slice(0, 2), ['a1', 'a1']);
  assert.notEqual(ids[2], 'a1');
});

test('a worker that could not open the store is replaced once it can, and the page is told', async () => {
  const { client, core, workers, last } = setUp();
  const told: boolean[] = [];
  client.onHeld((isHeld) => told.push(isHeld));
  const boot = core.boot();
  last().say({ type: 'held', isHeld: true });
  for (let i = 0; i < 9; i++) last().say({ type: 'free' }); // however often: this is no crash
  assert.equal(workers.length, 10);
  const again = last().calls()[0];
  assert.ok(again);
  last().say({ type: 'done', id: again.id, value: 'here' });
  assert.equal(await boot, 'here');
  assert.deepEqual([told.at(0), told.at(1), told.at(-1)], [false, true, false]);
});

test('signing in is not sent twice', async () => {
  const { core, last } = setUp();
  const end = failing(core.signIn({ code: 'x' }));
  last().die('crash');
  assert.equal(await end, 'worker_restarted');
  assert.equal(last().calls().length, 0);
});

test('a silent worker is asked whether it lives, and replaced when it does not say so', () => {
  const { client, core, workers, last } = setUp();
  void core.view('booth', {});
  const now = Date.now();
  client.watch(now + 900);
  assert.equal(
    last().sent.some((m) => m.type === 'ping'),
    false,
  );
  client.watch(now + 1_100);
  const ping = last().sent.find((m) => m.type === 'ping');
  assert.ok(ping && 'id' in ping);
  client.watch(now + 1_500);
  assert.equal(workers.length, 1);
  client.watch(now + 1_700);
  assert.equal(workers.length, 2);
  assert.equal(last().calls().length, 1);
});

test('a worker that is only busy is left alone', () => {
  const { client, core, workers, last } = setUp();
  void core.view('booth', {});
  const now = Date.now();
  client.watch(now + 1_100);
  const ping = last().sent.find((m) => m.type === 'ping');
  assert.ok(ping && 'id' in ping);
  last().say({ type: 'pong', id: ping.id });
  client.watch(now + 1_700);
  assert.equal(workers.length, 1);
});

test('a worker that keeps dying is given up, and every call says so', async () => {
  const { core, workers, last } = setUp();
  const end = failing(core.view('booth', {}));
  for (let i = 0; i < 3; i++) last().die('crash');
  assert.equal(await end, 'worker_dead');
  assert.equal(workers.length, 3);
});

test('watchers get the present status at once and then every change', () => {
  const { core, last } = setUp();
  const status: Status = {
    rev: 1,
    unsent: 0,
    oldestUnsentMs: null,
    online: 'unknown',
    signedIn: false,
    sessionEnded: false,
    lastSyncMs: null,
    storage: 'ok',
    attention: 0,
    windowMs: null,
    cutMs: null,
    newerClientNeeded: false,
    seats: [],
    waiting: [],
    isShutOut: false,
    upkeep: { isFull: false, backupMs: null, isBackupFailed: false },
  };
  last().say({ type: 'status', status });
  const seen: number[] = [];
  const stop = core.onChange((s) => seen.push(s.rev));
  last().say({ type: 'status', status: { ...status, rev: 2 } });
  stop();
  last().say({ type: 'status', status: { ...status, rev: 3 } });
  assert.deepEqual(seen, [1, 2]);
});

test('a late word of a replaced worker is not heard', async () => {
  const { core, workers, last } = setUp();
  const text = core.text('mass', 1);
  const id = last().calls()[0]?.id ?? 0;
  last().die('crash');
  workers[0]?.say({ type: 'done', id, value: 'old' });
  last().say({ type: 'done', id, value: 'new' });
  assert.equal(await text, 'new');
});
