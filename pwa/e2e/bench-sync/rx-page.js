import { createRxDatabase } from 'rxdb/plugins/core';
import { replicateRxCollection } from 'rxdb/plugins/replication';
import { getRxStorageDexie } from 'rxdb/plugins/storage-dexie';

const text = { type: 'string', maxLength: 64 };
const schema = {
  version: 0, primaryKey: 'id', type: 'object',
  properties: {
    id: text, kind: text, v: { type: 'integer' }, by: text, device: text, n: { type: 'integer' }, at: text,
    clock: { type: 'object' }, seen: { type: 'object' }, group: text, body: { type: 'object' },
  },
  required: ['id', 'kind', 'by', 'device', 'n', 'at', 'body'],
};
let local;

// replicate runs until RxDB says that both directions it was given are in step.
async function replicate(sides) {
  const from = performance.now();
  const state = replicateRxCollection({ collection: local, replicationIdentifier: 'bench', live: false, retryTime: 1000, ...sides });
  let fault = null;
  state.error$.subscribe((e) => { fault ??= e; });
  await state.awaitInitialReplication();
  await state.awaitInSync();
  const took = performance.now() - from;
  await state.cancel();
  if (fault !== null) throw new Error(String(fault));
  return took;
}

window.peer = {
  async open() {
    const db = await createRxDatabase({ name: 'entries', storage: getRxStorageDexie(), multiInstance: false });
    local = (await db.addCollections({ entries: { schema } })).entries;
  },
  async fill(entries) {
    for (let i = 0; i < entries.length; i += 1000) {
      const r = await local.bulkInsert(entries.slice(i, i + 1000));
      if (r.error.length > 0) throw new Error(JSON.stringify(r.error[0]));
    }
  },
  push: ({ batchSize }) => replicate({ push: {
    batchSize,
    handler: async (rows) => (await fetch('/push', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(rows) })).json(),
  } }),
  pull: ({ batchSize }) => replicate({ pull: {
    batchSize,
    handler: async (checkpoint, max) => (await fetch(`/pull?after=${checkpoint?.after ?? 0}&max=${max}`)).json(),
  } }),
  count: () => local.count().exec(),
};
