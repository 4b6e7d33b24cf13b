import assert from 'node:assert/strict';
import { test } from 'node:test';
import { greeting } from './driver';
import { Leader, staleMs } from './leader';
import { headOf } from './live';
import { failureOf, Net } from './net';
import { Tokens } from './session';

const json = (body: unknown, init: { status?: number; server?: string | null; type?: string; retry?: string } = {}) => {
  const headers = new Headers({ 'Content-Type': init.type ?? 'application/json' });
  if (init.server !== null) headers.set('X-Hoppertally', init.server ?? 'srv-1');
  if (init.retry !== undefined) headers.set('Retry-After', init.retry);
  return new Response(typeof body === 'string' ? body : JSON.stringify(body), { status: init.status ?? 200, headers });
};
const problem = (status: number, code: string, retry?: string) =>
  json(
    { code, title: 't', status },
    { status, type: 'application/problem+json', ...(retry === undefined ? {} : { retry }) },
  );

const replies: [string, Response | Error, string][] = [
  ['our own answer', json({}), 'answer'],
  ['a login page', new Response('<html>', { headers: { 'Content-Type': 'text/html' } }), 'none'],
  ['a login page behind a proxy that keeps our mark', json('<html>', { type: 'text/html' }), 'none'],
  ['an empty answer', new Response(''), 'none'],
  ['another server of our kind', json({}, { server: 'srv-2' }), 'none'],
  ['an answer without our mark', json({}, { server: null }), 'none'],
  ['a broken line', new TypeError('failed to fetch'), 'none'],
  ['our own refusal', problem(422, 'request.field'), 'problem'],
  ['a refusal that is no JSON', json('no', { status: 500, type: 'application/problem+json' }), 'none'],
  ["a proxy's error page", new Response('bad gateway', { status: 502 }), 'none'],
];

for (const [name, answer, want] of replies) {
  test(`${name} is ${want}`, async () => {
    const net = new Net(async () => {
      if (answer instanceof Error) throw answer;
      return answer;
    });
    net.server = 'srv-1';
    assert.equal((await net.ask('/x', { timeoutMs: 100 })).kind, want);
  });
}

test('no request follows a redirect, uses a cache or runs without a deadline', async () => {
  let seen: RequestInit | undefined;
  const net = new Net(async (_, init) => {
    seen = init;
    return json({});
  });
  await net.ask('/x', { timeoutMs: 100 });
  assert.equal(seen?.redirect, 'error');
  assert.equal(seen.cache, 'no-store');
  assert.ok(seen.signal instanceof AbortSignal);
});

test('a request that hangs ends at its deadline', async () => {
  const net = new Net(
    (_, init) =>
      new Promise((_ok, no) => {
        init?.signal?.addEventListener('abort', () => no(init.signal?.reason));
      }),
  );
  const awake = setTimeout(() => undefined, 5_000); // Node's own deadline timers keep nothing alive
  assert.deepEqual(await net.ask('/x', { timeoutMs: 20 }), { kind: 'none', why: 'TimeoutError' });
  clearTimeout(awake);
});

test('refusals are sorted by what to do next', async () => {
  for (const [status, want] of [
    [401, 'token_old'],
    [426, 'too_old'],
    [421, 'no_server'],
    [409, 'epoch_gone'],
    [429, 'busy'],
    [503, 'busy'],
    [500, 'busy'],
    [408, 'busy'],
    [413, 'refused'],
    [400, 'refused'],
    [403, 'refused'],
  ] as const) {
    const reply = await new Net(async () => problem(status, 'c', '7')).ask('/x', { timeoutMs: 100 });
    assert.ok(reply.kind !== 'answer');
    assert.equal(failureOf(reply).why, want, String(status));
    if (want === 'busy') assert.equal(failureOf(reply).retryMs, 7_000);
  }
});

const grant = {
  access: 'a1',
  expires_in: 900,
  person: { id: 'p', name: 'P', role: 'coater' },
  server_id: 'srv-1',
  epoch: 'e',
};
const inTurn = <T>(run: () => Promise<T>) => run();

test('a network failure while refreshing never ends the session', async () => {
  for (const answer of [
    () => {
      throw new TypeError('gone');
    },
    () => new Response('<html>'),
    () => problem(503, 'server.busy'),
    () => problem(429, 'session.slow'),
  ]) {
    const tokens = new Tokens(new Net(async () => answer()), inTurn);
    assert.equal((await tokens.refresh('p', 100)).kind, 'failed');
  }
  const refused = new Tokens(new Net(async () => problem(401, 'session.ended')), inTurn);
  assert.equal((await refused.refresh('p', 100)).kind, 'ended');
});

