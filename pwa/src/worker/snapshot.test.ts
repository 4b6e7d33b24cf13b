import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import type { Reply } from './net';
import { Snapshots } from './snapshot';

const text = new TextEncoder();
const pieces = Array.from({ length: 8 }, (_, i) => text.encode(`piece ${i}`));
const sums = pieces.map((p) => createHash('sha256').update(p).digest('hex'));
const answer = (bytes: Uint8Array): Reply => ({ kind: 'answer', status: 200, bytes, server: 's' });
const none = new Uint8Array();
const list = answer(text.encode(JSON.stringify({ pieces: sums.map((sha256) => ({ sha256 })) })));

function server(change: (i: number) => Reply | null) {
  const asked: number[] = [];
  const snapshots = new Snapshots(async (path) => {
    const i = sums.findIndex((s) => path.endsWith('/' + s));
    if (i < 0) return list;
    asked.push(i);
    return change(i) ?? answer(pieces[i] ?? new Uint8Array());
  });
  return { asked, fetch: () => snapshots.fetch(0, '', 1000, () => 0) };
}

test('the pieces come in the order of the list, each asked for once', async () => {
  const s = server(() => null), got = await s.fetch();
  assert.ok(got.kind === 'whole');
  assert.deepEqual(got.pieces, pieces);
  assert.equal(s.asked.length, pieces.length);
});

test('a piece that is not what its hash says is not taken', async () => {
  const got = await server((i) => (i === 5 ? answer(text.encode('piece 6')) : null)).fetch();
  assert.deepEqual(got, { kind: 'failed', why: 'no_server', retryMs: 0 });
});

test('what has come is not asked for again after the line broke', async () => {
  let isBroken = true;
  const s = server((i) => (isBroken && i === 4 ? { kind: 'none', why: 'broken' } : null));
  assert.equal((await s.fetch()).kind, 'failed');
  const first = new Set(s.asked);
  isBroken = false;
  s.asked.length = 0;
  assert.equal((await s.fetch()).kind, 'whole');
  assert.ok([0, 1, 2, 3].every((i) => first.has(i) && !s.asked.includes(i)), `asked again for ${s.asked}`);
});

test('pages are read as they come, and their bytes stay where they were read', async () => {
  const kinds = sums.map((_, i) => (i < 2 ? 'state' : 'page')), read: string[] = [];
  const listed = answer(text.encode(JSON.stringify({ pieces: sums.map((sha256, i) => ({ kind: kinds[i], sha256 })) })));
  const snapshots = new Snapshots(
    (path) => Promise.resolve(sums.some((s) => path.endsWith('/' + s)) ? answer(pieces[sums.findIndex((s) => path.endsWith('/' + s))] ?? none) : listed),
    (sum) => { read.push(sum); return sum !== sums[7]; },
  );
  const got = await snapshots.fetch(0, '', 1000, () => 0);
  assert.ok(got.kind === 'whole');
  assert.deepEqual(new Set(read), new Set(sums.slice(2)));
  assert.deepEqual(got.pieces, pieces.map((p, i) => (i < 2 || i === 7 ? p : none)));
});
