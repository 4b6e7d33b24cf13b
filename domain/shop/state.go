package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
)

// State is the shop as the entries folded so far made it. It is changed only by
// a [Fold]; views read it.
type State struct {
	Shop    kind.ShopSet
	Powders map[string]*kind.PowderSet
	Booths  map[string]*Booth
	Places  map[string]*Place
	People  map[string]*kind.PersonSet
	Setups  map[string]*kind.SetupSet
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

	owner *owner
}

// NewState is a shop in which nothing has happened.
func NewState() *State {
	return &State{
		Powders: map[string]*kind.PowderSet{}, Booths: map[string]*Booth{}, Places: map[string]*Place{},
		People: map[string]*kind.PersonSet{}, Setups: map[string]*kind.SetupSet{}, Lots: map[string]*Lot{},
		Runs: map[string]*Run{}, Jobs: map[string]*Job{}, Rooms: map[string]*Room{}, Book: ledger.NewBook(),
	}
}

// size counts what grows with a shop's years: twenty of these cost about as much to
// copy as one entry to fold.
func (s *State) size() int {
	return len(s.Runs) + len(s.Lots) + len(s.Changes) + len(s.Jobs) + len(s.Issues)
}

// Clone is a copy that shares nothing that a fold changes: see owner.
func (s *State) Clone() *State {
	c := *s
	c.owner = new(owner)
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
