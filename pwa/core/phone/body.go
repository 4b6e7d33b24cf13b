package phone

import (
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
)

// bodies reads the bodies of the kinds that are nearly all of a log without making
// a tree of them: as [form.Append] writes them, without escapes. It either
// understands a body completely or leaves it to [shop.DecodeBody]; a test holds the
// two together. Names come back entry after entry; one met before costs no memory.
// The zero value is ready.
type bodies struct {
	names     entry.Words // that are ids
	moved     many[shop.PowderMoved]
	recovered many[shop.PowderRecovered]
	weighed   many[shop.PlaceWeighed]

	ofPage []shop.Body // of the page that is being read, in its order; nil for those left aside
}

// at reads the body that begins at b[i] for a page, as [entry.Cutter] asks.
func (q *bodies) at(kind string, v int64, b []byte, i int) int {
	body, next := q.read(kind, v, b, i)
	q.ofPage = append(q.ofPage, body)
	return next
}

// many makes values in pieces of memory of up to 64 at a time. As long as one of
// them is held so are its neighbours.
type many[T any] struct {
	left []T
	size int // of the piece that left is the rest of
}

func (m *many[T]) keep(v T) *T {
	if len(m.left) == 0 {
		m.size = min(64, max(1, 2*m.size))
		m.left = make([]T, m.size)
	}
	p := &m.left[0]
	*p, m.left = v, m.left[1:]
	return p
}

// read reads the body that begins at b[i] and goes behind it; next is -1 for what it
// does not understand.
func (q *bodies) read(kind string, v int64, b []byte, i int) (body shop.Body, next int) {
	if v != 1 {
		return nil, -1
	}
	switch kind {
	case "powder.moved":
		var v shop.PowderMoved
		i = q.id(b, i, `{"from":"`, &v.From)
		i = q.id(b, i, `,"to":"`, &v.To)
		i = mass(b, i, `,"mass_mg":`, &v.Mass)
		i = q.idIf(b, i, `,"lot":"`, &v.Lot)
		if next = end(b, i); next > 0 {
			return q.moved.keep(v), next
		}
	case "powder.recovered":
		var v shop.PowderRecovered
		i = q.id(b, i, `{"run":"`, &v.Run)
		i = q.id(b, i, `,"from":"`, &v.From)
		i = q.id(b, i, `,"to":"`, &v.To)
		i = mass(b, i, `,"mass_mg":`, &v.Mass)
		if j := lit(b, i, `,"sieved":true`); j >= 0 {
			v.Sieved, i = true, j
		}
		if next = end(b, i); next > 0 {
			return q.recovered.keep(v), next
		}
	case "place.weighed":
		var v shop.PlaceWeighed
		i = q.id(b, i, `{"place":"`, &v.Place)
		i = mass(b, i, `,"mass_mg":`, &v.Mass)
		i = q.idIf(b, i, `,"lot":"`, &v.Lot)
		i = wholeIf(b, i, `,"sd_mg":`, (*int64)(&v.SD))
		if next = end(b, i); next > 0 {
			return q.weighed.keep(v), next
		}
	case "run.opened", "run.closed", "booth.cleaned":
		return q.readRun(kind, b, i)
	}
	return nil, -1
}

// readRun is read for what happens once a run.
func (q *bodies) readRun(kind string, b []byte, i int) (body shop.Body, next int) {
	switch kind {
	case "run.opened":
		var v shop.RunOpened
		i = q.id(b, i, `{"run":"`, &v.Run)
		i = q.id(b, i, `,"booth":"`, &v.Booth)
		i = q.id(b, i, `,"powder":"`, &v.Powder)
		i = q.id(b, i, `,"feed":"`, &v.Feed)
		i = q.id(b, i, `,"mode":"`, &v.Mode)
		i = q.idIf(b, i, `,"setup":"`, &v.Setup)
		if next = end(b, i); next > 0 && slices.Contains(shop.Modes, v.Mode) {
			return &v, next
		}
	case "run.closed":
		var v shop.RunClosed
		if next = end(b, q.id(b, i, `{"run":"`, &v.Run)); next > 0 {
			return &v, next
		}
	case "booth.cleaned":
		var v shop.BoothCleaned
		i = q.id(b, i, `{"booth":"`, &v.Booth)
		i = q.id(b, i, `,"level":"`, &v.Level)
		i = wholeIf(b, i, `,"minutes":`, &v.Minutes)
		i = wholeIf(b, i, `,"crew":`, &v.Crew)
		if next = end(b, i); next > 0 && slices.Contains(shop.Levels, v.Level) && v.Minutes <= 10_000 && v.Crew <= 50 {
			return &v, next
		}
	}
	return nil, -1
}

// What follows reads one thing at b[i] and goes behind it; -1 stands for what was
// not understood, here or before.

func lit(b []byte, i int, s string) int {
	if end := i + len(s); i >= 0 && end <= len(b) && string(b[i:end]) == s {
		return end
	}
	return -1
}

func end(b []byte, i int) int { return lit(b, i, "}") }

// id reads an id; name stands before it, with its opening quotation mark.
func (q *bodies) id(b []byte, i int, name string, p *string) int {
	if i = lit(b, i, name); i < 0 {
		return -1
	}
	s, next, isNew := q.names.Read(b, i)
	if isNew {
		if !form.ValidID(s) {
			return -1
		}
		q.names.Keep(s)
	}
	if next > 0 && s == "" {
		return -1
	}
	*p = s
	return next
}

// idIf is id for one that may be absent.
func (q *bodies) idIf(b []byte, i int, name string, p *string) int {
	if lit(b, i, name) < 0 {
		return i
	}
	return q.id(b, i, name, p)
}

func mass(b []byte, i int, name string, p *measure.Mass) int {
	if i = lit(b, i, name); i < 0 {
		return -1
	}
	n, next := entry.Whole(b, i)
	*p = measure.Mass(n)
	return next
}

// wholeIf reads a whole number that may be absent; the absent one is zero.
func wholeIf(b []byte, i int, name string, p *int64) int {
	j := lit(b, i, name)
	if j < 0 {
		return i
	}
	n, next := entry.Whole(b, j)
	*p = n
	return next
}
