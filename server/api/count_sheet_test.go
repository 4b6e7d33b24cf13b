package api_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"regexp"
	"testing"
)

// Whoever counts the stock gets every shelf with its lots and every vessel, but no mass:
// what the books say would lead the eye.
func TestACountSheetShowsWhereToCountAndNotHowMuch(t *testing.T) {
	p := start(t, options{})
	mia, cid := p.signIn("p-mia", "m"), p.signIn("p-cid", "c")
	mia.push(mia.entry("place.set", `{"place":"shelf-0","name":"Rack 0","kind":"shelf"}`),
		mia.entry("lot.received", `{"lot":"lot-2","powder":"pw-1","batch":"B-2","place":"shelf-1","mass_mg":7654321}`),
		mia.entry("powder.moved", `{"from":"shelf-1","to":"shelf-0","mass_mg":3456789,"lot":"lot-2"}`),
		mia.entry("powder.moved", moved), mia.entry("powder.moved", `{"from":"shelf-1","to":"hopper-1","mass_mg":2345678,"lot":"lot-2"}`))
	powder := `'=cmd|'x'`
	want := [][]string{
		{"place", "lot", "powder", "batch", "found_kg", "counted_by"},
		{"Hopper 1", "", "", "", "", ""},
		{"Rack 0", "lot-2", powder, "B-2", "", ""},
		{"Shelf 1", "lot-1", powder, "B-1", "", ""},
		{"Shelf 1", "lot-2", powder, "B-2", "", ""},
	}
	for _, ph := range []*phone{mia, cid} {
		b := ph.do("GET", "/api/v1/export/count-sheet.csv", nil).want(200).body
		rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
		if err != nil || fmt.Sprint(rows) != fmt.Sprint(want) {
			t.Errorf("%s: %q, %v; want %q", ph.person, rows, err, want)
		}
		cells := cells(t, "count-sheet", ph.do("GET", "/api/v1/export/count-sheet.xlsx", nil).want(200).body)
		if mass := regexp.MustCompile(`\d\.\d{6}`).FindString(cells + string(b)); mass != "" {
			t.Errorf("%s is shown a mass: %s", ph.person, mass)
		}
	}
}
