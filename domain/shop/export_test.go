package shop

// WindowAt is Window with a floor and a cut of the test's own.
func (f *Fold) WindowAt(floorMS, cutMS int64) Window { return f.window(floorMS, cutMS) }

// EachSavepoint gives every state that the fold would go back to, and the entries that it
// stands for.
func (f *Fold) EachSavepoint(yield func(s *State, folded []*Entry)) {
	for _, m := range f.savepoints {
		var folded []*Entry
		for _, e := range f.entries[:m.done] {
			if f.counts(e) {
				folded = append(folded, e)
			}
		}
		yield(m.state, folded)
	}
}
