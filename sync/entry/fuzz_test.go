package entry_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"

	"hoppertally/sync/entry"
)

// FuzzParse feeds any bytes: nothing may panic, what is read is JSON to the
// standard library too, and writing it again gives an entry with the same header.
func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte(with("4000000", "nan")))
	f.Add([]byte(with("rosa", `\ud83d\ude00\"`)))
	f.Add([]byte(with("-06:00", "Z")))
	f.Add([]byte(`{"id":`))
	var p, q entry.Parser
	f.Fuzz(func(t *testing.T, raw []byte) {
		e, err := p.Parse(raw)
		if err != nil {
			var ee *entry.Error
			if !errors.As(err, &ee) || ee.Code == "" {
				t.Fatalf("error %v is not an *entry.Error with a code", err)
			}
			return
		}
		if !json.Valid(raw) {
			t.Fatalf("read %q, which is not JSON", raw)
		}
		var std struct{ Body json.RawMessage }
		if err := json.Unmarshal(raw, &std); err != nil {
			t.Fatal(err)
		}
		again := entry.Append(nil, e.Header, std.Body)
		if len(again) > entry.EntryMax {
			return // the canonical spelling of the time may be longer
		}
		e2, err := q.Parse(again)
		if err != nil || e2.Header != e.Header || !bytes.Equal(e2.Body, e.Body) {
			t.Fatalf("%q was read as %+v, written as %q and read as %+v, %v", raw, e.Header, again, e2.Header, err)
		}
	})
}

// FuzzSplit: no panic, and the elements of a list of good JSON are those of the
// standard library.
func FuzzSplit(f *testing.F) {
	f.Add([]byte(`[` + good + `,` + good + `]`))
	f.Add([]byte(`[1,[2,"]"],{"a":"\\"}]`))
	f.Fuzz(func(t *testing.T, list []byte) {
		got, err := entry.Split(list, 1000)
		var want []json.RawMessage
		if json.Unmarshal(list, &want) != nil || want == nil || len(want) > 1000 {
			return
		}
		if err != nil || len(got) != len(want) {
			t.Fatalf("Split(%q) = %q, %v; want %q", list, got, err, want)
		}
		for i := range got {
			if !bytes.Equal(got[i], want[i]) {
				t.Fatalf("element %d = %q, want %q", i, got[i], want[i])
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	raw := []byte(with(`"seen":{"epoch":"e1","seq":1207},"group":"g1",`, ``)) // 272 bytes
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	var p entry.Parser
	for b.Loop() {
		if _, err := p.Parse(raw); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	var p entry.Parser
	e, err := p.Parse([]byte(good))
	if err != nil {
		b.Fatal(err)
	}
	body := e.Body
	var dst []byte
	b.ReportAllocs()
	for b.Loop() {
		dst = entry.Append(dst[:0], e.Header, body)
	}
}
