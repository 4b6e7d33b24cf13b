package kind

import "slices"

// Refs is what a body names, by kind of thing.
type Refs struct{ Places, Runs, Lots, Powders, Booths, Jobs, Entries []string }

// Things are kinds of thing that can be unknown to a shop.
type Things uint8

// The things that a kind of entry may ask to be known.
const (
	Powders Things = 1 << iota
	Places
	Runs
)

// RefsOf is what a body names; nothing for that of an unknown kind, which is nil.
func RefsOf(b Body) Refs {
	if b == nil {
		return Refs{}
	}
	return b.refs()
}

// named are the names that are given.
func named(all ...string) []string {
	return slices.DeleteFunc(all, func(id string) bool { return id == "" })
}

// Target is the entry that a void or a ruling speaks of, "" for any other body.
func Target(b Body) string {
	switch b := b.(type) {
	case *EntryVoided:
		return b.Entry
	case *EntryReleased:
		return b.Entry
	case *EntryDeclined:
		return b.Entry
	}
	return ""
}
