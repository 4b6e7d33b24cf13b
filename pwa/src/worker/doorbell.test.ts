import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Door } from './account';
import { Doorbell } from './doorbell';

const open: Door = { needsSetUp: false, left: [] };

function setUp() {
  const at = {
    door: null as Door | null,
    asked: 0,
    told: 0,
    isNeeded: true,
    later: [] as { run: () => void; ms: number }[],
  };
  const bell = new Doorbell({
    ask: async () => {
      at.asked++;
      return at.door;
    },
    isNeeded: () => at.isNeeded,
    changed: () => {
      at.told++;
    },
    later: (run, ms) => at.later.push({ run, ms }),
  });
  const next = async () => {
    at.later.shift()?.run();
    await new Promise(setImmediate);
  };
  return { at, bell, next };
}

test('before the first ring nothing is claimed', () => assert.equal(setUp().bell.heard, 'unknown'));

test('it rings on until somebody answers, then more seldom, and tells only what is new', async () => {
  const { at, bell, next } = setUp();
  assert.equal(await bell.ring(), null);
  assert.equal(bell.heard, 'no');
  await next();
  assert.deepEqual([at.asked, at.told], [2, 1]);
  at.door = open;
  await next();
  assert.equal(bell.heard, 'yes');
  assert.deepEqual([at.asked, at.told], [3, 2]);
  assert.ok((at.later[0]?.ms ?? 0) > 10_000);
});

test('it stops once somebody is signed in, and begins again when asked', async () => {
  const { at, bell, next } = setUp();
  await bell.ring();
  at.isNeeded = false;
  await next();
  assert.equal(at.later.length, 0);
  at.isNeeded = true;
  await bell.ring();
  assert.equal(at.later.length, 1);
});

test('two who ring at once are told by one answer, and rings do not multiply', async () => {
  const { at, bell } = setUp();
  await Promise.all([bell.ring(), bell.ring()]);
  assert.equal(at.asked, 1);
  await bell.ring();
  for (const { run } of at.later.splice(0)) run();
  assert.equal(at.asked, 3);
});
