// Package calc holds every calculation of the trade under a name, JSON in and
// JSON out: one registry for the phone, the server and the command line.
//
// A calculation is an input form (declared here, one file per domain package),
// a call into the domain package that knows the physics, and an output struct
// whose tags say name, unit and meaning:
//
//	type chargeOut struct {
//		Reclaim measure.Mass `json:"reclaim_mg" unit:"mg" doc:"reclaim to put in"`
//	}
//
// Whatever stands in the registry is covered by its tests: the example runs, every
// declared field refuses what lies outside its declaration, no output holds a
// number that is not finite.
package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// Calc is one calculation.
type Calc struct {
	Name    string                         // package.what, such as "reclaim.charge"
	About   string                         // one sentence: what it answers
	Source  string                         // where the rule comes from
	In      func() form.Fields             // a fresh input form with its defaults set
	Run     func(form.Fields) (any, error) // from a form made by In to the output struct
	Example string                         // an input that runs
}

// define makes a Calc whose Run needs no type assertion:
//
//	define(Calc{Name: …}, func() *chargeIn { return &chargeIn{Share: 300} }, func(in *chargeIn) (any, error) { … })
func define[T form.Fields](c Calc, in func() T, run func(T) (any, error)) Calc {
	c.In = func() form.Fields { return in() }
	c.Run = func(f form.Fields) (any, error) { return run(f.(T)) }
	return c
}

// All lists every calculation, sorted by name.
func All() []Calc {
	all := slices.Concat(reclaimCalcs(), coatingCalcs(), boothCalcs(), stockCalcs(), gunCalcs(), reconcileCalcs())
	sort.Slice(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all
}

// UnknownError is the answer to a name that is not in the registry.
type UnknownError struct {
	Name string   `json:"name"`
	Near []string `json:"near"` // names like it, nearest first, at most five; may be empty
}

// Error is one English line.
func (e *UnknownError) Error() string {
	if len(e.Near) == 0 {
		return fmt.Sprintf("no calculation is called %q", e.Name)
	}
	return fmt.Sprintf("no calculation is called %q; near it: %s", e.Name, strings.Join(e.Near, ", "))
}

// RangeError says which input does not fit the others: each field was inside its
// own range, but together they cannot stand, such as a curve that is not sorted.
type RangeError struct {
	Calc  string `json:"calc"`
	Field string `json:"field"`
	Got   string `json:"got"`
	Want  string `json:"want"`
}

// Error is one English line.
func (e *RangeError) Error() string {
	return fmt.Sprintf("%s: %s: got %s, want %s", e.Calc, e.Field, e.Got, e.Want)
}

// Find returns the calculation of that name or an *UnknownError.
func Find(name string) (Calc, error) {
	all := All()
	for _, c := range all {
		if c.Name == name {
			return c, nil
		}
	}
	return Calc{}, &UnknownError{Name: name, Near: near(name, all)}
}

// Run decodes in, runs the calculation and encodes its output as JSON.
// The error is an *UnknownError, a *form.Error (an input outside its declaration
// or the range of its field), or a *RangeError (inputs that do not fit each other).
func Run(name string, in []byte) ([]byte, error) {
	c, err := Find(name)
	if err != nil {
		return nil, err
	}
	out, err := c.Do(in)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // as the phone writes it
	if err := enc.Encode(out); err != nil {
		return nil, fmt.Errorf("calc %s: encode output: %w", name, err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// Do is Run with the output still a struct.
func (c Calc) Do(in []byte) (any, error) {
	f := c.In()
	if err := form.Decode(in, f); err != nil {
		return nil, err
	}
	out, err := c.Run(f)
	var fault *measure.Fault
	if errors.As(err, &fault) {
		return nil, &RangeError{Calc: c.Name, Field: fault.What, Got: fault.Got, Want: fault.Want}
	}
	return out, err
}

// near lists up to five names that begin with name, or its package, or differ
// from it by few letters.
func near(name string, all []Calc) []string {
	type hit struct {
		name string
		far  int
	}
	var hits []hit
	pack, _, dotted := strings.Cut(name, ".")
	for _, c := range all {
		_, last, _ := strings.Cut(c.Name, ".")
		far := min(distance(name, c.Name), distance(name, last))
		switch {
		case name != "" && strings.Contains(c.Name, name):
			hits = append(hits, hit{c.Name, 0})
		case far <= 1+len(name)/4:
			hits = append(hits, hit{c.Name, far})
		case dotted && strings.HasPrefix(c.Name, pack+"."):
			hits = append(hits, hit{c.Name, 10 + far})
		}
	}
	sort.SliceStable(hits, func(i, j int) bool { return hits[i].far < hits[j].far })
	names := []string{}
	for _, h := range hits[:min(5, len(hits))] {
		names = append(names, h.name)
	}
	return names
}

// distance is the number of letters to change, add or take away (Levenshtein).
// Only the first 64 bytes of each count.
func distance(a, b string) int {
	a, b = a[:min(len(a), 64)], b[:min(len(b), 64)]
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, diagonal+1)
		}
	}
	return row[len(b)]
}
