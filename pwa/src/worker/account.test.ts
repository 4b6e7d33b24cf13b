import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Account } from './account';
import { MemoryStore } from './memory-store';
import { Net } from './net';
import { Tokens } from './session';
import { Seats } from './seats';
import { Shelf } from './shelf';

const grant = { access: 'a', expires_in: 900, person: { id: 'ada', name: 'Ada', role: 'coater' }, server_id: 'srv-2', epoch: 'e' };

function setUp(answer: (path: string) => Response) {
  const net = new Net(async (path) => answer(String(path)));
  net.server = 'srv-1';
  const tokens = new Tokens(net, (run) => run()), shelf = new Shelf(new MemoryStore(), true);
  const seats = new Seats({ shelf, now: () => 0, noise: (n) => new Uint8Array(n), changed: () => undefined });
  return { net, tokens, shelf, seats, account: new Account(net, tokens, seats) };
}

const json = (body: unknown, status = 200, server = 'srv-2') =>
  new Response(status === 204 ? null : JSON.stringify(body), { status, headers: { 'Content-Type': status < 400 ? 'application/json' : 'application/problem+json', 'X-Hoppertally': server } });

test('a person may bring the phone to another server, and the session is kept', async () => {
  const { account, shelf, tokens } = setUp(() => json(grant));
  await account.enter('/api/v1/session', { code: 'x' });
  const { session } = await shelf.reread();
  assert.deepEqual(session, { person: grant.person, server: 'srv-2', isSignedIn: true });
  assert.equal(tokens.has('ada'), true);
});

test('a wrong code keeps the known server and the old session', async () => {
  const { account, shelf, net } = setUp(() => json({ code: 'session.code', title: 't' }, 401));
  await assert.rejects(account.enter('/api/v1/session', { code: 'x' }), (e: { problem: { code: string } }) => e.problem.code === 'session.code');
  assert.equal(net.server, 'srv-1');
  assert.equal((await shelf.reread()).session.isSignedIn, false);
});

test('signing out works without a server and keeps what was recorded', async () => {
  const { account, shelf, seats, tokens } = setUp(() => { throw new TypeError('gone'); });
  await shelf.record('r', { person: 'ada', key: 'weigh' }, 1, (n) => [{ row: { n, id: 'i', by: 'ada', recorded_ms: 1, mark: '', epoch: '', seq: 0, effective_ms: 0, reason: '', late: false }, bytes: new Uint8Array([1]) }]);
  await seats.enter({ id: 'ada', name: 'Ada', role: 'coater' }, 'srv-1');
  await account.signOut();
  assert.deepEqual((await shelf.reread()).session, { person: null, server: 'srv-1', isSignedIn: false });
  assert.equal((await shelf.reread()).own.length, 1);
  assert.equal(tokens.has('ada'), false);
});

test('signing out tells the server whose session, for the access token may be over', async () => {
  const asked: string[] = [];
  const { account, seats, tokens, net } = setUp((path) => { asked.push(path); return path.includes('refresh') ? json(grant) : json(null, 204); });
  net.server = 'srv-2';
  await seats.enter({ id: 'ada', name: 'Ada', role: 'coater' }, 'srv-2');
  tokens.take({ ...grant, person: { id: 'ada', name: 'Ada', role: 'coater' } });
  await account.signOut();
  assert.deepEqual(asked, ['/api/v1/session?person=ada']);
});

test('no answer is no verdict about setting up', async () => {
  assert.equal(await setUp(() => { throw new TypeError('gone'); }).account.door(), null);
  assert.deepEqual(await setUp(() => json({ needed: true, left: [] }, 200, 'srv-1')).account.door(), { needsSetUp: true, left: [] });
  assert.deepEqual(await setUp(() => json({ needed: false }, 200, 'srv-1')).account.door(), { needsSetUp: false, left: [] });
});

test('addresses of before are taken as addresses or not at all', async () => {
  const left = [{ origin: 'https://hopper.lan:8377', last_ms: 1 }, { origin: 'javascript:alert(1)' }, { origin: 'https://a/b' }, { origin: 7 }, null, 'x'];
  assert.deepEqual((await setUp(() => json({ needed: false, left }, 200, 'srv-1')).account.door())?.left, ['https://hopper.lan:8377']);
});

test('signing in and refreshing show the secret of the phone, and without one neither waits', async () => {
  for (const secret of ['made by the phone', '']) {
    const bodies: unknown[] = [];
    const net = new Net(async (_, init) => { bodies.push(JSON.parse(String(init?.body))); return json(grant); });
    const tokens = new Tokens(net, (run) => run()), shelf = new Shelf(new MemoryStore(), true);
    tokens.secret = () => Promise.resolve(secret);
    const seats = new Seats({ shelf, now: () => 0, noise: (n) => new Uint8Array(n), changed: () => undefined });
    await new Account(net, tokens, seats).enter('/api/v1/session', { code: 'x' });
    await tokens.refresh('ada', 1000);
    assert.deepEqual(bodies.map((b) => (b as { device_secret?: string }).device_secret), secret === '' ? [undefined, undefined] : [secret, secret]);
  }
});
