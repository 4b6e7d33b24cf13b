// Package hub is the server's half of the travel of entries: it decides, entry
// by entry, what becomes of what the phones hand in. It is pure: the store
// brings the time of receipt, the state and the answer to "is this id known",
// and makes decisions and state durable in one commit.
//
// What becomes of an entry:
//
//	accepted   takes a seq and is folded
//	held       takes a seq, is recorded and passed on, and waits for a manager
//	refused    takes no seq; its bytes are kept in quarantine
//	duplicate  is known byte for byte; answered with what was decided then
//
// No entry ever decides over its neighbours: there is no fault of a batch.
//
// # Counters
//
// A device numbers its entries 1, 2, 3 ... A jump ahead or a number seen before
// under another id is a reason code on an accepted entry, never a refusal and
// never a hold: identity is the id, so both entries are facts that happened, and
// holding them would leave a cloned phone's whole shift waiting for a manager.
// Between the two the fold decides by id.
package hub
