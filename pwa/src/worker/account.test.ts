import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Account } from './account';
import { MemoryStore } from './memory-store';
import { Net } from './net';
import { Tokens } from './session';
import { Seats } from './seats';
import { Shelf } from './shelf';

const grant = {
  access: 'a',
  expires_in: 900,
  person: { id: 'ada', name: 'Ada', role: 'coater' },
  server_id: 'srv-2',
  epoch: 'e',
};

function setUp(answer: (path: string) => Response) {
  const net = new Net(async (path) => answer(String(path)));
  net.server = 'srv-1';
  const tokens = new Tokens(net, (run) => run()),
    shelf = new Shelf(new MemoryStore(), true);
  const seats = new Seats({ shelf, now: () => 0, noise: (n) => new Uint8Array(n), changed: () => undefined });
  return { net, tokens, shelf, seats, account: new Account(net, tokens, seats, () => Promise.resolve()) };
}

const json = (body: unknown, status = 200, server = 'srv-2') =>
  new Response(status === 204 ? null : JSON.stringify(body), {
    status,
    headers: {
      'Content-Type': status < 400 ? 'application/json' : 'application/problem+json',
      'X-Hoppertally': server,
    },
  });

test('a person may bring the phone to another server, and the session is kept', async () => {
  const { account, shelf, tokens } = setUp(() => json(grant));
  await account.enter('/api/v1/session', { code: 'x' });
  const { session } = await shelf.reread();
  assert.deepEqual(session, { person: grant.person, server: 'srv-2', isSignedIn: true });
  assert.equal(tokens.has('ada'), true);
});

test('a wrong code keeps the known server and the old session', async () => {
  const { account, shelf, net } = setUp(() => json({ code: 'session.code', title: 't' }, 401));
  await assert.rejects(
    account.enter('/api/v1/session', { code: 'x' }),
    (e: { problem: { code: string } }) => e.problem.code === 'session.code',
  );
  assert.equal(net.server, 'srv-1');
  assert.equal((await shelf.reread()).session.isSignedIn, false);
});

test('signing out works without a server and keeps what was recorded', async () => {
  const { account, shelf, seats, tokens } = setUp(() => {
    throw new TypeError('gone');
  });
  await shelf.record('r', { person: 'ada', key: 'weigh' }, 1, (n) => [
    {
      row: {
        n,
        id: 'i',
        by: 'ada',
        recorded_ms: 1,
        mark: '',
        epoch: '',
        seq: 0,
        effective_ms: 0,
        reason: '',
        late: false,
      },
      bytes: new Uint8Array([1]),
    },
  ]);
  await seats.enter({ id: 'ada', name: 'Ada', role: 'coater' }, 'srv-1', false);
  await account.signOut();
  assert.deepEqual((await shelf.reread()).session, { person: null, server: 'srv-1', isSignedIn: false });
  assert.equal((await shelf.reread()).own.length, 1);
  assert.equal(tokens.has('ada'), false);
});

test('signing out tells the server whose session, for the access token may be over', async () => {
  const asked: string[] = [];
  const { account, seats, tokens, net } = setUp((path) => {
    asked.push(path);
    return path.includes('refresh') ? json(grant) : json(null, 204);
  });
  net.server = 'srv-2';
  await seats.enter({ id: 'ada', name: 'Ada', role: 'coater' }, 'srv-2', false);
  tokens.take({ ...grant, person: { id: 'ada', name: 'Ada', role: 'coater' } });
  await account.signOut();
  assert.deepEqual(asked, ['/api/v1/session?person=ada']);
});

test('no answer is no verdict about setting up', async () => {
  assert.equal(
    await setUp(() => {
      throw new TypeError('gone');
    }).account.door(),
    null,
  );
  assert.deepEqual(await setUp(() => json({ needed: true, left: [] }, 200, 'srv-1')).account.door(), {
    needsSetUp: true,
    left: [],
  });
  assert.deepEqual(await setUp(() => json({ needed: false }, 200, 'srv-1')).account.door(), {
    needsSetUp: false,
    left: [],
  });
});

test('addresses of before are taken as addresses or not at all', async () => {
  const left = [
    { origin: 'https://hopper.lan:8377', last_ms: 1 },
    { origin: 'javascript:alert(1)' },
    { origin: 'https://a/b' },
    { origin: 7 },
    null,
    'x',
  ];
  assert.deepEqual((await setUp(() => json({ needed: false, left }, 200, 'srv-1')).account.door())?.left, [
    'https://hopper.lan:8377',
  ]);
});

test('signing in and refreshing show the secret of the phone, and without one neither waits', async () => {
  for (const secret of ['made by the phone', '']) {
    const bodies: unknown[] = [];
    const net = new Net(async (_, init) => {
      bodies.push(JSON.parse(String(init?.body)));
      return json(grant);
    });
    const tokens = new Tokens(net, (run) => run()),
      shelf = new Shelf(new MemoryStore(), true);
    tokens.secret = () => Promise.resolve(secret);
    const seats = new Seats({ shelf, now: () => 0, noise: (n) => new Uint8Array(n), changed: () => undefined });
    await new Account(net, tokens, seats, () => Promise.resolve()).enter('/api/v1/session', { code: 'x' });
    await tokens.refresh('ada', 1000);
    assert.deepEqual(
      bodies.map((b) => (b as { device_secret?: string }).device_secret),
      secret === '' ? [undefined, undefined] : [secret, secret],
    );
  }
});

