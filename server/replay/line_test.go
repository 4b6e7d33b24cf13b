package replay

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
)

// FuzzLine feeds any bytes: nothing may panic, every fault says which kind it is,
// what is read is JSON to the standard library too and has what a fold needs, and
// an entry that a phone could have made is read as its bytes say.
func FuzzLine(f *testing.F) {
	f.Add([]byte(`{"id":"019caa52-7dc0-7000-8000-000000000006","kind":"powder.moved","v":1,"by":"ana","device":"phone-1","n":7,"at":"2026-03-02T06:10:00.000+00:00",` +
		`"clock":{"wall_ms":1772431800000,"mono_ms":0,"segment":"s"},"seen":{"epoch":"e","seq":4},"group":"g","body":{"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1","why":"low"}}`))
	f.Add([]byte(`{"at":"2026-03-02T06:10:00Z", "kind":"powder.moved", "body":{"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}}`))
	f.Add([]byte(`{"id":"x","n":3,"at":"2026-03-02T06:10:00Z","kind":"powder.recovered","body":{"run":"r1","from":"a","to":"b","mass_mg":0,"sieved":true}}`))
	f.Add([]byte(`{"at":"2026-03-02T06:10:00Z","kind":"place.weighed","body":{"place":"a","mass_mg":5,"lot":"L","sd_mg":7}}`))
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

func TestWhatAPersonMayLeaveOut(t *testing.T) {
	const rest = `"at":"2026-03-02T06:00:00+01:00","kind":"run.closed","body":{"run":"r1"}`
	const atMS = 1772427600000 // date -u -d 2026-03-02T05:00:00Z +%s prints 1772427600
	for _, tt := range []struct {
		name, line string
		want       shop.Entry
	}{
		{"everything but at, kind and body", `{` + rest + `}`, shop.Entry{ID: "line-3", V: 1, N: 3}},
		{"an id of another form", `{"id":"e7",` + rest + `}`, shop.Entry{ID: "e7", V: 1, N: 3}},
		{"a number as id", `{"id":7,` + rest + `}`, shop.Entry{ID: "7", V: 1, N: 3}},
		{"null and empty texts", `{"id":"","by":"","device":"","n":null,"v":null,"clock":null,` + rest + `}`, shop.Entry{ID: "line-3", V: 1, N: 3}},
		{"nothing but the clock", `{"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","v":1,"by":"ana","device":"d1","n":41,` + rest + `}`,
			shop.Entry{ID: "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", V: 1, By: "ana", Device: "d1", N: 41}},
		{"half of the clock", `{"clock":{"wall_ms":5},"by":"ana","group":"g1",` + rest + `}`, shop.Entry{ID: "line-3", V: 1, By: "ana", N: 3, Group: "g1"}},
		{"a counter from 0", `{"n":0,"device":"d1",` + rest + `}`, shop.Entry{ID: "line-3", V: 1, Device: "d1"}},
		{"a later version, which is kept and not folded", `{"v":2,` + rest + `}`, shop.Entry{ID: "line-3", V: 2, N: 3}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var r lineReader
			g, err := r.read([]byte(tt.line), 3)
			if err != nil {
				t.Fatal(err)
			}
			if tt.want.V == 1 {
				if b, ok := g.Body.(*kind.RunClosed); !ok || b.Run != "r1" {
					t.Errorf("body = %#v, want the run r1 closed", g.Body)
				}
			} else if g.Body != nil {
				t.Errorf("body = %#v, want none", g.Body)
			}
			tt.want.Kind, tt.want.AtMS, tt.want.EffectiveMS, g.Body = "run.closed", atMS, atMS, nil
			if a, b := fmt.Sprintf("%+v", g), fmt.Sprintf("%+v", tt.want); a != b {
				t.Errorf("read %s\nwant %s", a, b)
			}
		})
	}
}
