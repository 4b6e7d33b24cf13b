// Package replica is the phone's half of the sync as a state machine: what
// happened goes in, what to do comes out. It reads no clock and does no work
// itself; a driver owns the network, the store and one timer, and carries the
// effects out.
//
//	effects := state.Step(moment, input)
//
// The rules behind it:
//
//   - Level-triggered: every step looks at the whole state and decides anew, and
//     every step leaves exactly one timer set while anything is left to do.
//   - Busy is a lease with an expiry, never a flag: an answer that does not come
//     frees the machine by itself, and one that comes later is ignored.
//   - Store first: the cursor and the outcomes move in memory only after the
//     driver reports that the store has them ([Stored]). A crash between answer
//     and store repeats the request, and the server knows the entries again.
//     Meanwhile the next push may go out, and nothing else.
//   - An entry's content never stops the others: each has its own outcome.
//   - Nothing here deletes an unsent or refused entry. A new epoch of the server
//     makes every entry that no backup covers unsent again.
//   - Only [SessionEnded] changes the session; a failed network never does.
package replica

// Limits of one push, the server's and ours.
const (
	BatchEntriesMax = 4096
	BatchBytesMax   = 2 << 20  // of the request body, before it is packed
	BatchBytesMin   = 64 << 10 // what is tried at least on a bad line; a larger entry goes alone
	PageMax         = 4096     // entries asked for in one pull
	PageMin         = 64       // and on a bad line
)

// Deadlines and pauses, in milliseconds. The driver gives up on a request after
// its timeout; the lease ends LeaseGraceMS later, so that the driver's own
// verdict normally comes first.
const (
	HelloTimeoutMS   = 8_000
	RefreshTimeoutMS = 10_000
	PushTimeoutMS    = 25_000
	PullTimeoutMS    = 25_000
	BaseTimeoutMS    = 120_000 // for all pieces
	StoreTimeoutMS   = 20_000
	LeaseGraceMS     = 3_000
	HelloFreshMS     = 2_000 // a hello is not repeated for a stream that opens so soon after it

	BackoffFirstMS = 1_000
	BackoffMaxMS   = 60_000
	PollMS         = 30_000      // between hellos while visible without a live stream
	PollLiveMS     = 5 * 60_000  // and with one
	PollHiddenMS   = 15 * 60_000 // and while nobody looks
	StopMS         = 15 * 60_000 // after the server refused the envelope or asked for a newer client
	LoopPauseMS    = 5 * 60_000  // after the loop breaker
	LoopMax        = 5           // answers without progress, or resets in ten minutes
	resetWindowMS  = 10 * 60_000
	waitMS         = 60_000 // between looks when something outside must change first
)
