package shop

import "hoppertally/domain/kind"

// SetsPerson is the kind that makes somebody a member of the shop, gives another role,
// or says that somebody left.
const SetsPerson = "person.set"

// LastManager is the reason code of a held entry after which the shop would have no
// manager.
const LastManager = "last_manager"

// hadManager tells whether the shop ever had a manager. What was said decides, not what
// is left of it: no void takes that back, or the shop would fall to whoever comes first.
func (f *Fold) hadManager() bool {
	for _, e := range f.sets {
		if e.Body.(*kind.PersonSet).Manages() && f.stood(e) {
			return true
		}
	}
	for _, p := range f.base.People {
		if p.Role == "manager" {
			return true
		}
	}
	return false
}

// stood tells whether an entry counts, or would if nobody had voided it.
func (f *Fold) stood(e *Entry) bool {
	if e.Outcome == Held {
		r := f.RuledBy(e)
		return r != nil && r.Kind == "entry.released"
	}
	return e.Outcome != Refused
}

// manager tells whether anybody but a person manages the shop, if the sets count that
// counts says.
func (f *Fold) manager(but string, counts func(*Entry) bool) bool {
	last := map[string]*Entry{} // by person
	for _, e := range f.sets {
		id := e.Body.(*kind.PersonSet).Person
		if was := last[id]; counts(e) && !f.inBase(e) && (was == nil || order(was, e) < 0) {
			last[id] = e
		}
	}
	for id, e := range last {
		if id != but && e.Body.(*kind.PersonSet).Manages() {
			return true
		}
	}
	for id, p := range f.base.People {
		if id != but && last[id] == nil && p.Manages() {
			return true
		}
	}
	return false
}

// IsLastManager tells whether nobody else may rule in the shop.
func (f *Fold) IsLastManager(person string) bool {
	return !f.manager(person, f.counts) && f.manager("", f.counts)
}

// Unseats is why an entry must be held that would take the shop's last manager away, ""
// if it would not. The entry's own time does not matter, because the server has not
// dated it yet: what it says of a person is taken as the last word on them, and a ruling
// as the first one on its target.
func (f *Fold) Unseats(e *Entry) (why string) {
	if b, ok := e.Body.(*kind.PersonSet); ok {
		if !b.Manages() && f.VoidedBy(e) == nil && f.IsLastManager(b.Person) {
			return LastManager
		}
		return ""
	}
	t := f.ids.find(kind.Target(e.Body))
	_, isRelease := e.Body.(*kind.EntryReleased)
	switch {
	case t == nil || t.Kind != SetsPerson, isRuling(e) && t.Outcome != Held:
		return ""
	case t.Body == nil && isRelease:
		return "newer_version" // nobody here can tell whom it takes away
	}
	after := func(s *Entry) bool {
		if s == t {
			return isRelease && f.VoidedBy(t) == nil
		}
		return f.counts(s)
	}
	if !f.manager("", after) && f.manager("", f.counts) {
		return LastManager
	}
	return ""
}
