// PouchDB's own HTTP server over its LevelDB adapter, as its documentation sets it up.
// argv: folder, folder of the page.
import express from 'express';
import expressPouch from 'express-pouchdb';
import leveldb from 'pouchdb-adapter-leveldb';
import PouchDB from 'pouchdb-core';
import mapreduce from 'pouchdb-mapreduce';
import replication from 'pouchdb-replication';

const [folder, page] = process.argv.slice(2);
const Db = PouchDB.plugin(leveldb)
  .plugin(mapreduce)
  .plugin(replication)
  .defaults({ prefix: folder + '/', adapter: 'leveldb' });
const app = express();
app.use('/page', express.static(page));
app.use('/db', expressPouch(Db, { mode: 'minimumForPouchDB', inMemoryConfig: true, logPath: folder + '/log' }));
const server = app.listen(0, '127.0.0.1', () => console.log('at ' + server.address().port));