test('many callers share one refresh, and a 401 drops the token', async () => {
  const asked: string[] = [];
  const net = new Net(async (path) => {
    asked.push(String(path));
    return String(path).includes('refresh') ? json(grant) : problem(401, 'token.expired');
  });
  const tokens = new Tokens(net, inTurn);
  await Promise.all([tokens.ask('p', '/a', { timeoutMs: 100 }), tokens.ask('p', '/b', { timeoutMs: 100 })]);
  assert.deepEqual(asked.filter((p) => p.includes('refresh')).length, 1);
  assert.equal(tokens.has('p'), false);
});

test('a poke is a whole number and nothing else', () => {
  assert.equal(headOf('{"head":7}'), 7);
  for (const bad of ['', 'x', '{"head":-1}', '{"head":"7"}', '{"head":1.5}', 'null'])
    assert.equal(headOf(bad), null, bad);
});

test('a hello that makes no sense asks for nothing', () => {
  const of = (s: string) => greeting(new TextEncoder().encode(s));
  assert.deepEqual(of('{"min_client":"2","now_ms":5}'), { oldest: 2, nowMs: 5, upkeep: {}, isShut: false });
  assert.deepEqual(of('{"min_client":"dev"}'), { oldest: 0, nowMs: null, upkeep: {}, isShut: false });
  assert.deepEqual(of('<html>'), { oldest: 0, nowMs: null, upkeep: {}, isShut: false });
  assert.deepEqual(of('{"backup_at":7,"backup_failed":true}').upkeep, { backupMs: 7, isBackupFailed: true });
  assert.equal(of('{"revoked":true}').isShut, true);
});

// A lock shared by windows of one phone, as Web Locks are.
class Locks {
  holder: { reject: (e: Error) => void } | null = null;
  queue: (() => void)[] = [];
  request(_name: string, options: LockOptions, hold: () => Promise<unknown>): Promise<unknown> {
    return new Promise((resolve, reject) => {
      const grant = () => {
        const me = { reject };
        this.holder = me;
        void hold().then((v) => {
          if (this.holder === me) {
            this.holder = null;
            this.queue.shift()?.();
          }
          resolve(v);
        });
      };
      if (options.steal) {
        this.holder?.reject(new Error('stolen'));
        grant();
      } else if (this.holder === null) grant();
      else this.queue.push(grant);
    });
  }
}

test('one window leads; a visible one takes over from a leader that no longer beats', async () => {
  const locks = new Locks(),
    at = { now: 0 };
  const make = () => {
    const said: boolean[] = [];
    return {
      said,
      leader: new Leader({
        locks: locks as never,
        say: () => undefined,
        now: () => at.now,
        changed: (is) => said.push(is),
      }),
    };
  };
  const a = make(),
    b = make();
  a.leader.start();
  b.leader.start();
  await Promise.resolve();
  assert.deepEqual([a.leader.isLeader, b.leader.isLeader], [true, false]);
  at.now += staleMs;
  b.leader.tick();
  assert.equal(b.leader.isLeader, false, 'not before the time is over');
  b.leader.setVisible(false);
  at.now += 5_000;
  b.leader.tick();
  assert.equal(b.leader.isLeader, false, 'a hidden window leaves it');
  b.leader.setVisible(true);
  b.leader.tick();
  await new Promise((ok) => setTimeout(ok, 5));
  assert.deepEqual([a.leader.isLeader, b.leader.isLeader], [false, true]);
  b.leader.stop();
  await new Promise((ok) => setTimeout(ok, 5));
  assert.deepEqual([a.leader.isLeader, b.leader.isLeader], [true, false], 'the first is next in the queue');
});

test('a large body goes out packed, a small one as it is', async () => {
  let seen: RequestInit | undefined;
  const net = new Net(async (_, init) => {
    seen = init;
    return json({});
  });
  const large = new TextEncoder().encode(
    JSON.stringify(Array.from({ length: 200 }, (_, i) => ({ id: i, kind: 'place.weighed' }))),
  );
  const head = () => new Headers(seen?.headers).get('Content-Encoding');
  await net.ask('/x', { method: 'POST', body: large, timeoutMs: 1000 });
  assert.equal(head(), 'gzip');
  const sent = seen?.body as Uint8Array<ArrayBuffer>;
  assert.ok(sent.length * 4 < large.length, `${large.length} bytes packed into ${sent.length}`);
  const back = new Blob([sent]).stream().pipeThrough(new DecompressionStream('gzip'));
  assert.deepEqual(new Uint8Array(await new Response(back).arrayBuffer()), large);
  await net.ask('/x', { method: 'POST', body: large.slice(0, 1000), timeoutMs: 1000 });
  assert.equal(head(), null);
});
