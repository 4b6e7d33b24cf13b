package reference

import (
	"maps"
	"regexp"
	"runtime"
	"slices"
	"sync"
	"testing"
)

// Row is a row of a table by column name.
type Row = map[string]string

// Figure is a number in a cell: the row and column, and which of the cell's numbers.
type Figure struct {
	Row    Row
	Column string
	Nth    int // from 0
	Text   string
}

// Free says which figures no rule of ours has to meet; each use says why in a comment.
type Free func(Figure) bool

// Columns frees whole columns.
func Columns(names ...string) Free {
	return func(f Figure) bool { return slices.Contains(names, f.Column) }
}

// Any frees what one of several frees.
func Any(list ...Free) Free {
	return func(f Figure) bool {
		return slices.ContainsFunc(list, func(free Free) bool { return free(f) })
	}
}

// notFigures are columns of words about a row.
var notFigures = []string{"mark", "source", "source_kind", "seen_in", "note"}

// Each has check look at every row of a file that must hold so many. Then it changes
// each figure of the row, one at a time, by one unit of its last place (of its eighth,
// if it has more) and demands that check fails: a figure that nothing is held against
// is no assertion. What free lets pass is not changed; nil: nothing. Columns of inputs,
// of which a last place may not reach the result, are changed in their second place.
func Each(t *testing.T, file string, rows int, free Free, check func(t testing.TB, row Row), inputs ...string) {
	t.Helper()
	for _, row := range Rows(t, file, rows) {
		check(t, row)
		if t.Failed() {
			continue
		}
		for f, changed := range changes(row, free, inputs...) {
			if !notices(t, func(t testing.TB) { check(t, changed) }) {
				t.Errorf("%s: nothing fails when %s of %v changes from %s to %s", file, f.Column, row, row[f.Column], changed[f.Column])
			}
		}
	}
}

// Whole is Each for a check that needs all rows at once.
func Whole(t *testing.T, file string, rows int, free Free, check func(t testing.TB, list []Row)) {
	t.Helper()
	list := Rows(t, file, rows)
	check(t, list)
	if t.Failed() {
		return
	}
	for i, row := range list {
		for f, changed := range changes(row, free) {
			list[i] = changed
			if !notices(t, func(t testing.TB) { check(t, list) }) {
				t.Errorf("%s: nothing fails when %s of %v changes from %s to %s", file, f.Column, row, row[f.Column], changed[f.Column])
			}
		}
		list[i] = row
	}
}

var figure = regexp.MustCompile(`\b\d+(?:\.\d+)?\b`)

// Figures are the numbers in a cell as they are printed: of "60.1 ft2/lb" only 60.1.
func Figures(cell string) []string { return figure.FindAllString(cell, -1) }

func changes(row Row, free Free, inputs ...string) func(yield func(Figure, Row) bool) {
	return func(yield func(Figure, Row) bool) {
		for _, column := range slices.Sorted(maps.Keys(row)) {
			if slices.Contains(notFigures, column) {
				continue
			}
			cell, place := row[column], 8
			if slices.Contains(inputs, column) {
				place = 2
			}
			for nth, at := range figure.FindAllStringIndex(cell, -1) {
				f := Figure{row, column, nth, cell[at[0]:at[1]]}
				if free != nil && free(f) {
					continue
				}
				changed := maps.Clone(row)
				changed[column] = cell[:at[0]] + otherThan(f.Text, place) + cell[at[1]:]
				if !yield(f, changed) {
					return
				}
			}
		}
	}
}

// otherThan changes the last digit of a number, or the one that counts in place; of a
// zero with a place the first.
func otherThan(text string, place int) string {
	b, counted, last := []byte(text), 0, len(text)-1
	for i, c := range b {
		if c == '.' || counted == 0 && c == '0' {
			continue
		}
		if counted++; counted == place {
			last = i
			break
		}
	}
	if counted == 0 && place < 8 {
		last = 0
	}
	if b[last] == '9' {
		b[last] = '8'
	} else {
		b[last]++
	}
	return string(b)
}

// notices tells whether a check fails.
func notices(t testing.TB, check func(t testing.TB)) bool {
	l := &listener{TB: t}
	var wg sync.WaitGroup
	wg.Go(func() {
		defer func() {
			if p := recover(); p != nil {
				l.isFailed = true
			}
		}()
		check(l)
	})
	wg.Wait()
	return l.isFailed
}

// listener hears of failures and keeps them to itself.
type listener struct {
	testing.TB
	isFailed bool
}

func (l *listener) Error(...any)          { l.isFailed = true }
func (l *listener) Errorf(string, ...any) { l.isFailed = true }
func (l *listener) Fatal(...any)          { l.FailNow() }
func (l *listener) Fatalf(string, ...any) { l.FailNow() }
func (l *listener) FailNow()              { l.isFailed = true; runtime.Goexit() }
func (l *listener) Failed() bool          { return l.isFailed }
