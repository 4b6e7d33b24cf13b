package replica

import "hoppertally/sync/wire"

// Effect is something for the driver to do. Requests and writes carry an Op that
// comes back with their outcome.
type Effect interface{ effect() }

// Hello asks the server how things stand. Proof, as in the other requests, is the text of
// the one to show, "" for none.
type Hello struct {
	Op, TimeoutMS int64
	Proof         string
}

// Refresh asks for a fresh access token by the session's cookie.
type Refresh struct{ Op, TimeoutMS int64 }

// Push sends Body, a whole request body of at most [BatchBytesMax] bytes and
// [BatchEntriesMax] entries (a single larger entry goes alone), in the session of
// Author, who made them all.
type Push struct {
	Op, TimeoutMS int64
	Author        string
	Body          []byte
	Entries       int
	Proof         string
}

// Pull asks for the log after Cursor.
type Pull struct {
	Op, TimeoutMS int64
	Cursor        Cursor
	Max           int64
	Scope         Scope
	Proof         string
}

// StorePulled writes a page and moves the store's cursor From → To, with the
// changed own rows, in one transaction. When the store's cursor is not From the
// driver writes nothing and answers [Reread]. See [Cursor.Follows]. Proof, as in the
// other writes, takes the place of the store's if it is [Proof.Beyond] that.
type StorePulled struct {
	Op       int64
	From, To Cursor
	Base     Base // as it was, or with the first page the one that it makes
	Page     wire.Page
	Own      []Own
	Proof    Proof
}

// MarkOutcome writes own rows with their new marks, all that the store has not confirmed
// yet. It may be under way beside a [Push].
type MarkOutcome struct {
	Op    int64
	Own   []Own
	Proof Proof
}

// Forget deletes own rows that a backup of the server covers.
type Forget struct {
	Op int64
	N  []int64
}

// Reset drops what was pulled from another epoch and its proof, sets the cursor to the start of
// Epoch and writes the own rows that are unsent again, in one transaction. Own
// entries and drafts stay.
type Reset struct {
	Op    int64
	Epoch string
	Own   []Own
}

// ReadStore asks for a [Reread]: whether the last write was kept is not known, or
// other windows had their turn.
type ReadStore struct{ Op int64 }

// RaiseCounter makes sure that no counter up to N is ever taken again: the server
// has entries of this device that this phone's store has lost.
type RaiseCounter struct{ N int64 }

// SetTimer replaces the driver's one timer.
type SetTimer struct{ AfterMS int64 }

// OpenLive and CloseLive keep the stream of pokes.
type (
	OpenLive  struct{}
	CloseLive struct{}
)

// Notify tells the person something that the status alone does not.
type Notify struct {
	Code   string // loop, entry_stuck, refused, newer_client, session_ended, author_out, shut_out, new_epoch, counter_raised
	Detail string
}

// Changed says that [State.Status] or the own rows may look different now.
type Changed struct {
	AllSent bool // the last entry that could go out is with the server: somebody may wait for that
}

func (Hello) effect()        {}
func (Refresh) effect()      {}
func (Push) effect()         {}
func (Pull) effect()         {}
func (StorePulled) effect()  {}
func (MarkOutcome) effect()  {}
func (Forget) effect()       {}
func (Reset) effect()        {}
func (ReadStore) effect()    {}
func (RaiseCounter) effect() {}
func (SetTimer) effect()     {}
func (OpenLive) effect()     {}
func (CloseLive) effect()    {}
func (Notify) effect()       {}
func (Changed) effect()      {}
