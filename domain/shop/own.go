package shop

import "slices"

// lease tells what of a state is its own. A copy shares runs, lots and changes with
// the state that it was made of, thousands of them after years. What carries the
// state's lease was made or copied under it and may be changed; all else is copied
// before it is changed. A fold takes a new lease whenever a copy may have been made.
type lease struct{ _ bool }

// ownLot is a lot to be changed.
func (a *applier) ownLot(l *Lot) *Lot {
	if l.lease == a.s.lease {
		return l
	}
	c := *l
	c.lease = a.s.lease
	a.s.Lots[c.Lot] = &c
	if a.near != nil {
		a.near.lots.forget(c.Lot)
	}
	return &c
}

// ownRun is a run to be changed; nil for nil.
func (a *applier) ownRun(r *Run) *Run {
	if r == nil || r.lease == a.s.lease {
		return r
	}
	c := *r
	c.lease, c.Net, c.Jobs, c.Cures = a.s.lease, r.Net.Clone(), slices.Clone(r.Jobs), slices.Clone(r.Cures)
	a.s.Runs[c.Run] = &c
	if a.near != nil {
		a.near.runs.forget(c.Run)
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
		if c.lease != a.s.lease {
			d := *c
			d.lease = a.s.lease
			c, a.s.Changes[i] = &d, &d
		}
		return c
	}
	return nil
}