const mia = { id: 'mia', name: 'Mia', role: 'manager' } as const,
  ada = { id: 'ada', name: 'Ada', role: 'coater' } as const;

// asking is a server that notes how it is asked; it is down when answers gives null.
function asking(answers: (path: string) => Response | null) {
  const asked: string[] = [];
  const net = new Net(async (path, init) => {
    const answer = answers(String(path));
    if (answer === null) throw new TypeError('gone');
    asked.push(
      `${init?.method} ${String(path)} ${new Headers(init?.headers).get('Authorization') ?? 'cookie'} ${typeof init?.body === 'string' ? init.body : ''}`.trim(),
    );
    return answer;
  });
  net.server = 'srv-2';
  const tokens = new Tokens(net, (run) => run()),
    shelf = new Shelf(new MemoryStore(), true),
    sent: string[] = [];
  const seats = new Seats({ shelf, now: () => 0, noise: (n) => new Uint8Array(n), changed: () => undefined });
  tokens.listed = () => seats.ids;
  return {
    asked,
    sent,
    tokens,
    seats,
    account: new Account(net, tokens, seats, async (person) => {
      sent.push(person);
    }),
  };
}

test('a session for the moment is prolonged by its token, is not kept, and is told to the server at its end', async () => {
  const told: string[] = [];
  const { account, seats, tokens, asked, sent } = asking((path) =>
    path.endsWith('?person=mia')
      ? json(null, 204)
      : json({ ...grant, access: `t${asked.length}`, person: mia, moment: true }),
  );
  tokens.told = {
    fresh: () => undefined,
    over: (p) => seats.over(p),
    moment: (p, access) => {
      told.push(`${p} ${access}`);
    },
  };
  await seats.enter(ada, 'srv-2', false);
  await account.enter('/api/v1/session', { code: 'x', seats: seats.ids });
  assert.deepEqual([seats.moment, seats.holder], ['mia', 'mia']);
  await tokens.refresh('mia', 100);
  assert.equal(asked[1], 'POST /api/v1/session/refresh Bearer t0 {"person":"mia","seats":["ada","mia"]}');
  assert.deepEqual(told, ['mia t0', 'mia t1']);
  await account.close('mia');
  assert.deepEqual(
    [seats.ids, seats.holder, tokens.has('mia'), sent, asked[2]],
    [['ada'], '', false, ['mia'], 'DELETE /api/v1/session?person=mia Bearer t1'],
  );
});

test('without its token a session for the moment is over, and no cookie is asked', async () => {
  const { seats, tokens, asked } = asking(() => json(grant));
  tokens.told = { fresh: () => undefined, over: (p) => seats.over(p), moment: () => undefined };
  await seats.enter(mia, 'srv-2', true);
  tokens.takeMoment('mia', 'old');
  tokens.drop('mia'); // the server did not take it any more
  assert.equal((await tokens.refresh('mia', 100)).kind, 'ended');
  assert.deepEqual([asked, seats.isOver('mia')], [[], true]);
});

test('what a manager recorded is sent before somebody else signs in and ends that session', async () => {
  const { account, seats, sent, asked } = asking(() => json({ ...grant, person: ada }));
  await seats.enter(mia, 'srv-2', false);
  await account.enter('/api/v1/session', { code: 'x', seats: seats.ids });
  assert.deepEqual([sent, asked.length, seats.ids], [['mia'], 1, ['ada']]);
});

test('who signed out without a network is signed out at the server later', async () => {
  let isDown = true;
  const { account, seats, asked } = asking(() => (isDown ? null : json(null, 204)));
  await seats.enter(ada, 'srv-2', false);
  await account.signOut();
  await account.endRest();
  assert.deepEqual([seats.ids, seats.at.ending], [[], ['ada']]);
  isDown = false;
  await account.endRest();
  assert.deepEqual([asked, seats.at.ending], [['DELETE /api/v1/session?person=ada cookie'], []]);
});

test('a manager takes somebody off the phone: only the sessions on it end', async () => {
  const list = {
    sessions: [
      { id: 's1', device: 'here' },
      { id: 's2', device: 'there' },
      { id: 's3', device: 'here' },
    ],
  };
  const { account, seats, tokens, asked } = asking((path) =>
    path.endsWith('/sessions') ? json(list) : json(null, 204),
  );
  await seats.enter(ada, 'srv-2', false);
  await seats.enter(mia, 'srv-2', true);
  tokens.takeMoment('mia', 't');
  await account.takeOff('ada', 'here');
  assert.deepEqual(
    asked.slice(1).map((a) => a.split(' ')[1]),
    ['/api/v1/people/ada/sessions/s1', '/api/v1/people/ada/sessions/s3'],
  );
  assert.deepEqual([seats.ids, seats.holder, seats.at.ending], [['mia'], 'mia', []]);
});
