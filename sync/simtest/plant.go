package simtest

// Plants are faults put into the programs on purpose, to prove that the simulation
// finds them. They live in the models around the real replica and hub, never in
// what we ship.
type Plants struct {
	CursorByTime     bool // the server leaves out of a page what is dated before the cursor
	AckBeforeSync    bool // the server answers, and syncs a second later
	DuplicateByBatch bool // the server knows a repeated push again, but not its entries
	DropOn401        bool // the phone clears its outbox when the server refuses the session
	CounterApart     bool // the counter is read in another transaction than the entry's
	SnapshotApart    bool // a snapshot is labelled with a head that was read at another moment
	BusyFlag         bool // no timer runs while a request is under way
	DateAgain        bool // a repeated entry gets a new effective time
	CursorFirst      bool // the cursor is stored before the page
	SavedEarly       bool // the person is told before the store has it
	RoleOfSession    bool // who could sign in may record everything
	OpenForEver      bool // closed books take entries all the same
	ReleasesUnheard  bool // the hub does not hear that a held closing was released
	DeviceKept       bool // a phone that lost its store goes on under the same name
	ForgetAtOnce     bool // the server calls everything backed up
	NeverAsks        bool // the server does not ask what phones know of its log
	BackupsUnread    bool // the server serves a folder that is older than its newest backup
	LastManagerGoes  bool // the server lets the last manager go
}
