package shop_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// eachField walks over the declared fields of a form.
func eachField(fields []form.Field, path string, fn func(path string, f form.Field)) {
	for _, f := range fields {
		fn(path+f.Name, f)
		eachField(f.Of, path+f.Name+".", fn)
	}
}

func TestAFieldIsForTheOfficeOnlyIfItsNameSaysSo(t *testing.T) {
	marked := []string{}
	check := func(where string, f form.Fields) {
		eachField(form.Describe(f), where+" ", func(path string, f form.Field) {
			if named := kind.IsOffice([]byte(f.Name)); named != f.Office {
				t.Errorf("%s: marked for the office %v, by its name %v: a redacted entry would be wrong", path, f.Office, named)
			}
			if f.Office && !f.Optional {
				t.Errorf("%s: a redacted entry lacks it, so it must be optional", path)
			}
			if f.Office {
				marked = append(marked, path)
			}
		})
	}
	for _, name := range slices.Sorted(slices.Values(kind.Names())) {
		check(name, kind.New(name))
	}
	if want := []string{"lot.received price", "powder.set price"}; !slices.Equal(marked, want) {
		t.Errorf("for the office only are %v, want %v", marked, want)
	}
	check("state", shop.NewState())
}

// pricedEntries is a careless shop that also knows prices.
func pricedEntries(seed uint64, n int) []shop.Entry {
	r := rand.New(rand.NewPCG(seed, 7))
	es := shoptest.RandomEntries(seed, n)
	for i := range es {
		if l, ok := es[i].Body.(*kind.LotReceived); ok {
			l.Price = r.Int64N(3) * 777
		}
		if r.IntN(6) == 0 {
			es[i].Kind, es[i].Body = "powder.set", &kind.PowderSet{Powder: []string{"pa", "pb"}[r.IntN(2)], Name: "P", Chemistry: "epoxy", SGMilli: 1500,
				FilmMin: 600, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: r.Int64N(500), Price: r.Int64N(3) * 999}
		}
	}
	return es
}

// redactedEntry is what a phone without prices reads of an entry.
func redactedEntry(t *testing.T, e shop.Entry) shop.Entry {
	t.Helper()
	raw, err := kind.Redact(fmt.Appendf(nil, `{"kind":%q,"body":%s}`, e.Kind, form.Encode(e.Body)))
	if err != nil {
		t.Fatal(err)
	}
	var parts struct{ Body json.RawMessage }
	if err := json.Unmarshal(raw, &parts); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
	body := kind.New(e.Kind)
	if err := form.Decode(parts.Body, body); err != nil {
		t.Fatalf("%s: %v", parts.Body, err)
	}
	e.Body = body
	return e
}

func TestTheRedactedStateIsTheStateOfRedactedEntries(t *testing.T) {
	priced := 0
	for seed := range uint64(1500) {
		es := pricedEntries(seed, 24)
		full, redacted := shop.NewFold(), shop.NewFold()
		full.Add(es...)
		for _, e := range es {
			redacted.Add(redactedEntry(t, e))
		}
		want, got := form.Encode(redacted.State()), form.Encode(full.State().Redacted())
		if !bytes.Equal(got, want) {
			t.Fatalf("seed %d:\n%s\nwant\n%s", seed, got, want)
		}
		if bytes.Contains(got, []byte("price")) {
			t.Fatalf("seed %d: a price is left in %s", seed, got)
		}
		if bytes.Contains(form.Encode(full.State()), []byte("price")) {
			priced++
		}
	}
	if priced < 1000 {
		t.Errorf("only %d of the shops know a price: the test proves little", priced)
	}
}

func TestAPowderThatIsEditedWithoutItsPriceKeepsIt(t *testing.T) {
	set := func(name string, price int64) *kind.PowderSet {
		return &kind.PowderSet{Powder: "pa", Name: name, Chemistry: "epoxy", SGMilli: 1500, FilmMin: 1, FilmTarget: 2, FilmMax: 3, Price: price}
	}
	f := shop.NewFold()
	for i, b := range []*kind.PowderSet{set("A", 500), set("B", 0), set("C", 600), set("D", 0)} {
		f.Add(shop.Entry{ID: fmt.Sprint(i), Kind: "powder.set", V: 1, N: int64(i + 1), EffectiveMS: int64(i), AtMS: int64(i), Body: b, Outcome: shop.Accepted})
	}
	if p := f.State().Powders["pa"]; p.Name != "D" || p.Price != 600 {
		t.Errorf("%s at %d, want D at the last price that was given", p.Name, p.Price)
	}
}
