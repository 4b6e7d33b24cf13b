// Package shop is what the entries make of a shop.
//
// A [Fold] takes entries in any order and keeps the [State] that they make in the order
// in which they count. What an entry does to the powder stands in the file of its noun
// (move.go, weigh.go, run.go, …), as methods of applier, and nowhere else; odd things
// never stop an entry, they become an [Issue]. Beside them: what may be recorded
// (admit.go), which entries count (counts.go), where the powder of a run went
// (balance.go), what a phone carries of a long history (window.go, past.go), and the
// canonical form of the state (encode.go), which its hash is made of.
//
// A noun keeps its fields, their canonical form and its rules in one file.
//
// # The rules of the ledger
//
// The entries say what was done or seen; what it means for the powder is derived by the
// methods of applier in domain/shop and nowhere else.
//
//  1. Whole milligrams (measure.Mass). Taking from a vessel splits over its contents in
//     proportion: each share is rounded down and the milligrams that remain are handed
//     out one by one, where the rounding took most; equal ones by lot, then passes.
//     Taking from a shelf names the lot.
//  2. Content is mass by (lot, passes). Through the gun and back is one pass more, kept
//     up to 99.
//  3. Everything adds up to zero, per lot too: places + runs + variance = received
//     (ledger.Book.Check, State.Check).
//  4. An observation is not a movement. The entry of a weighing carries what the scale
//     showed, not what moved. weighed compares that with the books: for the feed of an
//     open run the shortfall was sprayed (net), for any other place it is variance. So
//     an entry that arrives late, from before a weighing, only shifts what that weighing
//     stands for.
//  5. Above the books: the surplus is taken as the same mixture as the place already
//     holds (in an empty place as the lot unknown), out of variance, with the issue
//     weighed_above.
//  6. Recovered leaves the feed through the gun and arrives with one pass more. Gross =
//     net + recovered + scrapped.
//  7. Recovered, recorded after the last weighing: the powder left the feed before
//     that weighing, which already did not see it. Booked afterwards it would be taken a
//     second time out of what the scale had found. So the task recover
//     (domain/task/recover.go) dates it shortly before the feed's last weighing in that
//     run, into the middle of the quiet time before it (a minute at most); the
//     weighing's difference is then net of it. One millisecond would be lost on the way:
//     the server corrects a wrong clock by when a push came in. Without such a weighing,
//     or with the books closed since, it counts now, and the next weighing sorts it out.
//     TestRecoveredAfterTheLastWeighingStillBalances holds it, and
//     TestWhatIsRecoveredCountsBeforeTheWeighingWhateverTheClock
//     (pwa/core/phone/clock_test.go) from the form to the server's books under wrong
//     clocks.
//  8. Closed loop: nobody weighs what returns. The net of a weighing interval is cut
//     into 16 equal steps (loopSteps). With T the booth's transfer efficiency, R its
//     recovery, q = (1−T)·R, each step takes net + net·q/(1−q) out of the feed as it is
//     then and puts the second part back with one pass more. Without T or R: q = 0 and
//     the issue loop_without_booth.
//  9. Overdraw: more was taken than the books know of. draw takes the missing part as
//     the lot unknown and raises overdraw; a weighing of the place settles it, and a
//     late entry that fills the place earlier makes it vanish.
//  10. A run closed (balance.go): on parts = count × area × film × specific gravity, half
//     up, at most the net; lost = the rest. Asked anew each time, so films read later
//     still count.
//  11. Beyond the books: a book takes in at most 2^53 − 1 mg over the years, and holds at
//     most as much at a time (ledger.BookMax), so that no sum can wrap and a browser
//     carries each exactly. What is beyond is not booked and raises beyond_books; a void
//     of the entry with the wrong mass brings everything back. Figures that only add up,
//     such as what a run recovered, stay at that bound (Mass.Plus).
//
// Number 7 by figures, all in kg. The feed holds 20; it is weighed at 09:00 as 12; at
// 09:10 somebody weighs the bin and records 3 recovered.
//
//	recovered counts      the books say at 09:00  weighing derives  feed afterwards                      gross
//	at 09:10, as typed    20                      net 8             12 − 3 = 9, while the scale said 12  11
//	shortly before 09:00  20 − 3 = 17             net 5             12                                   8
//
// Eight left the feed, and eight is the gross. What the entry says in at is the task's
// doing, visible in the entry, and can be voided like any other.
//
// Voids and rulings on held entries have no order: their target counts, or never did. An
// unknown kind or version is kept, passed on and shown, never folded.
//
// There is always a manager. A shop that ever had one, by what was said and not by what
// is left of it (hadManager), takes nothing from strangers, and whatever would take its
// last manager away is held as last_manager: a person.set, a void or a ruling on one
// (Unseats in domain/shop/person.go). The server has not dated the entry yet, so its own
// time does not count: what it says of a person is taken as the last word on them. Of
// two that cross, the later by the server's order is held; therefore a batch ends with
// every entry that could change who may do what (Settles). A ruling that came before its
// target decides nothing about people. What is recorded at the server's own desk (the
// command line, the set-up) needs nobody's role: person add --role manager is the way
// back.
//
// Odd things never stop an entry. They become an issue (a.issue(e, code, …)) on the
// attention list until a later entry explains it (a.settle), or a person notes it
// (entry.noted). The codes have words in pwa/src/app/i18n/codes.ts.
package shop
