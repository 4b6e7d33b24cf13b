package shop

// Roll folds entries that are at hand in order and each once, and keeps none of
// them: a long journal in little memory. [Fold] is for entries that come in any
// order and for news of them; both give the same state. Use [NewRoll].
type Roll struct{ a applier }

// NewRoll is a roll over no entries.
func NewRoll() *Roll { return &Roll{applier{s: NewState(), recent: new(recents)}} }

// Add folds the next entry by [Order], which the caller knows to count: it is
// neither held, refused nor voided, and this program knows its kind. The state may
// keep its body.
func (r *Roll) Add(e *Entry) {
	r.a.apply(e)
	r.a.s.Folded++
}

// State is the state after all entries. It must not be changed and is valid until
// the next Add.
func (r *Roll) State() *State { return r.a.s }
