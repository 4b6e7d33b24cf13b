package shop

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// A journal in tests is lines a foreman could read:
//
//	06:30 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":5000000,"lot":"L1"}
//
// The clock is 2 March 2026, UTC. A line may begin with a name for the entry:
// "fill: 06:30 ana …".
func journal(t testing.TB, text string) []Entry {
	t.Helper()
	var out []Entry
	for _, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		id := fmt.Sprintf("e%03d", len(out)+1)
		if name, rest, ok := strings.Cut(line, ": "); ok && !strings.Contains(name, " ") {
			id, line = name, rest
		}
		f := strings.SplitN(line, " ", 4)
		if len(f) != 4 {
			t.Fatalf("journal line %q has no time, person, kind and body", line)
		}
		out = append(out, entryAt(t, id, f[0], f[1], f[2], f[3], int64(len(out)+1)))
	}
	return out
}

// entryAt is one line of a journal.
func entryAt(t testing.TB, id, clock, by, kind, body string, n int64) Entry {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", "2026-03-02 "+clock)
	if err != nil {
		t.Fatal(err)
	}
	b, err := DecodeBody(kind, 1, []byte(body))
	if err != nil {
		t.Fatalf("%s %s: %v", kind, body, err)
	}
	return Entry{ID: id, Kind: kind, V: 1, By: by, Device: "phone-1", N: n, AtMS: at.UnixMilli(), EffectiveMS: at.UnixMilli(), Body: b}
}

// morning is a shop before its first run: powders, a booth, places, people, two lots.
const morning = `
	05:00 mia shop.set {"name":"Brackwater Coatings","zone":"Europe/Madrid","units":"metric","currency":"EUR","lang":"en"}
	05:00 mia person.set {"person":"mia","name":"Mia Ferrolan","role":"manager"}
	05:00 mia person.set {"person":"ana","name":"Ana Quintres","role":"coater"}
	05:00 mia person.set {"person":"cleo","name":"Cleo Barvane","role":"clerk"}
	05:00 mia powder.set {"powder":"white","name":"Salt Flat White","chemistry":"polyester","finish":"gloss","sg_milli":1600,"lab":[95,-1,2],"film_um10":{"min":600,"target":700,"max":900},"reclaim_max_pm":300,"passes_max":5}
	05:00 mia powder.set {"powder":"black","name":"Kiln Black","chemistry":"polyester","finish":"matt","sg_milli":1450,"lab":[12,0,0],"film_um10":{"min":600,"target":700,"max":900},"reclaim_max_pm":400}
	05:00 mia booth.set {"booth":"b1","name":"Booth 1","te_pm":600,"recovery_pm":900,"exhaust_m3h":12000}
	05:00 mia place.set {"place":"shelf","name":"Rack A","kind":"shelf"}
	05:00 mia place.set {"place":"hopper","name":"Hopper","kind":"vessel","booth":"b1","tare_mg":8000000,"capacity_mg":25000000}
	05:00 mia place.set {"place":"bin","name":"Reclaim bin","kind":"vessel","booth":"b1"}
	05:00 mia place.set {"place":"drum","name":"Scrap drum","kind":"scrap","booth":"b1"}
	05:10 cleo lot.received {"lot":"W1","powder":"white","batch":"W-771","place":"shelf","mass_mg":50000000,"use_by":"2026-12-01"}
	05:11 cleo lot.received {"lot":"K1","powder":"black","batch":"K-204","place":"shelf","mass_mg":40000000}
`

// foldOf folds a journal and proves that the books hold.
func foldOf(t testing.TB, text string) *Fold {
	t.Helper()
	f := NewFold()
	f.Add(journal(t, text)...)
	check(t, f)
	return f
}

// check proves that the books hold.
func check(t testing.TB, f *Fold) {
	t.Helper()
	if err := f.State().Check(); err != nil {
		t.Fatalf("the books do not hold: %v", err)
	}
}

// content is what a place holds: "W1/0 5000000, W1/1 200" by lot, passes and mg.
func content(f *Fold, place string) string {
	var parts []string
	for _, p := range f.State().Book.Places[place].Content {
		parts = append(parts, fmt.Sprintf("%s/%d %d", p.Lot, p.Passes, p.Mass))
	}
	return strings.Join(parts, ", ")
}

// codes are the codes of the open issues, in their order.
func codes(f *Fold) string {
	var out []string
	for _, i := range f.State().Issues {
		out = append(out, i.Code)
	}
	return strings.Join(out, " ")
}

// reader is the manager of the shop of morning, late on that day.
var reader = Reader{Person: "mia", Role: "manager", Style: measure.Style{Units: "metric", Lang: "en"},
	NowMS: time.Date(2026, 3, 2, 16, 0, 0, 0, time.UTC).UnixMilli()}

// oneDayMS is a day in milliseconds.
const oneDayMS = 24 * 3600 * 1000

// see is a view as the type that answers it.
func see[T any](t testing.TB, f *Fold, r Reader, name, params string) T {
	t.Helper()
	v, err := ViewValue(f, r, name, []byte(params))
	if err != nil {
		t.Fatalf("view %s %s: %v", name, params, err)
	}
	return v.(T)
}

// ids makes ids for what is new: new1, new2 and so on.
func ids() func() string {
	n := 0
	return func() string { n++; return fmt.Sprintf("new%d", n) }
}

// plan works a form out, given as field, value, field, value.
func plan(t testing.TB, f *Fold, task string, kv ...string) Plan {
	t.Helper()
	m := map[string]string{}
	for i := 0; i+1 < len(kv); i += 2 {
		m[kv[i]] = kv[i+1]
	}
	return MakePlan(f, reader, task, m, ids())
}

// record plans and folds, as a phone does.
func record(t testing.TB, f *Fold, at string, task string, kv ...string) Plan {
	t.Helper()
	p := plan(t, f, task, kv...)
	if !p.OK {
		t.Fatalf("%s %v: %v", task, kv, p.Errors)
	}
	for i, d := range p.Entries {
		e := entryAt(t, fmt.Sprintf("%s-%s-%d", task, at, i), at, reader.Person, d.Kind, string(d.Body), int64(f.Len()+1))
		if d.AtMS != 0 {
			e.EffectiveMS = d.AtMS
		}
		f.Add(e)
	}
	check(t, f)
	for _, shown := range p.After { // what was shown is what is booked
		now, err := ViewValue(f, reader, "place", []byte(`{"place":"`+shown.Place+`"}`))
		if err != nil {
			t.Fatal(err)
		}
		booked := now.(VesselView)
		shown.WeighedMS, booked.WeighedMS = 0, 0 // the preview's time is the reader's, the journal has its own
		shown.FeedsRun, booked.FeedsRun = "", "" // a new run gets its id anew when it is recorded
		if plainText(shown) != plainText(booked) {
			t.Errorf("%s showed %s\nbut booked %s", task, plainText(shown), plainText(booked))
		}
	}
	return p
}

func plainText(v VesselView) string {
	out, _ := json.Marshal(v)
	return string(out)
}

func TestBodiesRoundTrip(t *testing.T) {
	for _, e := range journal(t, morning) {
		again, err := DecodeBody(e.Kind, 1, form.Encode(e.Body))
		if err != nil || string(form.Encode(again)) != string(form.Encode(e.Body)) {
			t.Errorf("%s: %s does not come back the same (%v)", e.Kind, form.Encode(e.Body), err)
		}
	}
}
