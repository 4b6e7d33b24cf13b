// Package replay folds a file of entries, one a line and in any order, in little
// memory. As long as the lines come in the order in which they count, and none voids
// another, they are folded as they come. Otherwise the file is read to its end to learn
// which lines count and when, and a second time to fold them in that order; in between
// a line's id and its place in the file are kept.
//
// The time that an entry says is the time that counts, and nobody asks who may
// record what: a replay shows what the entries mean, not what a server would let
// through. What a person may leave out of a line says lineReader.
package replay

import (
	"cmp"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"slices"

	"hoppertally/domain/kind"
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
// wraps a *form.Error, or [ErrOtherBytes]. The error is that of reading in, or says
// that a line was another one when it was read again.
func Fold(in io.ReadSeeker, fault func(line int64, err error)) (Result, error) {
	j := journal{in: in, lines: newLines(in, 64<<10), seen: map[string]int{}, roll: shop.NewRoll()}
	if err := j.gather(fault); err != nil {
		return Result{}, err
	}
	if j.roll == nil {
		j.strike()
		if err := j.fold(); err != nil {
			return Result{}, err
		}
	}
	slices.SortFunc(j.out.Newer, byOrder)
	j.out.State = j.roll.State()
	return j.out, nil
}

// journal is what is kept of a file between its two readings.
type journal struct {
	in     io.ReadSeeker
	lines  *lines
	reader lineReader
	turns  []turn
	seen   map[string]int // index of the turn, by the entry's id
	voids  []string       // ids of the entries that others void
	roll   *shop.Roll     // nil once the lines cannot be folded as they come
	last   shop.Entry     // that was folded
	out    Result
}

// turn is a line that counts.
type turn struct {
	atMS          int64
	number, start int64  // where the line stands
	sum           uint64 // of its bytes, to tell a repeat from another line of the same id
	isRuling      bool   // about another entry's standing, and cannot be voided
	isLeftOut     bool   // voided, or needs a newer version
}

var seed = maphash.MakeSeed()

// gather is the first reading.
func (j *journal) gather(fault func(line int64, err error)) error {
	for {
		raw, err := j.lines.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if len(raw) == 0 {
			continue
		}
		if err := j.keep(raw); err != nil {
			j.out.Bad++
			fault(j.lines.number, err)
		}
	}
}

// keep notes a line, unless it is a repeat. The error is what is wrong with the line.
func (j *journal) keep(raw []byte) error {
	e, err := j.reader.read(raw, j.lines.number)
	if err != nil {
		return err
	}
	t := turn{atMS: e.AtMS, number: j.lines.number, start: j.lines.start, sum: maphash.Bytes(seed, raw)}
	if i, isKnown := j.seen[e.ID]; isKnown {
		if j.turns[i].sum != t.sum {
			return ErrOtherBytes
		}
		return nil
	}
	switch b := e.Body.(type) {
	case nil:
		t.isLeftOut = true
		j.out.Newer = append(j.out.Newer, e)
	case *kind.EntryVoided:
		t.isRuling = true
		j.voids = append(j.voids, b.Entry)
	case *kind.EntryReleased, *kind.EntryDeclined:
		t.isRuling = true
	}
	j.seen[e.ID] = len(j.turns)
	j.turns = append(j.turns, t)
	if j.roll != nil {
		j.roll = j.take(e)
	}
	return nil
}

// take folds an entry that comes in its turn. It gives nil if it does not.
func (j *journal) take(e shop.Entry) *shop.Roll {
	if len(j.voids) > 0 || shop.Order(&j.last, &e) > 0 {
		return nil
	}
	if e.Body != nil {
		j.roll.Add(&e)
		j.last = e
	}
	return j.roll
}

// strike marks what is voided.
func (j *journal) strike() {
	for _, id := range j.voids {
		if i, is := j.seen[id]; is && !j.turns[i].isRuling {
			j.turns[i].isLeftOut = true
		}
	}
	j.seen = nil
}

// fold is the second reading. Entries of the same millisecond are put in order when
// all of them are read, see [shop.Order].
func (j *journal) fold() error {
	slices.SortFunc(j.turns, func(a, b turn) int {
		return cmp.Or(cmp.Compare(a.atMS, b.atMS), cmp.Compare(a.number, b.number))
	})
	j.lines = newLines(j.in, 4<<10) // a jump to another line throws the rest away
	j.roll = shop.NewRoll()
	var together []shop.Entry
	for i, t := range j.turns {
		if !t.isLeftOut {
			e, err := j.again(t)
			if err != nil {
				return err
			}
			together = append(together, e)
		}
		if i+1 < len(j.turns) && j.turns[i+1].atMS == t.atMS {
			continue
		}
		slices.SortFunc(together, byOrder)
		for k := range together {
			j.roll.Add(&together[k])
		}
		together = together[:0]
	}
	return nil
}

func byOrder(a, b shop.Entry) int { return shop.Order(&a, &b) }

// again reads a line a second time.
func (j *journal) again(t turn) (shop.Entry, error) {
	raw, err := j.lines.at(t.start)
	if err != nil && err != io.EOF {
		return shop.Entry{}, err
	}
	if maphash.Bytes(seed, raw) != t.sum {
		return shop.Entry{}, fmt.Errorf("line %d changed while the file was read", t.number)
	}
	return j.reader.read(raw, t.number)
}
