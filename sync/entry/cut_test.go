package entry

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"
)

// What a device makes is cut as the strict reader reads it, whatever follows it.
func TestCutReadsWhatAppendWrites(t *testing.T) {
	var p Parser
	var c Cutter
	name := rapid.StringMatching(`[a-zà-ÿ0-9"\\{}][a-z0-9 "\\{},:]{0,8}[a-z0-9}"]`)
	rapid.Check(t, func(t *rapid.T) {
		var rnd [10]byte
		h := Header{
			ID: NewID(rapid.Int64Range(0, 1<<47).Draw(t, "ms"), rnd), Kind: rapid.SampledFrom([]string{"place.weighed", "powder.moved"}).Draw(t, "kind"), V: rapid.Int64Range(1, 9).Draw(t, "v"),
			By: name.Draw(t, "by"), Device: name.Draw(t, "device"), N: rapid.Int64Range(1, IntMax).Draw(t, "n"),
			AtMS: rapid.Int64Range(-1e12, 4e12).Draw(t, "at"), AtOffsetMin: rapid.IntRange(-720, 840).Draw(t, "offset"),
			Clock: Clock{WallMS: rapid.Int64Range(-9, 1e13).Draw(t, "wall"), Segment: name.Draw(t, "segment")},
		}
		if rapid.Bool().Draw(t, "seen") {
			h.Seen = Seen{Epoch: name.Draw(t, "epoch"), Seq: 7}
		}
		if rapid.Bool().Draw(t, "grouped") {
			h.Group = name.Draw(t, "group")
		}
		body := rapid.SampledFrom([]string{`{}`, `{"mass_mg":5,"why":"a } and \" and \\"}`, `{"of":[{"a":[1,2]},{}]}`}).Draw(t, "body")
		raw := Append(nil, h, []byte(body))
		want, err := p.Parse(raw)
		if err != nil {
			t.Fatalf("%s: %v", raw, err)
		}
		var got Cut
		n := c.Cut(&got, append(bytes.Clone(raw), `,{"id":"`...), 0)
		if n < 0 { // a name with an escape is left to the strict reader
			if !bytes.Contains(bytes.SplitN(raw, []byte(`"body"`), 2)[0], []byte(`\`)) {
				t.Fatalf("not cut: %s", raw)
			}
			return
		}
		if n != len(raw) || string(got.Body) != body || got.ID != want.ID || got.Kind != want.Kind || got.V != want.V || got.By != want.By ||
			got.Device != want.Device || got.N != want.N || got.AtMS != want.AtMS || got.Group != want.Group {
			t.Errorf("cut %+v (%d bytes), want %+v (%d)", got, n, want.Header, len(raw))
		}
	})
}

func TestAnotherSpellingIsNotCut(t *testing.T) {
	const good = `{"id":"018f3c9e-0000-7000-8000-000000000000","kind":"a.b","v":1,"by":"p","device":"d","n":1,"at":"2026-11-27T05:00:00.000Z","clock":{"wall_ms":1,"mono_ms":1,"segment":"s"},"body":{"a":1}}`
	var c Cutter
	var e Cut
	if n := c.Cut(&e, []byte("xx"+good), 2); n != 2+len(good) {
		t.Fatal("the good one is not cut")
	}
	for i := range good { // cut short anywhere
		if c.Cut(&e, []byte(good[:i]), 0) >= 0 {
			t.Errorf("cut from %d bytes of %d", i, len(good))
		}
	}
	for _, other := range []string{
		` ` + good,
		`{"kind":"a.b","id":"x"}`,
		string(bytes.Replace([]byte(good), []byte(`"n":1`), []byte(`"n":-1`), 1)),
		string(bytes.Replace([]byte(good), []byte(`"n":1`), []byte(`"n":9007199254740992`), 1)),
		string(bytes.Replace([]byte(good), []byte(`2026-11-27`), []byte(`2026-11-37`), 1)),
		string(bytes.Replace([]byte(good), []byte(`"body":{"a":1}`), []byte(`"body":[1]`), 1)),
	} {
		if c.Cut(&e, []byte(other), 0) >= 0 {
			t.Errorf("%s is cut: %+v", other, e)
		}
	}
}

func FuzzCut(f *testing.F) {
	f.Add([]byte(`{"id":"x","kind":"a.b","v":1,"by":"p","device":"d","n":1,"at":"2026-11-27T05:00:00Z","clock":{"wall_ms":1,"mono_ms":1,"segment":"s"},"body":{"a":"}"}}`))
	var c Cutter // one for all: what it remembers must not change what it reads
	f.Fuzz(func(t *testing.T, b []byte) {
		var e Cut
		n := c.Cut(&e, b, 0)
		if n < 0 {
			return
		}
		if n > len(b) || len(e.Body) < 2 || e.Body[0] != '{' {
			t.Fatalf("cut %d of %d bytes, body %q", n, len(b), e.Body)
		}
		var p Parser
		if want, err := p.Parse(b[:n]); err == nil && (want.ID != e.ID || want.Kind != e.Kind || want.N != e.N || want.AtMS != e.AtMS || want.By != e.By || want.Device != e.Device || want.Group != e.Group) {
			t.Errorf("cut %+v, read %+v", e, want.Header)
		}
	})
}
