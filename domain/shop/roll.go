package shop

// Roll folds entries that are at hand in order and each once, and keeps none of
// them: a long journal in little memory. [Fold] is for entries that come in any
// order and for news of them; both give the same state. Use [NewRoll].
type Roll struct{ a applier }

// NewRoll is a roll over no entries.
func NewRoll() *Roll { return &Roll{applier{s: NewState(), near: new(nears)}} }

// Add folds the next entry by [Order], which the caller knows to count: it is
// neither held, refused nor voided, and this program knows its kind. Afterwards e
// is the caller's to use again, and so is a body that is a [PowderMoved], a
// [PowderRecovered] or a [PlaceWeighed]; other bodies may be in the state. An
// entry with one of these three may come without an id: then id is asked for it
// should the entry need attention.
func (r *Roll) Add(e *Entry, id func() string) {
	r.a.apply(e)
	s := r.a.s
	s.Folded++
	for i := len(s.Issues) - 1; i >= 0 && s.Issues[i].Entry == ""; i-- {
		s.Issues[i].Entry = id()
	}
}

// State is the state after all entries. It must not be changed and is valid until
// the next Add.
func (r *Roll) State() *State { return r.a.s }

// Order compares two entries by when they count, for slices.SortFunc: the order
// in which a [Fold] takes them.
func Order(a, b *Entry) int { return order(a, b) }
