package main

import (
	"encoding/json"
	"errors"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/sync/entry"
)

// FuzzLine feeds any bytes: nothing may panic, every fault says which kind it is,
// what is read is JSON to the standard library too and has what a fold needs, and
// an entry that a phone could have made is read as its bytes say.
func FuzzLine(f *testing.F) {
	f.Add([]byte(phoneLine(f, 6, shift[6])))
	f.Add([]byte(handLine(f, 6, shift[6])))
	f.Add([]byte(`{"id":7,"id":8,"at":"2026-03-02T06:00:00Z","kind":"run.closed","body":{"run":"r1"}}`))
	f.Add([]byte(`{"i\u0064":"a","id":"b","n":-1,"clock":[],"by":"","at":"2026-03-02T06:00:00Z","kind":"run.closed","body":{"run":"r1"}}`))
	f.Add([]byte(`{"id":"x","at":"2026-03-02T06:00:00Z","kind":"run.closed","body":{"run":nan}}`))
	var r lineReader
	var p entry.Parser
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, err := r.read(raw, 12)
		if err != nil {
			var envelope *entry.Error
			var body *form.Error
			if !errors.As(err, &envelope) && !errors.As(err, &body) {
				t.Fatalf("error %v of %q is of no kind", err, raw)
			}
			return
		}
		if !json.Valid(raw) {
			t.Fatalf("read %q, which is not JSON", raw)
		}
		if !entry.ValidName(got.ID) || got.Kind == "" || got.V < 1 || got.EffectiveMS != got.AtMS {
			t.Fatalf("%q was read as %+v", raw, got)
		}
		if e, err := p.Parse(raw); err == nil && (got.ID != e.ID || got.By != e.By || got.Device != e.Device || got.N != e.N || got.AtMS != e.AtMS || got.V != e.V) {
			t.Fatalf("%q was read as %+v, a phone says %+v", raw, got, e.Header)
		}
	})
}
