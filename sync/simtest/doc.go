// Package simtest simulates a whole shop in one goroutine on a clock of its own:
// several phones, one server, the network between them, their stores and clocks,
// and people who record, from one seed. Inside run the real replica (the phone's
// half of the sync), the real hub (the server's) and the real fold and rules of
// the shop; simulated is what surrounds them.
//
//	make sim                  20 000 short seeds: 3 phones, 200 entries, an hour
//	make sim-long             200 seeds of 8 phones over 30 days
//	make sim SEED=7           one seed; FAULTS=drop,crash with these faults only
//
// # The models
//
// phone.go, disk.go, shelf.go, window.go and seats.go do what pwa/src/worker does:
// transactions that fail before, fail and are kept, or hang; relaxed ones that a
// loss of power takes back, strict ones that it does not; a full disk; a store that
// vanishes and makes the phone another device; several windows on one store, of
// which one leads or two think so; windows that freeze and cores that panic; several
// people with a session each. books.go folds what the store has, as pwa/core/phone
// does. server.go, commit.go, login.go and snapshot.go do what the server does:
// group commits with a crash possible between any two steps, acknowledged after the
// commit, quarantine, epochs, verified backups, a restore of the last one, an older copy
// of the folder put back (folder.go), sessions with rotating tokens, snapshots in
// pieces. network.go loses, repeats, delays (and so reorders), cuts, refuses and
// swallows requests and answers; what it carries is written and read by package wire.
//
// Bytes that nobody changes are read once in a world: an entry's body and envelope for
// the books of all (World.read), a page that several phones get (page.go). The readers
// are the real ones, and whatever differs by a byte, or was cut off on its way, is read
// anew; the hub parses each entry of each push by itself.
//
// Each seed picks its faults by the toss of a coin and a rate for each ([Swarm]), so
// that some seeds have few and go deep. At the end everything heals; then it is
// demanded that within healMS all is well: liveness is an invariant like safety.
//
// # The invariants
//
// The truth (truth.go) is kept apart from phones and server.
//
//	I1  told saved, then it survives: looked for in the store after each loss of
//	    power and at each "saved", and in the log at the end
//	I2  acknowledged, then in the log for ever: each commit goes on from all earlier
//	    ones; a phone lets go of what a backup has and of nothing else; at the end
//	    every acknowledged entry is there. Excused is only what server (by a restore,
//	    or its folder by going back) and phone (by a vanished store) both lost
//	I3  counted once: no id twice in an epoch's log, the bytes as on the phone; the
//	    books add up
//	I4  each entry is accepted, held or refused, and its phone says the same; refused
//	    ones stay on the phone and in quarantine, and none but malformed ones
//	I5  the entries of a person on a device come in the order of its counter
//	    (not asked where two windows send, or what comes back after a restore)
//	I6  a cursor never skips: each page and snapshot that a store takes is compared
//	    with the log
//	I7  at rest all books are equal to the byte: the server's, those of a fold of its
//	    log, of every window as they grew, and of every store read anew
//	I8  books on a snapshot and its tail are those of everything (what is older than a
//	    snapshot lists is left away on both sides)
//	I9  natively and under WebAssembly the same seeds end in the same bytes
//	    (testdata/digests.txt)
//	I10 what was booked in closed books stays as it was, whatever comes later; nothing
//	    counts before them, nor after its receipt
//	I11 after healing everything is sent, fetched and known to be, within bounded time
//	    and a bounded number of steps
//	I12 nobody has an effect that their role does not allow, judged again from the log
//	    in the plainest way
//	I13 a phone's store is bounded: at the end it holds no more pages than lie behind
//	    its snapshot, and no own entry that a backup and its copy of the log cover
//	I14 no device takes a number twice or leaves one out
//	I15 a shop that had a manager always has one, whatever managers say of each other
//	    and of themselves, and in whatever order it comes
//
// A simulation that cannot fail shows nothing: [Plants] are faults put in on purpose,
// each of which plant_test.go demands to be found.
package simtest
