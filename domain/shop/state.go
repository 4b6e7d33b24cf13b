package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// State is the shop as the entries folded so far made it. It is changed only by
// a [Fold]; views read it.
type State struct {
	Shop    ShopSet
	Powders map[string]*PowderSet
	Booths  map[string]*Booth
	Places  map[string]*Place
	People  map[string]*PersonSet
	Setups  map[string]*SetupSet
	Lots    map[string]*Lot
	Runs    map[string]*Run
	Jobs    map[string]*Job
	Rooms   map[string]*Room // by place, "" for the store as a whole
	Changes []*Change        // in order of start
	Issues  []*Issue         // open, in order of the entries behind them
	Book    ledger.Book
	Folded  int64 // entries folded
	Closed  int64 // ms; books are closed through it
	Past    *Past // what is no longer listed one by one; nil: everything is

	lease *lease
}

// Booth is a booth and what it is doing.
type Booth struct {
	BoothSet
	Powder     string // last sprayed or changed to; "" not known
	Run        string // open run
	Change     string // open change
	CleanLevel string // of the last cleanout; "" none yet
	CleanMS    int64
	CleanBy    string
	CleanMin   int64
	CleanCrew  int64
	Ground     Ground
	Outputs    []OutputPoint  // latest of each powder and main air, in order of time
	Deposits   []DepositPoint // latest of each powder and output, in order of time
}

// Place is what is known of a place besides its content, which stands in the book.
type Place struct {
	PlaceSet
	Implicit   bool         // used by an entry before anybody set it up
	WeighedMS  int64        // last weighing; 0 never
	WeighedSD  measure.Mass // its stated standard uncertainty; 0 not stated
	Feeds      string       // the open run it feeds
	CleanLevel string       // the highest of the cleanouts of its booth since powder last came in
	LastPowder string       // the powder that last came in, also when it is empty now
	Overdrawn  int64        // open issues of overdraw, at most: notes may have settled some
	OverBlend  int64        // likewise of a blend over the limit
	Unsieved   bool         // holds recovered powder that was not sieved
}

// Lot is one batch as received.
type Lot struct {
	LotReceived
	ReceivedMS int64
	Entry      string
	Held       bool
	HeldWhy    string
	lease      *lease
}

// Run is one powder on one booth, from change to change. Net is what left the
// feed for good; it is split into parts and lost by [State.Balance].
type Run struct {
	RunOpened
	OpenedMS, ClosedMS  int64 // ClosedMS 0 while open
	Net                 ledger.Content
	Recovered, Scrapped measure.Mass // overspray that came back, and that went to scrap
	Jobs                []JobDone
	FilmN, FilmSum      int64 // readings and their sum, µm·10
	FilmSq              int64 // sum of squares
	FilmMin, FilmMax    int64
	Cures               []CureDone
	Weighings           int64
	SDOpen, SDLast      measure.Mass // stated uncertainty of the first and last weighing
	lease               *lease
}

// Job is work that was planned, as last said.
type Job struct {
	JobPlanned
	PlannedMS int64
}

// JobDone is what one entry says of coated parts.
type JobDone struct {
	Entry, Job     string
	Count, AreaCM2 int64
}

// Change is a colour change.
type Change struct {
	Entry, Booth, From, To, Level, Needed, By string
	Crew, Minutes                             int64
	StartedMS, FinishedMS                     int64
	Scrapped                                  measure.Mass
	lease                                     *lease
}

// Issue is something a person should look at. The entry behind it names it.
type Issue struct {
	Code, Entry, Kind, By         string
	AtMS                          int64
	Place, Powder, Lot, Run, More string
	Booth                         string
	Mass                          measure.Mass
}

// NewState is a shop in which nothing has happened.
func NewState() *State {
	return &State{
		Powders: map[string]*PowderSet{}, Booths: map[string]*Booth{}, Places: map[string]*Place{},
		People: map[string]*PersonSet{}, Setups: map[string]*SetupSet{}, Lots: map[string]*Lot{},
		Runs: map[string]*Run{}, Jobs: map[string]*Job{}, Rooms: map[string]*Room{}, Book: ledger.NewBook(),
	}
}

// size counts what grows with a shop's years: twenty of these cost about as much to
// copy as one entry to fold.
func (s *State) size() int {
	return len(s.Runs) + len(s.Lots) + len(s.Changes) + len(s.Jobs) + len(s.Issues)
}

// Clone is a copy that shares nothing that a fold changes: see lease.
func (s *State) Clone() *State {
	c := *s
	c.lease = new(lease)
	c.Powders = maps.Clone(s.Powders) // set bodies are replaced, never changed
	c.People = maps.Clone(s.People)
	c.Setups = maps.Clone(s.Setups)
	c.Jobs = maps.Clone(s.Jobs)
	c.Booths = cloneMap(s.Booths, func(b *Booth) {
		b.Outputs, b.Deposits = slices.Clone(b.Outputs), slices.Clone(b.Deposits)
	})
	c.Places = cloneMap(s.Places, nil)
	c.Lots = maps.Clone(s.Lots)
	c.Runs = maps.Clone(s.Runs)
	c.Changes = slices.Clone(s.Changes)
	c.Rooms = cloneMap(s.Rooms, func(r *Room) { r.Days = slices.Clone(r.Days) })
	c.Issues = slices.Clone(s.Issues) // issues are added and removed, never changed
	c.Book = s.Book.Clone()
	return &c
}

func cloneMap[T any](m map[string]*T, deeper func(*T)) map[string]*T {
	out := make(map[string]*T, len(m))
	for k, v := range m {
		d := *v
		if deeper != nil {
			deeper(&d)
		}
		out[k] = &d
	}
	return out
}

// Check proves the invariants of the books.
func (s *State) Check() error {
	held := make([]ledger.Content, 0, len(s.Runs)+1)
	if s.Past != nil {
		held = append(held, s.Past.content())
	}
	for _, id := range slices.Sorted(maps.Keys(s.Runs)) {
		held = append(held, s.Runs[id].Net)
	}
	return s.Book.Check(held...)
}

// change finds a colour change by the entry that started it.
func (s *State) change(entry string) *Change {
	for i := len(s.Changes) - 1; i >= 0; i-- {
		if s.Changes[i].Entry == entry {
			return s.Changes[i]
		}
	}
	return nil
}

// powderOfLot is the powder of a lot, "" if nobody knows.
func (s *State) powderOfLot(lot string) string {
	if l := s.Lots[lot]; l != nil {
		return l.Powder
	}
	return ""
}

// run finds a run; nil for "" and for one that is not there.
func (s *State) run(id string) *Run {
	if id == "" {
		return nil
	}
	return s.Runs[id]
}

// powdersIn lists the powders in a content, in ascending order of id; powder of
// unknown lots does not count.
func (s *State) powdersIn(c ledger.Content) (ids []string) {
	return appendPowders(nil, c, s.powderOfLot)
}

// appendPowders is powdersIn into the memory of ids, which must be empty.
func appendPowders(ids []string, c ledger.Content, of func(lot string) string) []string {
	for i := range c {
		if i > 0 && c[i-1].Lot == c[i].Lot {
			continue
		}
		if id := of(c[i].Lot); id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if len(ids) > 1 {
		slices.Sort(ids)
	}
	return ids
}
