package phone

import (
	"reflect"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/shop"

	"github.com/valyala/fastjson"
)

// FuzzBody feeds any bytes: what is read without a tree is what the tree says.
func FuzzBody(f *testing.F) {
	for _, kind := range []string{"powder.moved", "powder.recovered", "place.weighed", "run.opened", "run.closed", "booth.cleaned"} {
		for _, b := range []string{`{"from":"rack","to":"hop","mass_mg":20000000,"lot":"L1"}`, `{"from":"a","to":"b","mass_mg":0}`, `{"run":"r1","from":"a","to":"b","mass_mg":7,"sieved":true}`,
			`{"place":"hop","mass_mg":5,"lot":"L"}`, `{"place":" hop","mass_mg":05}`, `{"from":"ñ","to":"b","mass_mg":1,"why":"x"}`, `{"place":"ñ","mass_mg":5,"sd_mg":2}`, `{"place":"","mass_mg":5}`,
			`{"run":"r","booth":"b","powder":"p","feed":"f","mode":"loop","setup":"s"}`, `{"run":"r","booth":"b","powder":"p","feed":"f","mode":"lop"}`, `{"run":"r"}`,
			`{"booth":"b","level":"full","minutes":25,"crew":1}`, `{"booth":"b","level":"full","minutes":10001,"crew":51}`, `{"from":"a","to":"b","mass_mg":1}x`,
			`{"from":"` + strings.Repeat("n", 65) + `","to":"b","mass_mg":1}`} {
			f.Add(kind, []byte(b))
		}
	}
	var q bodies
	f.Fuzz(func(t *testing.T, kind string, raw []byte) {
		got, end := q.read(kind, 1, append([]byte("["), raw...), 1)
		if got == nil || end < 0 {
			if got != nil || end != -1 {
				t.Fatalf("%s %q was read as %+v up to %d", kind, raw, got, end)
			}
			return
		}
		raw = raw[:end-1]
		var p fastjson.Parser
		v, err := p.ParseBytes(raw)
		if err != nil {
			t.Fatalf("%s %q was read in spite of %v", kind, raw, err)
		}
		want, err := shop.DecodeBody(kind, 1, v)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("%s %q was read as %+v, want %+v, %v", kind, raw, got, want, err)
		}
	})
}

func TestTransfersNeedNoTree(t *testing.T) {
	var q bodies
	for kind, b := range map[string]shop.Body{
		"powder.moved":     &shop.PowderMoved{From: "rack", To: "hop", Mass: 5, Lot: "L1"},
		"powder.recovered": &shop.PowderRecovered{Run: "r", From: "hop", To: "bin", Mass: 5, Sieved: true},
		"place.weighed":    &shop.PlaceWeighed{Place: "hop", Mass: 123456789, SD: 5},
		"run.opened":       &shop.RunOpened{Run: "r", Booth: "b", Powder: "p", Feed: "hop", Mode: "collect", Setup: "s"},
		"run.closed":       &shop.RunClosed{Run: "r"},
		"booth.cleaned":    &shop.BoothCleaned{Booth: "b", Level: "full", Minutes: 25, Crew: 2},
	} {
		if got, end := q.read(kind, 1, form.Encode(b), 0); !reflect.DeepEqual(got, b) || end != len(form.Encode(b)) {
			t.Errorf("%s %s is read as %+v up to %d", kind, form.Encode(b), got, end)
		}
	}
}
