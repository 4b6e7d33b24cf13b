package replica

import (
	"slices"
	"sort"
)

// Mark says where one of the phone's own entries stands with the server.
type Mark string

const (
	Unsent   Mark = ""         // no answer yet
	Accepted Mark = "accepted" // in the server's log
	Held     Mark = "held"     // in the log, waiting for a manager
	Refused  Mark = "refused"  // malformed; the server keeps the bytes aside
)

// Own is an entry made on this phone. It stays until the server's backup has it.
type Own struct {
	N           int64  `json:"n"` // the device's counter, from 1
	ID          string `json:"id"`
	By          string `json:"by"`          // its author, in whose session it goes out
	Bytes       []byte `json:"-"`           // the entry as it was made, never changed
	RecordedMS  int64  `json:"recorded_ms"` // this phone's wall clock, for "unsent since"
	Mark        Mark   `json:"mark"`
	Epoch       string `json:"epoch"`        // in which it was accepted or held; "" while unsent or refused
	Seq         int64  `json:"seq"`          // in that epoch; 0 while unsent or refused
	EffectiveMS int64  `json:"effective_ms"` // fixed by the server; 0 while unsent or refused
	Reason      string `json:"reason"`       // codes, when held, refused or worth a look
	Late        bool   `json:"late"`         // it happened before the books were closed

	answered bool // the server has said what becomes of it; the store is being told
}

// inLog tells whether the server said that its log has the entry.
func (o *Own) inLog() bool { return o.Mark == Accepted || o.Mark == Held }

// unsend takes back what the server said of an entry.
func (o *Own) unsend() {
	o.Mark, o.Epoch, o.Seq, o.EffectiveMS, o.Reason, o.Late = Unsent, "", 0, 0, "", false
}

// known reads rows as they stood in a store beside its cursor. A mark says something only
// in the epoch in which it was given: a write whose outcome nobody knew may have left an
// older one. A mark without an epoch is of a version that did not note it, and counts.
func known(own []Own, at Cursor) []Own {
	own = slices.Clone(own)
	for i := range own {
		switch o := &own[i]; {
		case !o.inLog():
		case o.Epoch == "":
			o.Epoch = at.Epoch
		case o.Epoch != at.Epoch:
			o.unsend()
		}
	}
	slices.SortFunc(own, byN)
	return own
}

// Cursor is how far the phone has the server's log: everything up to and
// including After in Epoch. The zero value means nothing at all.
type Cursor struct {
	Epoch string `json:"epoch"`
	After int64  `json:"after"`
}

// Follows tells whether a write that goes on from c may follow what a store has up to
// at. One that never had anything takes the beginning of any epoch.
func (c Cursor) Follows(at Cursor) bool { return c == at || at == Cursor{} && c.After == 0 }

// Moment is the driver's clocks and one random number at a step.
type Moment struct {
	MonoMS  int64  // never goes back while Segment stays the same
	WallMS  int64  // Unix milliseconds as the phone believes
	Segment string // names the unbroken stretch of MonoMS
	Seed    uint64 // fresh randomness, spreads the retries of many phones
}

type opKind int

const (
	idle opKind = iota
	hello
	refresh
	push
	pull
	store
	fetch
)

// lease is something under way. until is in Moment.MonoMS.
type lease struct {
	kind  opKind
	op    int64
	until int64
}

// change is what becomes true once the store has it.
type change struct {
	cursor *Cursor
	base   *Base
	anew   bool    // from a snapshot
	marks  []Own   // whole rows, new marks set
	forget []int64 // by N
}

