// Package replay folds a file of entries, one a line and in any order, as fast as
// the machine allows and in little memory: the lines are read on all processors
// into records of 72 bytes, then the records are folded in the order in which they
// count.
//
// The time that an entry says is the time that counts, and nobody asks who may
// record what: a replay shows what the entries mean, not what a server would let
// through. What a person may leave out of a line says lineReader.
package replay

import (
	"cmp"
	"errors"
	"io"
	"slices"

	"hoppertally/domain/shop"
)

// Result is what the lines of a file mean.
type Result struct {
	State *shop.State
	Newer []shop.Entry // not folded, because they need a newer version; in order
	Bad   int          // malformed lines, left out
}

// ErrOtherBytes is the fault of a line whose id an earlier line has, with other bytes.
var ErrOtherBytes = errors.New("this id stands in an earlier line with other bytes")

// Fold folds the lines of in. Empty lines count for nothing, exact repeats once.
// fault hears of each malformed line, in ascending order: an *entry.Error, one that
// wraps a *form.Error, or [ErrOtherBytes]. The error is that of reading in.
func Fold(in io.Reader, fault func(line int64, err error)) (Result, error) {
	return fold(in, chunkSize, fault)
}

func fold(in io.Reader, size int, fault func(line int64, err error)) (Result, error) {
	j, err := gather(in, size, fault)
	if err != nil {
		return Result{}, err
	}
	return j.fold(), nil
}

// journal is all lines of a file.
type journal struct {
	records pile
	byID    index
	voids   []string // ids of the entries that others void
	newer   []shop.Entry
	inOrder bool // the records stand as they count
	last    record
	open    opener
	names   *nameList
	bad     int

	// As long as the lines come in order and void nothing, they are folded as they
	// come; when that ends, roll is nil, and all are folded when all are there.
	roll *shop.Roll
	now  *record // being folded
	id   func() string
}

// gather reads all lines; it stands beside the workers and puts together what
// they have made.
func gather(in io.Reader, size int, fault func(line int64, err error)) (*journal, error) {
	j := &journal{inOrder: true, names: newNameList(), roll: shop.NewRoll()}
	j.id = func() string { return j.now.id.text(j.open.long) }
	var err error
	out, free := chunks(in, size, j.names, &err)
	for c := range out {
		<-c.done
		j.open.names = j.names.now()
		j.add(c, fault)
		select {
		case free <- c:
		default:
		}
	}
	return j, err
}

// add takes over what a worker made of a chunk.
func (j *journal) add(c *chunk, fault func(line int64, err error)) {
	others, longs := int64(len(j.open.others)), uint64(len(j.open.long))
	j.open.others = append(j.open.others, c.others...)
	j.open.long = append(j.open.long, c.long...)
	tell := func(before int64) {
		for len(c.faults) > 0 && c.faults[0].line < before {
			j.bad++
			fault(c.faults[0].line, c.faults[0].err)
			c.faults = c.faults[1:]
		}
	}
	for i := range c.records {
		r := &c.records[i]
		r.id.shift(longs)
		if r.kind == other {
			r.mass += others
		}
		if len(c.faults) > 0 {
			tell(c.lines[i])
		}
		if at, is := j.byID.add(r.id, &j.records, j.open.long); is {
			if j.records.at(at).sum != r.sum {
				j.bad++
				fault(c.lines[i], ErrOtherBytes)
			}
			continue
		}
		j.keep(r)
	}
	tell(c.first + int64(len(c.text)) + 1)
}

// keep takes a record whose id is new.
func (j *journal) keep(r *record) {
	if j.inOrder && j.records.n > 0 && j.compare(&j.last, r) > 0 {
		j.inOrder = false
	}
	j.last = *r
	j.records.push(r)
	if r.kind == other {
		switch e := &j.open.others[r.mass]; b := e.Body.(type) {
		case nil:
			j.newer = append(j.newer, *e)
		case *shop.EntryVoided:
			j.voids = append(j.voids, b.Entry)
		}
	}
	switch {
	case j.roll == nil:
	case j.inOrder && len(j.voids) == 0:
		j.take(r)
	default:
		j.roll = nil
	}
}

// take folds a record, unless it is voided or needs a newer version.
func (j *journal) take(r *record) {
	if r.voided {
		return
	}
	if e := j.open.entry(r); e.Body != nil {
		j.now = r
		j.roll.Add(e, j.id)
	}
}

// compare is [shop.Order] of two records.
func (j *journal) compare(a, b *record) int {
	if c := cmp.Compare(a.atMS, b.atMS); c != 0 {
		return c
	}
	if a.device != b.device {
		return cmp.Compare(j.name(a.device), j.name(b.device))
	}
	if c := cmp.Compare(a.n, b.n); c != 0 {
		return c
	}
	return cmp.Compare(a.id.text(j.open.long), b.id.text(j.open.long))
}

func (j *journal) name(n name) string { return j.open.names[n] }

// fold folds the records in the order in which they count.
func (j *journal) fold() Result {
	out := Result{Newer: j.newer, Bad: j.bad}
	if j.roll == nil {
		j.strike()
		j.roll = shop.NewRoll()
		j.inTurn(j.take)
	}
	slices.SortFunc(out.Newer, func(a, b shop.Entry) int { return shop.Order(&a, &b) })
	out.State = j.roll.State()
	return out
}

// strike marks what is voided. Voids and rulings themselves cannot be voided.
func (j *journal) strike() {
	for _, id := range j.voids {
		var long []string
		at, is := j.byID.find(packID(id, &long), long, &j.records, j.open.long)
		if !is {
			continue
		}
		r := j.records.at(at)
		r.voided = r.kind != other || !rules(j.open.others[r.mass].Body)
	}
}

// rules tells whether an entry is about another entry's standing.
func rules(b shop.Body) bool {
	switch b.(type) {
	case *shop.EntryVoided, *shop.EntryReleased, *shop.EntryDeclined:
		return true
	}
	return false
}

// inTurn visits the records as they count.
func (j *journal) inTurn(visit func(*record)) {
	if j.inOrder {
		for i := range j.records.n {
			visit(j.records.at(i))
		}
		return
	}
	type turn struct {
		atMS int64
		i    uint32
	}
	turns := make([]turn, j.records.n)
	for i := range turns {
		turns[i] = turn{j.records.at(i).atMS, uint32(i)}
	}
	slices.SortFunc(turns, func(a, b turn) int {
		if a.atMS != b.atMS {
			return cmp.Compare(a.atMS, b.atMS)
		}
		return j.compare(j.records.at(int(a.i)), j.records.at(int(b.i)))
	})
	for _, t := range turns {
		visit(j.records.at(int(t.i)))
	}
}
