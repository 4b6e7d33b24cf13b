package kind_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"hoppertally/domain/kind"
)

func TestAnEntryIsCutByteForByte(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"nothing to leave out", `{"a":1, "b":[{"c":"x"}]}`, `{"a":1, "b":[{"c":"x"}]}`},
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
		got, err := kind.Redact(in)
		if err != nil || string(got) != tt.want {
			t.Errorf("%s:\n%s\n%s, %v, want\n%s", tt.name, tt.in, got, err, tt.want)
		}
		if string(in) != tt.in {
			t.Errorf("%s: the argument was changed", tt.name)
		}
		if again, err := kind.Redact(got); err != nil || !bytes.Equal(again, got) {
			t.Errorf("%s: redacted twice is %s, %v", tt.name, again, err)
		}
	}
	for _, in := range []string{`price`, `["price"]`, `{"price":`, `{"price"`, `{"price":7`, `{"price":7}}`, `{"a":"price`, `{"price" 7}`, `{"a":[1 2],"price":1}`, `{"price":1,}`, `{,"price":1}`, `{"a":[1,],"price":1}`, `{"price\`} {
		if got, err := kind.Redact([]byte(in)); err != kind.ErrRedact {
			t.Errorf("%s: %s, %v, want ErrRedact", in, got, err)
		}
	}
}

func FuzzRedact(f *testing.F) {
	for _, s := range []string{`{"a":1,"price":7}`, `{"pr\u0069ce":[{"cost":"}"}]}`, `{"body":{"price":1,"b":{"price":2}}}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		out, err := kind.Redact(raw)
		var before any
		if json.Unmarshal(raw, &before) != nil {
			return // Redact promises nothing, but to return
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

// without is the naive Redact, over decoded JSON.
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
