import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import type { Reply } from './net';
import { Snapshots } from './snapshot';

const text = new TextEncoder();
const pieces = Array.from({ length: 8 }, (_, i) => text.encode(`piece ${i}`));
const sums = pieces.map((p) => createHash('sha256').update(p).digest('hex'));
const kinds = sums.map((_, i) => (i < 2 ? 'state' : 'page'));
const answer = (bytes: Uint8Array): Reply => ({ kind: 'answer', status: 200, bytes, server: 's' });
const none = new Uint8Array();
const list = answer(text.encode(JSON.stringify({ pieces: sums.map((sha256, i) => ({ kind: kinds[i], sha256 })) })));

function server(change: (i: number) => Reply | null | Promise<null>) {
  const asked: number[] = [],
    read: number[] = [];
  let most = 0,
    underWay = 0;
  const snapshots = new Snapshots(
    async (path) => {
      const i = sums.findIndex((s) => path.endsWith('/' + s));
      if (i < 0) return list;
      asked.push(i);
      most = Math.max(most, ++underWay);
      const reply = (await change(i)) ?? answer(pieces[i] ?? none);
      underWay--;
      return reply;
    },
    (piece, bytes) => {
      const i = sums.indexOf(piece.sha256);
      assert.deepEqual([piece.kind, bytes], [kinds[i], pieces[i]]);
      read.push(i);
      return true;
    },
  );
  return {
    asked,
    read,
    snapshots,
    fetch: () => snapshots.fetch(0, '', 1000, () => 0),
    most: () => most,
    again: () => {
      most = 0;
      asked.length = 0;
    },
  };
}

test('the pieces come in the order of the list, each asked for once', async () => {
  const s = server(() => null),
    got = await s.fetch();
  assert.ok(got.kind === 'whole');
  assert.deepEqual([new TextDecoder().decode(got.state), got.pages], ['piece 0piece 1', pieces.slice(2)]);
  assert.equal(s.asked.length, pieces.length);
});

test('a piece that is not what its hash says is not taken', async () => {
  const s = server((i) => (i === 5 ? answer(text.encode('piece 6')) : null));
  assert.deepEqual(await s.fetch(), { kind: 'failed', why: 'no_server', retryMs: 0 });
  await s.snapshots.finish();
  assert.ok(!s.read.includes(5));
});

test('what has come is not asked for again after the line broke, and then one piece at a time is', async () => {
  let isBroken = true;
  const s = server((i) => (isBroken && i === 6 ? { kind: 'none', why: 'broken' } : null));
  assert.equal((await s.fetch()).kind, 'failed');
  const first = new Set(s.asked);
  assert.ok(s.most() > 1, 'pieces come together on a good line');
  isBroken = false;
  s.again();
  assert.equal((await s.fetch()).kind, 'whole');
  assert.ok(
    [0, 1, 2, 3].every((i) => first.has(i) && !s.asked.includes(i)),
    `asked again for ${s.asked}`,
  );
  assert.equal(s.most(), 1);
});

test('what the core has not read yet it reads in the end, each piece once', async () => {
  const s = server(() => null);
  await s.fetch();
  await s.snapshots.finish();
  await s.snapshots.finish();
  assert.deepEqual(
    s.read.toSorted(),
    pieces.map((_, i) => i),
  );
});

test('on a slow line the core reads while nothing comes', async () => {
  let rest = () => {};
  const held = new Promise<null>((ok) => {
    rest = () => ok(null);
  });
  const s = server((i) => (i === 7 ? held : null)),
    whole = s.fetch();
  while (s.read.length < 7) await new Promise((ok) => setTimeout(ok, 5));
  rest();
  assert.equal((await whole).kind, 'whole');
  assert.ok(!s.read.includes(7));
});

test('of two fetches at once neither takes a piece for there that the other let go of', async () => {
  let letGo = (): void => undefined;
  const isSlow = new Promise<null>((ok) => {
    letGo = () => ok(null);
  });
  let nth = 0;
  const s = server((i) => (i === 7 && nth++ === 1 ? isSlow : null));
  const first = await s.fetch();
  assert.equal(first.kind, 'whole');
  s.snapshots.forget();
  const second = s.fetch(); // the last piece is on its way
  await new Promise((ok) => setTimeout(ok, 20));
  s.snapshots.forget(); // by whoever had asked before
  letGo();
  assert.deepEqual(await second, { kind: 'failed', why: 'busy', retryMs: 0 });
  assert.equal((await s.fetch()).kind, 'whole');
});
