// A plain endpoint for RxDB's replication: a batch is one append to a file and one
// fsync; the answer follows it. Pull gives what comes after a place in that file.
// argv: folder, folder of the page.
import express from 'express';
import { open } from 'node:fs/promises';

const [folder, page] = process.argv.slice(2);
const file = await open(folder + '/log.jsonl', 'a');
const log = [],
  ids = new Set();
let last = Promise.resolve();

// take writes a batch durably, one batch after the other.
function take(docs) {
  const turn = last.then(async () => {
    const fresh = docs.filter((d) => !ids.has(d.id));
    await file.appendFile(fresh.map((d) => JSON.stringify(d) + '\n').join(''));
    await file.sync();
    for (const d of fresh) {
      ids.add(d.id);
      log.push(d);
    }
  });
  last = turn.catch(() => undefined);
  return turn;
}

const app = express();
app.use('/page', express.static(page));
app.use(express.json({ limit: '64mb' }));
app.post('/push', (req, res, next) => {
  take(req.body.map((row) => row.newDocumentState)).then(() => res.json([]), next);
});
app.get('/pull', (req, res) => {
  const after = Number(req.query.after),
    documents = log.slice(after, after + Number(req.query.max));
  res.json({ documents, checkpoint: { after: after + documents.length } });
});
const server = app.listen(0, '127.0.0.1', () => console.log('at ' + server.address().port));
