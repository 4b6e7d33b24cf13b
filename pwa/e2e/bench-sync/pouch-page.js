import PouchDB from 'pouchdb-browser';
import indexeddb from 'pouchdb-adapter-indexeddb';

PouchDB.plugin(indexeddb);
const remote = () => new PouchDB(location.origin + '/db/entries');
let local;

window.peer = {
  async open(adapter) {
    local = new PouchDB('entries', { adapter });
    await local.info();
  },
  async fill(entries) {
    for (let i = 0; i < entries.length; i += 1000) await local.bulkDocs(entries.slice(i, i + 1000).map(({ id, ...rest }) => ({ _id: id, ...rest })));
  },
  async push(options) {
    const from = performance.now();
    const r = await local.replicate.to(remote(), options);
    if (!r.ok || r.doc_write_failures > 0) throw new Error(JSON.stringify(r));
    return performance.now() - from;
  },
  async pull(options) {
    const from = performance.now();
    const r = await local.replicate.from(remote(), options);
    if (!r.ok || r.doc_write_failures > 0) throw new Error(JSON.stringify(r));
    return performance.now() - from;
  },
  count: async () => (await local.info()).doc_count,
};