// State is everything the phone's half knows. The zero value has not started.
type State struct {
	started  bool
	leader   bool
	visible  bool
	signedIn bool
	ended    bool // the server no longer knows the session
	fresh    bool // an access token is thought to be good
	newer    bool // the server asked for a newer client
	shut     bool // a manager shut this phone out
	wantPull bool
	wantHi   bool // a hello is due before anything else
	wantRead bool // the store may hold own entries that are not known here

	server  string
	cursor  Cursor
	proof   Proof // of the newest answer
	base    Base
	asked   Base  // of the pull under way
	scope   Scope // asked for
	outside bool  // the base no longer holds
	noBase  bool  // the server has no snapshot; until the next hello
	head    int64 // of the server's log, by its last answer
	poked   int64 // by a poke that no answer has overtaken yet; 0 when there is none
	pokeOp  int64 // the newest op when it came
	backup  int64 // seq up to which a verified backup has the log
	own     []Own // ascending N
	counter int64

	busy     lease
	staged   change
	marking  lease   // of the marks that are being stored while the next push is under way
	marked   []Own   // the rows with them
	sent     []int64 // N of the entries in the push under way
	sender   string  // and their author
	op       int64
	failures int   // in a row
	notUntil int64 // MonoMS before which nothing new starts
	nextHi   int64 // MonoMS of the next hello
	lastHi   int64 // and of the last one's answer
	lastOK   int64 // WallMS of the last answer that left nothing to do; 0 never
	online   Online

	batchMax int // entries; halved by refusals
	bytesMax int // of a push; halved when no answer comes in time, so that it fits through a thin line
	pageMax  int64
	aside    map[int64]bool  // N that the server would not take even alone; until the next start
	noSeat   map[string]bool // authors without a session here: their entries wait, the others go on
	refusals int             // refreshes that did not help, in a row
	loops    int
	resets   []int64
	bases    []int64

	live       bool
	liveOpened bool
	liveNext   int64
	segment    string
}

// Online is what the last request said about the server.
type Online string

const (
	Unknown Online = "unknown"
	Yes     Online = "yes"
	No      Online = "no"
)

// Status is what a person may see of the sync.
type Status struct {
	Unsent       int    `json:"unsent"`
	OldestUnsent int64  `json:"oldest_unsent_ms"` // wall clock; 0 when there is none
	Online       Online `json:"online"`
	SignedIn     bool   `json:"signed_in"`
	SessionEnded bool   `json:"session_ended"`
	LastSyncMS   int64  `json:"last_sync_ms"` // wall clock; 0 for never
	NewerClient  bool   `json:"newer_client"`
	Refused      int    `json:"refused"`
	Held         int    `json:"held"`
	ShutOut      bool   `json:"shut_out"` // by a manager: entries go out and are held, nothing comes in
	// Waiting counts the unsent entries of authors who must sign in first, by author.
	Waiting []Waiting `json:"waiting"`
}

// Waiting is what waits for one author's session.
type Waiting struct {
	By string `json:"by"`
	N  int    `json:"n"`
}

// Status reads the state.
func (s *State) Status() Status {
	t := Status{Waiting: []Waiting{}, Online: s.online, SignedIn: s.signedIn, SessionEnded: s.ended, LastSyncMS: s.lastOK, NewerClient: s.newer, ShutOut: s.shut}
	if t.Online == "" {
		t.Online = Unknown
	}
	for _, o := range s.own {
		switch o.Mark {
		case Unsent:
			t.Unsent++
			if s.noSeat[o.By] {
				t.wait(o.By)
			}
			if t.OldestUnsent == 0 || o.RecordedMS < t.OldestUnsent {
				t.OldestUnsent = o.RecordedMS
			}
		case Refused:
			t.Refused++
		case Held:
			t.Held++
		case Accepted:
		}
	}
	return t
}

func (t *Status) wait(by string) {
	for i := range t.Waiting {
		if t.Waiting[i].By == by {
			t.Waiting[i].N++
			return
		}
	}
	t.Waiting = append(t.Waiting, Waiting{By: by, N: 1})
}

// Own lists the phone's own entries, ascending N. The caller must not change them.
func (s *State) Own() []Own { return s.own }

// Cursor is how far the store has the server's log.
func (s *State) Cursor() Cursor { return s.cursor }

// find gives the index of counter n in own, or where it would stand.
func (s *State) find(n int64) (int, bool) {
	i := sort.Search(len(s.own), func(i int) bool { return s.own[i].N >= n })
	return i, i < len(s.own) && s.own[i].N == n
}

// put adds a row or replaces the one with the same counter.
func (s *State) put(o Own) {
	i, ok := s.find(o.N)
	if ok {
		s.own[i] = o
		return
	}
	s.own = append(s.own, Own{})
	copy(s.own[i+1:], s.own[i:])
	s.own[i] = o
}
