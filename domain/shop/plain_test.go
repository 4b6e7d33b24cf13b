package shop

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/form"
)

func TestAnEntryIsCutByteForByte(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"nothing to cut", `{"a":1, "b":[{"c":"x"}]}`, `{"a":1, "b":[{"c":"x"}]}`},
		{"the only member", `{"price":7}`, `{}`},
		{"the first", `{ "price" : 7 , "a" : 1 }`, `{  "a" : 1 }`},
		{"the last", `{"a":1, "price":7 }`, `{"a":1}`},
		{"one in the middle", `{"a":1,"price":7,"b":2}`, `{"a":1,"b":2}`},
		{"two next to each other", `{"a":1,"price":7,"cost":8,"b":2}`, `{"a":1,"b":2}`},
		{"all of several", `{"price":7,"cost":8}`, `{}`},
		{"the first two", `{"price":7,"cost":8,"a":1}`, `{"a":1}`},
		{"the last two", `{"a":1,"price":7,"cost":8}`, `{"a":1}`},
		{"deep inside objects and lists", `{"a":{"b":[1,{"price":7,"c":[]}]},"d":"e"}`, `{"a":{"b":[1,{"c":[]}]},"d":"e"}`},
		{"with what stands inside it", `{"a":1,"cost":{"x":[{"price":1,"y":2}],"z":3},"b":{"price":9}}`, `{"a":1,"b":{}}`},
		{"a name that is spelled with escapes", `{"a":1,"pr\u0069ce":7}`, `{"a":1}`},
		{"a longer name, of a kind of tomorrow", `{"kind":"order.sent","v":3,"body":{"unit_price_cents":7,"costs":[1],"note":"ok"}}`, `{"kind":"order.sent","v":3,"body":{"note":"ok"}}`},
		{"names in capitals, at any depth", `{"Price":1,"a":[{"PRICE_per_kg":2,"b":{"unitCost":{"x":3}}}],"c":4,"COSTS":5}`, `{"a":[{"b":{}}],"c":4}`},
		{"capitals that are escaped", `{"a":1,"\u0050RICE":7,"C\u006FsT":8,"\u0063ost":9}`, `{"a":1}`},
		{"letters whose other case is one of the word's", `{"prıce":1,"PRİCE":2,"a":1,"COſT":3,"co\u017ft":4,"pr\u0131ce":5}`, `{"a":1}`},
		{"the word in capitals as a value stays", `{"why":"PRICE","b":["Cost","COſT"]}`, `{"why":"PRICE","b":["Cost","COſT"]}`},
		{"the word as a value stays", `{"why":"price","b":["cost"],"c":"\u0070"}`, `{"why":"price","b":["cost"],"c":"\u0070"}`},
		{"brackets and quotes in texts", `{"a":"}\"price\":7,{[","price":"],}\"","b":1}`, `{"a":"}\"price\":7,{[","b":1}`},
		{"white space of every sort", "{\n\t\"a\" : -1.5e3 ,\r\n \"price\" : 7\n}\n", "{\n\t\"a\" : -1.5e3 }\n"},
	}
	for _, tt := range tests {
		in := []byte(tt.in)
		got, err := Plain(in)
		if err != nil || string(got) != tt.want {
			t.Errorf("%s:\n%s\n%s, %v, want\n%s", tt.name, tt.in, got, err, tt.want)
		}
		if string(in) != tt.in {
			t.Errorf("%s: the argument was changed", tt.name)
		}
		if again, err := Plain(got); err != nil || !bytes.Equal(again, got) {
			t.Errorf("%s: cut twice is %s, %v", tt.name, again, err)
		}
	}
	for _, in := range []string{`price`, `["price"]`, `{"price":`, `{"price"`, `{"price":7`, `{"price":7}}`, `{"a":"price`, `{"price" 7}`, `{"a":[1 2],"price":1}`, `{"price":1,}`, `{,"price":1}`, `{"a":[1,],"price":1}`, `{"price\`} {
		if got, err := Plain([]byte(in)); err != ErrPlain {
			t.Errorf("%s: %s, %v, want ErrPlain", in, got, err)
		}
	}
}

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
			if named := isOffice([]byte(f.Name)); named != f.Office {
				t.Errorf("%s: marked for the office %v, by its name %v: a plain entry would be wrong", path, f.Office, named)
			}
			if f.Office && !f.Optional {
				t.Errorf("%s: a plain entry lacks it, so it must be optional", path)
			}
			if f.Office {
				marked = append(marked, path)
			}
		})
	}
	for _, kind := range slices.Sorted(slices.Values(Kinds())) {
		check(kind, NewBody(kind))
	}
	if want := []string{"lot.received price", "powder.set price"}; !slices.Equal(marked, want) {
		t.Errorf("for the office only are %v, want %v", marked, want)
	}
	check("state", NewState())
}

// pricedEntries is a careless shop that also knows prices.
func pricedEntries(seed uint64, n int) []Entry {
	r := rand.New(rand.NewPCG(seed, 7))
	es := randomEntries(seed, n)
	for i := range es {
		if l, ok := es[i].Body.(*LotReceived); ok {
			l.Price = r.Int64N(3) * 777
		}
		if r.IntN(6) == 0 {
			es[i].Kind, es[i].Body = "powder.set", &PowderSet{Powder: []string{"pa", "pb"}[r.IntN(2)], Name: "P", Chemistry: "epoxy", SGMilli: 1500,
				FilmMin: 600, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: r.Int64N(500), Price: r.Int64N(3) * 999}
		}
	}
	return es
}

// plainEntry is what a phone without prices reads of an entry.
func plainEntry(t *testing.T, e Entry) Entry {
	t.Helper()
	raw, err := Plain(fmt.Appendf(nil, `{"kind":%q,"body":%s}`, e.Kind, form.Encode(e.Body)))
	if err != nil {
		t.Fatal(err)
	}
	var parts struct{ Body json.RawMessage }
	if err := json.Unmarshal(raw, &parts); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
	body := NewBody(e.Kind)
	if err := form.Decode(parts.Body, body); err != nil {
		t.Fatalf("%s: %v", parts.Body, err)
	}
	e.Body = body
	return e
}

func TestThePlainStateIsTheStateOfPlainEntries(t *testing.T) {
	priced := 0
	for seed := range uint64(1500) {
		es := pricedEntries(seed, 24)
		full, plain := NewFold(), NewFold()
		full.Add(es...)
		for _, e := range es {
			plain.Add(plainEntry(t, e))
		}
		want, got := form.Encode(plain.State()), form.Encode(full.State().Plain())
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
	set := func(name string, price int64) *PowderSet {
		return &PowderSet{Powder: "pa", Name: name, Chemistry: "epoxy", SGMilli: 1500, FilmMin: 1, FilmTarget: 2, FilmMax: 3, Price: price}
	}
	f := NewFold()
	for i, b := range []*PowderSet{set("A", 500), set("B", 0), set("C", 600), set("D", 0)} {
		f.Add(Entry{ID: fmt.Sprint(i), Kind: "powder.set", V: 1, N: int64(i + 1), EffectiveMS: int64(i), AtMS: int64(i), Body: b, Outcome: Accepted})
	}
	if p := f.State().Powders["pa"]; p.Name != "D" || p.Price != 600 {
		t.Errorf("%s at %d, want D at the last price that was given", p.Name, p.Price)
	}
}

func FuzzPlain(f *testing.F) {
	for _, s := range []string{`{"a":1,"price":7}`, `{"pr\u0069ce":[{"cost":"}"}]}`, `{"body":{"price":1,"b":{"price":2}}}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		out, err := Plain(raw)
		var before any
		if json.Unmarshal(raw, &before) != nil {
			return // Plain promises nothing, but to return
		}
		m, isObject := before.(map[string]any)
		if err != nil {
			if isObject {
				t.Fatalf("%q: %v", raw, err)
			}
			return
		}
		var after any
		if uerr := json.Unmarshal(out, &after); uerr != nil {
			t.Fatalf("%q became %q: %v", raw, out, uerr)
		}
		if isObject && !reflect.DeepEqual(after, any(without(m))) && !hasTwice(raw) {
			t.Fatalf("%q became %q", raw, out)
		}
	})
}

// without is the naive Plain, over decoded JSON.
func without(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for k, x := range v {
			if name := strings.ToLower(strings.ToUpper(k)); !strings.Contains(name, "price") && !strings.Contains(name, "cost") {
				out[k] = without(x)
			}
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = without(v[i])
		}
		return out
	}
	return v
}

// hasTwice tells of bytes that encoding/json repairs or that an entry may not hold,
// so that the naive way differs.
func hasTwice(raw []byte) bool {
	return bytes.ContainsRune(raw, '\uFFFD') || bytes.Contains(raw, []byte(`\u`)) || !json.Valid(raw)
}
