package replica

import "hoppertally/sync/wire"

// Input is something that happened. Inputs about a request carry its Op; one
// whose Op is not under way any more is ignored.
type Input interface{ input() }

// Started gives what the store held. It is the first input, and comes again when
// the core was restarted.
type Started struct {
	Cursor   Cursor
	Proof    Proof
	Base     Base
	Counter  int64 // highest counter ever taken on this phone
	Server   string
	SignedIn bool // a session was left on this phone
	Own      []Own
}

// Recorded tells of entries that the store has just taken.
type Recorded struct{ Own []Own }

// Reread replaces cursor and own rows by what the store holds now: the answer to
// [ReadStore], to a [StorePulled] that found the cursor elsewhere, and the news
// that another window of this phone has changed the store.
type Reread struct {
	Cursor  Cursor
	Proof   Proof
	Base    Base
	Counter int64
	Own     []Own
}

// Unsure tells that the store may hold entries that this window does not know of:
// a write of the driver's own ended without a verdict, or news from another window
// could not be read. The replica asks for the store's contents until it has them.
type Unsure struct{}

// Stored reports that the write of effect Op is complete.
type Stored struct {
	Op   int64
	Seen []wire.Item // of a [StoreBase]: this device's entries among those that came with it
}

// StoreFailed reports that it is not, as far as the driver knows: a connection that
// dies after the commit says the same. So the store is read back.
type StoreFailed struct{ Op int64 }

// HelloAnswered is the server's greeting.
type HelloAnswered struct {
	Op int64
	wire.Hello
	NewerClient bool // this client is older than the server takes
}

// PushAnswered carries one result for each entry that the server looked at.
type PushAnswered struct {
	Op int64
	wire.Pushed
}

// PullAnswered is one page of the server's log.
type PullAnswered struct {
	Op   int64
	Page wire.Page
}

// Failure says why a request brought nothing.
type Failure string

const (
	NoServer     Failure = "no_server"    // no answer, or not from our server
	TokenOld     Failure = "token_old"    // 401: the access token no longer counts
	SessionEnded Failure = "session_over" // the refresh was refused: sign in again
	Refusal      Failure = "refused"      // 4xx: the server will not take this request
	TooOld       Failure = "too_old"      // the server wants a newer client
	ServerBusy   Failure = "busy"         // 429 or 5xx
	NoSnapshot   Failure = "no_snapshot"  // the server has none: read on from the cursor
	ScopeDenied  Failure = "scope_denied" // the session may not see that much
	EpochGone    Failure = "epoch_gone"   // the pull's epoch is not the server's any more
	ShutOut      Failure = "shut_out"     // a manager shut this phone out: it may only hand in
	AuthorOut    Failure = "author_out"   // of a push: its author has no session on this phone
)

// Failed ends a request without an answer.
type Failed struct {
	Op      int64
	Why     Failure
	RetryMS int64 // the server's wish with ServerBusy; 0 for none
}

// Refreshed tells that a fresh access token is there.
type Refreshed struct{ Op int64 }

// SignedIn and SignedOut come from the person.
type (
	SignedIn  struct{ Server string }
	SignedOut struct{}
)

// Seats tells that a session began or ended on this phone: whose entries may go out
// has to be found anew.
type Seats struct{}

// Visibility, leadership and the person's wish to sync now.
type (
	Visible struct{ Yes bool }
	Leads   struct{ Yes bool } // this window does the syncing
	SyncNow struct{}
)

// The live stream: a poke says only how far the log goes.
type (
	LiveOpened struct{}
	LiveClosed struct{}
	Poked      struct{ Head int64 }
)

// Timer is the driver's one timer going off.
type Timer struct{}

func (Started) input()       {}
func (Recorded) input()      {}
func (Reread) input()        {}
func (Unsure) input()        {}
func (Stored) input()        {}
func (StoreFailed) input()   {}
func (HelloAnswered) input() {}
func (PushAnswered) input()  {}
func (PullAnswered) input()  {}
func (Failed) input()        {}
func (Refreshed) input()     {}
func (SignedIn) input()      {}
func (SignedOut) input()     {}
func (Seats) input()         {}
func (Visible) input()       {}
func (Leads) input()         {}
func (SyncNow) input()       {}
func (LiveOpened) input()    {}
func (LiveClosed) input()    {}
func (Poked) input()         {}
func (Timer) input()         {}
