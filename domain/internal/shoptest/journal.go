package shoptest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// A journal in tests is lines a foreman could read:
//
//	06:30 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":5000000,"lot":"L1"}
//
// The clock is 2 March 2026, UTC. A line may begin with a name for the entry:
// "fill: 06:30 ana …".
func Journal(t testing.TB, text string) []shop.Entry {
	t.Helper()
	var out []shop.Entry
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
		out = append(out, EntryAt(t, id, f[0], f[1], f[2], f[3], int64(len(out)+1)))
	}
	return out
}

// EntryAt is one line of a journal.
func EntryAt(t testing.TB, id, clock, by, name, body string, n int64) shop.Entry {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", "2026-03-02 "+clock)
	if err != nil {
		t.Fatal(err)
	}
	b, err := kind.Decode(name, 1, []byte(body))
	if err != nil {
		t.Fatalf("%s %s: %v", name, body, err)
	}
	return shop.Entry{ID: id, Kind: name, V: 1, By: by, Device: "phone-1", N: n, AtMS: at.UnixMilli(), EffectiveMS: at.UnixMilli(), Body: b}
}

// Morning is a shop before its first run: powders, a booth, places, people, two lots.
const Morning = `
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

// More is the morning with a second black batch, and a second shelf with nothing on it.
const More = Morning + `
	05:12 cleo lot.received {"lot":"K2","powder":"black","batch":"K-205","place":"shelf","mass_mg":20000000}
	05:13 mia place.set {"place":"empty","name":"Rack B","kind":"shelf"}
`

// FoldOf folds a journal and proves that the books hold.
func FoldOf(t testing.TB, text string) *shop.Fold {
	t.Helper()
	f := shop.NewFold()
	f.Add(Journal(t, text)...)
	Check(t, f)
	return f
}

// Check proves that the books hold.
func Check(t testing.TB, f *shop.Fold) {
	t.Helper()
	if err := f.State().Check(); err != nil {
		t.Fatalf("the books do not hold: %v", err)
	}
}

// Content is what a place holds: "W1/0 5000000, W1/1 200" by lot, passes and mg.
func Content(f *shop.Fold, place string) string {
	var parts []string
	for _, p := range f.State().Book.Places[place].Content {
		parts = append(parts, fmt.Sprintf("%s/%d %d", p.Lot, p.Passes, p.Mass))
	}
	return strings.Join(parts, ", ")
}

// Codes are the codes of the open issues, in their order.
func Codes(f *shop.Fold) string {
	var out []string
	for _, i := range f.State().Issues {
		out = append(out, i.Code)
	}
	return strings.Join(out, " ")
}

// CodesAt are the codes of the open issues, each with its place, sorted.
func CodesAt(f *shop.Fold) (out []string) {
	for _, i := range f.State().Issues {
		out = append(out, i.Code+" "+i.Place)
	}
	slices.Sort(out)
	return out
}

// Hash is the SHA-256 of a fold's state, in hex.
func Hash(f *shop.Fold) string {
	h := sha256.Sum256(f.Save())
	return hex.EncodeToString(h[:])
}
