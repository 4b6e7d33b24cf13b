package shop

import (
	"bytes"
	"slices"
	"testing"

	"hoppertally/domain/form"
)

// FuzzBody reads bytes as the body of every kind: it never panics, and what is taken
// comes back the same.
func FuzzBody(f *testing.F) {
	all := slices.Sorted(slices.Values(Kinds()))
	for _, k := range all {
		f.Add(form.Encode(NewBody(k)))
	}
	f.Add([]byte(`{"from":"a","to":"b","mass_mg":9007199254740991,"lot":"c","why":"d"}`))
	f.Add([]byte(`{"through":"2026-03-31T23:59:59+02:00"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, kind := range all {
			body, err := DecodeBody(kind, 1, b)
			if err != nil {
				continue
			}
			out := form.Encode(body)
			again, err := DecodeBody(kind, 1, out)
			if err != nil || !bytes.Equal(form.Encode(again), out) {
				t.Fatalf("%s %q became %q, then %v %v", kind, b, out, again, err)
			}
		}
	})
}
