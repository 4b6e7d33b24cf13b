package shop

import "hoppertally/domain/kind"

// Admit says what the server does with an entry that is well formed: accepted, or held
// until a manager rules on it, with a reason code. An accepted entry may carry a reason
// too: it counts, and something about it is worth a look.
//
// While the shop never had a manager, everything is accepted: somebody must be the first.
//
// Who voids an entry takes back what it did, so it takes the right to record such a
// one: else a coater could void what made somebody manager.
//
// A void may come before its target, which a push carries next to it or another
// phone still has. Then nobody knows yet what it takes back, and it is accepted
// with the reason Ahead.
func (f *Fold) Admit(e *Entry) (outcome, reason string) {
	if e.Body == nil || !f.hadManager() {
		return f.AdmitLocal(e)
	}
	p := f.State().People[e.By]
	switch {
	case p == nil:
		return Held, "unknown_person"
	case p.Gone:
		return Held, "person_gone"
	case !kind.May(p.Role, e.Kind):
		return Held, "role"
	}
	if b, isVoid := e.Body.(*kind.EntryVoided); isVoid && p.Role != kind.Manager && !f.Bars(e) {
		switch t := f.ids.find(b.Entry); {
		case t == nil:
			return Accepted, Ahead
		case !kind.May(p.Role, t.Kind):
			return Held, "role"
		}
	}
	return f.AdmitLocal(e)
}

// AdmitLocal is Admit for an entry that was made on the server's own device: whoever has
// the machine may record everything. It keeps the checks that hold for managers too.
func (f *Fold) AdmitLocal(e *Entry) (outcome, reason string) {
	if e.Body == nil {
		return Held, "newer_version"
	}
	if f.Bars(e) {
		return Accepted, Barred
	}
	if why := f.Unseats(e); why != "" {
		return Held, why
	}
	if kind.Target(e.Body) != "" && isRuling(e) && f.ids.find(kind.Target(e.Body)) == nil {
		return Accepted, RuledAhead
	}
	return Accepted, f.State().unknown(e)
}

// RuledAhead is the reason code of a ruling that the server had before its target, as
// may happen after a restore. It decides on everything but people: when it came nobody
// could tell whether it leaves the shop a manager.
const RuledAhead = "ruled_ahead"

// isRuling tells whether an entry decides on a held one.
func isRuling(e *Entry) bool {
	switch e.Body.(type) {
	case *kind.EntryReleased, *kind.EntryDeclined:
		return true
	}
	return false
}

// unknown is a code for the first thing an entry names that must have been set up
// and was not.
func (s *State) unknown(e *Entry) string {
	k := kind.Of(e.Kind)
	if k == nil || k.Known == 0 {
		return ""
	}
	r := kind.RefsOf(e.Body)
	if k.Known&kind.Powders != 0 {
		for _, id := range r.Powders {
			if s.Powders[id] == nil {
				return "unknown_powder"
			}
		}
	}
	if k.Known&kind.Places != 0 {
		for _, id := range r.Places {
			if p := s.Places[id]; p == nil || p.Implicit {
				return "unknown_place"
			}
		}
	}
	if k.Known&kind.Runs != 0 {
		for _, id := range r.Runs {
			if s.Runs[id] == nil {
				return "unknown_run"
			}
		}
	}
	return ""
}
