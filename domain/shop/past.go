package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Past sums up what a state no longer lists one by one: runs that were closed
// before CutMS, with the colour changes and jobs of that time. A state that has
// no Past lists everything.
type Past struct {
	CutMS       int64
	Runs        int64
	Sprayed     ledger.Account // net, by lot
	Parts, Lost measure.Mass   // and where that went
}

func (p *Past) visit(v *form.Visitor) {
	v.Int("cut_ms", &p.CutMS, -signed, signed, "ms")
	v.OptInt("runs", &p.Runs, 0, signed, "")
	visitAccount(v, "sprayed", &p.Sprayed)
	v.OptMass("parts_mg", &p.Parts)
	v.OptMass("lost_mg", &p.Lost)
}

// content is what the runs of the past sprayed, for the proof that all adds up.
func (p *Past) content() ledger.Content {
	c := make(ledger.Content, 0, len(p.Sprayed))
	for _, e := range p.Sprayed {
		c = append(c, ledger.Part{Lot: e.Lot, Mass: e.Mass})
	}
	return c
}

// keep lists what must stay in a base although it is old.
type keep struct{ runs, jobs, changes map[string]bool }

func (k keep) all(r kind.Refs) {
	for _, id := range r.Runs {
		k.runs[id] = true
	}
	for _, id := range r.Jobs {
		k.jobs[id] = true
	}
	for _, id := range r.Entries {
		k.changes[id] = true
	}
}

// Compacted leaves out the runs that were closed before cutMS, and the changes and
// the complete jobs of that time, and sums the runs up in [State.Past]. Two states that differ
// only in how much of the old they list become equal.
func (s *State) Compacted(cutMS int64) *State {
	c := s.Clone()
	c.compact(cutMS, keep{}, s)
	return c
}

// compact is Compacted in place. k must stay; the powders of last say how much of an
// old run went onto parts.
func (s *State) compact(cutMS int64, k keep, last *State) {
	past := Past{CutMS: cutMS}
	if s.Past != nil {
		past = *s.Past
		past.Sprayed = slices.Clone(past.Sprayed)
		past.CutMS = max(past.CutMS, cutMS)
	}
	done := s.PartsDone() // while all runs are there that ever will be
	with := &State{Powders: last.Powders}
	for _, id := range slices.Sorted(maps.Keys(s.Runs)) {
		r := s.Runs[id]
		if r.ClosedMS == 0 || r.ClosedMS >= cutMS || k.runs[id] {
			continue
		}
		c := with.Closing(r)
		past.Runs++
		past.Parts += c.OnParts
		past.Lost += c.Lost
		past.Sprayed.PostAll(r.Net, 1)
		delete(s.Runs, id)
	}
	s.Changes = slices.DeleteFunc(s.Changes, func(c *Change) bool {
		b := s.Booths[c.Booth]
		return c.StartedMS < cutMS && !k.changes[c.Entry] && (b == nil || b.Change != c.Entry)
	})
	cutDay := UTCDay(cutMS)
	onRuns := map[string]bool{}
	for _, r := range s.Runs {
		for _, j := range r.Jobs {
			onRuns[j.Job] = true
		}
	}
	maps.DeleteFunc(s.Jobs, func(id string, j *Job) bool {
		return done[id] >= j.Count && j.PlannedMS < cutMS && j.Due < cutDay && !onRuns[id] && !k.jobs[id]
	})
	s.Past = &past
}
