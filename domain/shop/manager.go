package shop

// A shop that ever had a manager always has one. Without one anybody might become the
// next, or nobody could: what would take the last one away is held.

// setsPerson is the kind that makes somebody a member of the shop, gives another role,
// or says that somebody left.
const setsPerson = "person.set"

// LastManager is the reason code of a held entry after which the shop would have no
// manager.
const LastManager = "last_manager"

func (b *PersonSet) manages() bool { return b.Role == "manager" && !b.Gone }

// hadManager tells whether the shop ever had a manager. What was said decides, not what
// is left of it: no void takes that back, or the shop would fall to whoever comes first.
func (f *Fold) hadManager() bool {
	for _, e := range f.sets {
		if e.Body.(*PersonSet).manages() && f.stood(e) {
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
		id := e.Body.(*PersonSet).Person
		if was := last[id]; counts(e) && !f.inBase(e) && (was == nil || order(was, e) < 0) {
			last[id] = e
		}
	}
	for id, e := range last {
		if id != but && e.Body.(*PersonSet).manages() {
			return true
		}
	}
	for id, p := range f.base.People {
		if id != but && last[id] == nil && p.manages() {
			return true
		}
	}
	return false
}

// isLastManager tells whether nobody else may rule in the shop.
func (f *Fold) isLastManager(person string) bool {
	return !f.manager(person, f.counts) && f.manager("", f.counts)
}

// unseats is why an entry must be held that would take the shop's last manager away, ""
// if it would not. The entry's own time does not matter, because the server has not
// dated it yet: what it says of a person is taken as the last word on them, and a ruling
// as the first one on its target.
func (f *Fold) unseats(e *Entry) (why string) {
	if b, ok := e.Body.(*PersonSet); ok {
		if !b.manages() && f.VoidedBy(e) == nil && f.isLastManager(b.Person) {
			return LastManager
		}
		return ""
	}
	t := f.ids.find(Target(e.Body))
	_, isRelease := e.Body.(*EntryReleased)
	switch {
	case t == nil || t.Kind != setsPerson, isRuling(e) && t.Outcome != Held:
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
