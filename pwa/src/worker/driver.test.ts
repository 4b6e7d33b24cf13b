import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Driver, type DriverPorts } from './driver';
import { MemoryStore } from './memory-store';
import { Shelf } from './shelf';

const noProof = { epoch: '', seq: 0, text: '' };

// A driver over a core that only notes what it hears, and a store that can be made
// to fail when it is read.
function driven() {
  const heard: string[] = [],
    at = { isDown: false, pulled: 0, told: 0 };
  const shelf = new Shelf(new MemoryStore(), true);
  const read = shelf.reread.bind(shelf);
  shelf.reread = () => (at.isDown ? Promise.reject(new DOMException('connection lost', 'UnknownError')) : read());
  const core = (_op: string, args: object) => {
    heard.push((args as { input: { type: string } }).input.type);
    return { json: [], blobs: [] };
  };
  const driver = new Driver({
    core,
    shelf,
    changed: () => undefined,
    pulled: () => {
      at.pulled++;
    },
    stored: () => {
      at.told++;
    },
    live: { close: () => undefined },
  } as unknown as DriverPorts);
  return { driver, shelf, heard, at };
}

test('a store that cannot be read back leaves a doubt, so that the replica asks again', async () => {
  const { driver, heard, at } = driven();
  at.isDown = true;
  await driver.reread();
  assert.deepEqual(heard, ['unsure']);
  at.isDown = false;
  await driver.reread();
  assert.deepEqual(heard, ['unsure', 'reread']);
});

test('a page that was thought lost and is in the store goes into the books too', async () => {
  const { driver, shelf, at } = driven();
  await driver.reread();
  assert.equal(at.pulled, 0, 'the books were opened from this very store');
  const none = { epoch: '', after: 0 };
  await shelf.pulled(
    none,
    { epoch: 'e', after: 3 },
    { seq: 0, floor_ms: 0, tail: 0, scope: 'plain' },
    1,
    new Uint8Array(),
    [],
    noProof,
  );
  await driver.reread(true);
  assert.deepEqual([at.pulled, at.told], [1, 1], 'the other windows hear of it too');
  await driver.reread(true);
  assert.deepEqual([at.pulled, at.told], [1, 1]);
});

test('a snapshot that was thought lost is told too, also one that ends where the pages did', async () => {
  const { driver, shelf, at } = driven();
  const base = { seq: 0, floor_ms: 0, tail: 0, scope: 'plain' },
    end = { epoch: 'e', after: 3 };
  await shelf.pulled({ epoch: '', after: 0 }, end, base, 1, new Uint8Array(), [], noProof);
  await driver.reread();
  await shelf.based(
    end,
    end,
    { epoch: 'e', base: { ...base, seq: 3, floor_ms: 9 }, state: new Uint8Array(), pages: [] },
    noProof,
  );
  await driver.reread(true);
  assert.deepEqual([at.pulled, at.told], [1, 1], 'the other windows stand on the old one');
});
