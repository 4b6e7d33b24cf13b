package shop

import "slices"

// owner is for copy-on-write. A copy of a state shares its runs, lots and changes with
// the original, because after years there are thousands of them. A run, lot or change
// that has the same owner as the state belongs to this state alone and may be changed;
// any other is copied before it is changed. A state gets a new owner whenever it is
// copied.
type owner struct{ _ bool }

// ownLot is a lot to be changed.
func (a *applier) ownLot(l *Lot) *Lot {
	if l.owner == a.s.owner {
		return l
	}
	c := *l
	c.owner = a.s.owner
	a.s.Lots[c.Lot] = &c
	if a.recent != nil {
		a.recent.lots.forget(c.Lot)
	}
	return &c
}

// ownRun is a run to be changed; nil for nil.
func (a *applier) ownRun(r *Run) *Run {
	if r == nil || r.owner == a.s.owner {
		return r
	}
	c := *r
	c.owner, c.Net, c.Jobs, c.Cures = a.s.owner, r.Net.Clone(), slices.Clone(r.Jobs), slices.Clone(r.Cures)
	a.s.Runs[c.Run] = &c
	if a.recent != nil {
		a.recent.runs.forget(c.Run)
	}
	return &c
}

// ownChange is a colour change to be changed, found by the entry that started it; nil
// if there is none.
func (a *applier) ownChange(entry string) *Change {
	for i := len(a.s.Changes) - 1; i >= 0; i-- {
		c := a.s.Changes[i]
		if c.Entry != entry {
			continue
		}
		if c.owner != a.s.owner {
			d := *c
			d.owner = a.s.owner
			c, a.s.Changes[i] = &d, &d
		}
		return c
	}
	return nil
}
