// `make bench-sync`: 10 000 entries pushed until durably acknowledged, and pulled by a
// fresh client, by our program and by two general-purpose libraries, side by side.
//
// What is measured, alike for all:
//   push  from "there is a server again" until the side itself says that all are
//         acknowledged: ours until every entry is on the server's synced disk and
//         marked in the phone's store; the peers until their own replication is done
//   pull  on a new browser profile with an empty store: from the start until all are
//         durably stored there. The peers know nobody and have their database open;
//         ours opens a session first, by an invitation. The ratio that is wanted counts
//         that in; the one from being signed in, which compares the transfer alone, is
//         printed beside it. The peers are done then, their entries read one by one
//         when somebody asks. Ours goes on and folds them into the books: how long that
//         takes, with the sign-in, is printed too
// Fairness: the same entries, made anew for each round from one seed, lie in each
// side's own store first. Each side has its own server process and headless Chromium
// with a profile on disk, so IndexedDB is real everywhere. The peers run with the
// adapter and the batches that did best here: PouchDB with its `indexeddb` adapter and
// batches of 1000 (100 is its default and slower), RxDB with its Dexie storage and
// batches of 1000, against an endpoint that appends a batch and syncs the file before
// it answers. PouchDB's own HTTP server writes LevelDB without a sync for each batch;
// that is in its favour and left as it is. The sides take turns, so that a busy
// machine is busy for all; a round before the timed ones warms up and goes through a
// pipe that counts bytes, heads included.
import { peer } from './peer.mjs';

const count = Number(process.env.COUNT ?? 10_000),
  rounds = Number(process.env.ROUNDS ?? 3);
const wanted = { PouchDB: { push: 5, pull: 25 }, RxDB: { push: 5, pull: 10 } },
  upMax = 1_000_000;
const median = (of) => of.toSorted((a, b) => a - b)[of.length >> 1];
const ms = (n) => `${Math.round(n)} ms`.padStart(10);
const kb = (n) => `${(n / 1000).toFixed(0)} kB`.padStart(9);

const sides = [
  await import('./ours.mjs'),
  await peer({
    name: 'PouchDB',
    page: 'pouch-page.js',
    server: 'pouch-server.mjs',
    open: 'indexeddb',
    push: { batch_size: 1000, batches_limit: 10 },
    pull: { batch_size: 1000, batches_limit: 10 },
  }),
  await peer({
    name: 'RxDB',
    page: 'rx-page.js',
    server: 'rx-server.mjs',
    open: '',
    push: { batchSize: 1000 },
    pull: { batchSize: 1000 },
  }),
];

console.log(
  `${count} entries; push until acknowledged, pull by a fresh client; medians of ${rounds} rounds, the sides in turn`,
);
const bytes = new Map(),
  times = new Map(sides.map((s) => [s.name, []]));
for (let round = 0; round <= rounds; round++) {
  for (const side of sides) {
    const r = await side.run({ count, isCounted: round === 0 });
    if (round === 0) bytes.set(side.name, { up: r.up.up, down: r.down.down });
    else times.get(side.name).push(r);
    console.log(
      `  ${round === 0 ? 'warming up' : `round ${round}`}  ${side.name.padEnd(12)} push ${ms(r.push)}  pull ${ms(r.pull)}${r.books === undefined ? '' : `  from being signed in ${ms(r.signed)}  in the books ${ms(r.books)}`}`,
    );
  }
}

const of = (name, what) => median(times.get(name).map((r) => r[what]));
console.log('\n                  push       pull   bytes up (push)  bytes down (pull)');
for (const { name } of sides)
  console.log(
    `${name.padEnd(12)}${ms(of(name, 'push'))} ${ms(of(name, 'pull'))}        ${kb(bytes.get(name).up)}          ${kb(bytes.get(name).down)}`,
  );
let isMet = true;
const say = (text, is) => {
  isMet &&= is;
  console.log(`${is ? 'met ' : 'MISSED'}  ${text}`);
};
console.log('');
for (const [name, want] of Object.entries(wanted)) {
  for (const what of ['push', 'pull']) {
    const ratio = of(name, what) / of(sides[0].name, what);
    say(`${what} ${ratio.toFixed(1)} times ${name}, wanted ${want[what]}`, ratio >= want[what]);
  }
}
const [ours, ...peers] = sides.map((s) => s.name);
const beside = (text, what) =>
  console.log(
    `        ${text} ${of(ours, what).toFixed(0)} ms: ${peers.map((p) => `${(of(p, 'pull') / of(ours, what)).toFixed(1)} times ${p}`).join(', ')}`,
  );
beside('pulled from being signed in', 'signed');
beside('pulled and in the books, with the sign-in,', 'books');
say(`${bytes.get(sides[0].name).up} bytes up, wanted at most ${upMax}`, bytes.get(sides[0].name).up <= upMax);
process.exit(isMet ? 0 : 1);
