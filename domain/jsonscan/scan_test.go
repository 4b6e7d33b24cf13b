package jsonscan

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"
)

func whole(b []byte, depth int) (Fault, bool) {
	var s Scanner
	s.Reset(b)
	ok := s.Value(depth) && s.End()
	return s.Fault, ok
}

func TestWhatTheScannerTakesAndRefuses(t *testing.T) {
	for text, want := range map[string]Fault{
		`{}`: None, `[]`: None, ` [ 1 , -0 , 1.5e+3 , "a\u00e9\ud83d\ude00\n" , null , true , false ] `: None, `"\\"`: None, `0`: None,
		``: Syntax, `{`: Syntax, `[1,]`: Syntax, `{"a":1,}`: Syntax, `{"a"}`: Syntax, `{a:1}`: Syntax, `01`: Syntax, `1.`: Syntax, `.5`: Syntax, `+1`: Syntax, `1e`: Syntax,
		`nan`: Syntax, `nul`: Syntax, `"a`: Syntax, "\"\n\"": Syntax, `"\x"`: Syntax, `"\u12"`: Syntax, `"\ud800"`: Syntax, `"\udc00\ud800"`: Syntax, `[1]2`: Syntax,
		`{"\u0061":1}`: Syntax, `{"a":1,"a":2}`: Twice, `{"a":{"b":1,"b":2}}`: Twice, `[[[[1]]]]`: Deep, `{"a":[{"b":[]}]}`: Deep,
	} {
		if got, ok := whole([]byte(text), 3); got != want || ok != (want == None) {
			t.Errorf("%s: fault %d, want %d", text, got, want)
		}
	}
}

func TestManyKeysAreHeldAgainstEachOther(t *testing.T) {
	var b strings.Builder
	for i := range 40 {
		b.WriteString(`"` + strings.Repeat("k", i+1) + `":1,`)
	}
	if _, ok := whole([]byte(`{`+b.String()+`"x":1}`), 2); !ok {
		t.Error("different keys are refused")
	}
	if f, _ := whole([]byte(`{`+b.String()+`"kk":1}`), 2); f != Twice {
		t.Errorf("a key among many stands twice: fault %d", f)
	}
}

// What the scanner takes is JSON to the standard library too, and the other way round
// but for keys with escapes, keys that stand twice, and lone surrogates, which that one
// replaces.
func FuzzScan(f *testing.F) {
	f.Add([]byte(`{"a":[1,2.5e-3,"x\u00e9",null,{"b":false}]}`))
	f.Add([]byte(` [ "\ud83d\ude00" , -0.0 ] `))
	f.Fuzz(func(t *testing.T, b []byte) {
		if !utf8.Valid(b) {
			return
		}
		fault, ok := whole(b, 1000)
		isJSON := json.Valid(b)
		if ok && !isJSON || !ok && isJSON && fault == Syntax && !strings.Contains(string(b), `\`) {
			t.Fatalf("%q: taken %v, fault %d; JSON to the standard library: %v", b, ok, fault, isJSON)
		}
	})
}

// Texts come out as the standard library reads them.
func FuzzText(f *testing.F) {
	f.Add([]byte(`"a\u00e9\ud83d\ude00\n\/\"\\"`))
	f.Fuzz(func(t *testing.T, b []byte) {
		if !utf8.Valid(b) || len(b) == 0 || b[0] != '"' {
			return
		}
		s := Scanner{B: b}
		inner, isEscaped, ok := s.Text()
		if !ok {
			return
		}
		if isEscaped {
			inner = Unescape(inner)
		}
		var want string
		if err := json.Unmarshal(b[:s.I], &want); err != nil || want != string(inner) {
			t.Fatalf("%q is read as %q, want %q, %v", b[:s.I], inner, want, err)
		}
	})
}

func TestReadingAtAPlace(t *testing.T) {
	b := []byte(`"n":12,"t":"word","o":{"a":"}","b":[1,{}]},"z":9007199254740992,"y":01`)
	n, i := Whole(b, Lit(b, 0, `"n":`))
	if n != 12 || i != 6 || PastWhole(b, 4) != 6 {
		t.Errorf("a number is read as %d up to %d", n, i)
	}
	var w Words
	word, i := w.Read(b, Lit(b, i, `,"t":"`))
	if word != "word" {
		t.Errorf("a word is read as %q", word)
	}
	from := Lit(b, i, `,"o":`)
	if end := ObjectEnd(b, from); end < 0 || string(b[from:end]) != `{"a":"}","b":[1,{}]}` {
		t.Errorf("an object ends at %d", end)
	}
	for _, odd := range []string{`"z":`, `"y":`} {
		at := strings.Index(string(b), odd) + len(odd)
		if _, i := Whole(b, at); i != -1 || PastWhole(b, at) != -1 {
			t.Errorf("%s is read up to %d", b[at:], i)
		}
	}
	if _, i := Whole(b, -1); i != -1 || PastWhole(b, -1) != -1 || TextEnd(b, -1) != -1 || ObjectEnd(b, -1) != -1 || Lit(b, -1, "x") != -1 {
		t.Error("what was not understood before leads on")
	}
	if ObjectEnd([]byte(`{"a":1`), 0) != -1 || TextEnd([]byte(`abc`), 0) != -1 || TextEnd([]byte(`a\"`), 0) != -1 {
		t.Error("what does not end, or holds an escape, is read")
	}
}
