import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Account } from './account';
import { MemoryStore } from './memory-store';
import { Net } from './net';
import { Tokens } from './session';
import { Shelf } from './shelf';

const grant = { access: 'a', expires_in: 900, person: { id: 'ada', name: 'Ada', role: 'coater' }, server_id: 'srv-2', epoch: 'e' };

function setUp(answer: (path: string) => Response) {
  const net = new Net(async (path) => answer(String(path)));
  net.server = 'srv-1';
  const tokens = new Tokens(net, (run) => run()), shelf = new Shelf(new MemoryStore(), true);
  return { net, tokens, shelf, account: new Account(net, tokens, shelf) };
}

const json = (body: unknown, status = 200, server = 'srv-2') =>
  new Response(status === 204 ? null : JSON.stringify(body), { status, headers: { 'Content-Type': status < 400 ? 'application/json' : 'application/problem+json', 'X-Hoppertally': server } });

test('a person may bring the phone to another server, and the session is kept', async () => {
  const { account, shelf, tokens } = setUp(() => json(grant));
  const session = await account.enter('/api/v1/session', { code: 'x' });
  assert.deepEqual(session, { person: grant.person, server: 'srv-2', isSignedIn: true });
  assert.deepEqual((await shelf.reread()).session, session);
  assert.equal(tokens.has, true);
});

test('a wrong code keeps the known server and the old session', async () => {
  const { account, shelf, net } = setUp(() => json({ code: 'session.code', title: 't' }, 401));
  await assert.rejects(account.enter('/api/v1/session', { code: 'x' }), (e: { problem: { code: string } }) => e.problem.code === 'session.code');
  assert.equal(net.server, 'srv-1');
  assert.equal((await shelf.reread()).session.isSignedIn, false);
});

test('signing out works without a server and keeps what was recorded', async () => {
  const { account, shelf, tokens } = setUp(() => { throw new TypeError('gone'); });
  await shelf.record('r', 'weigh', 1, (n) => [{ row: { n, id: 'i', recorded_ms: 1, mark: '', seq: 0, effective_ms: 0, reason: '', late: false }, bytes: new Uint8Array([1]) }]);
  const session = await account.signOut({ person: { id: 'ada', name: 'Ada', role: 'coater' }, server: 'srv-1', isSignedIn: true });
  assert.deepEqual(session, { person: null, server: 'srv-1', isSignedIn: false });
  assert.equal((await shelf.reread()).own.length, 1);
  assert.equal(tokens.has, false);
});

test('no answer is no verdict about setting up', async () => {
  assert.equal(await setUp(() => { throw new TypeError('gone'); }).account.needsSetUp(), null);
  assert.equal(await setUp(() => json({ needed: true }, 200, 'srv-1')).account.needsSetUp(), true);
  assert.equal(await setUp(() => json({ needed: false }, 200, 'srv-1')).account.needsSetUp(), false);
});
