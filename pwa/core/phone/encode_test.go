package phone

import (
	"bytes"
	"encoding/json"
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/domain/view"

	"hoppertally/sync/replica"

	"pgregory.net/rapid"
)

// plain is encoding/json without HTML escapes: what appendJSON must equal.
func plain(t interface{ Fatal(...any) }, v any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n"))
}

type part struct {
	ID   string             `json:"id"`
	Mass int64              `json:"mass_mg"`
	Lab  *[3]float64        `json:"lab,omitempty"`
	Of   []part             `json:"of,omitempty"`
	By   map[string]float64 `json:"by"`
	Ok   bool               `json:"ok,omitempty"`
	Skip string             `json:"-"`
}

type whole struct {
	part
	Name string `json:"name"`
}

func TestJSONIsWhatEncodingJSONWrites(t *testing.T) {
	number := rapid.Float64().Filter(func(x float64) bool { return x-x == 0 })
	rapid.Check(t, func(t *rapid.T) {
		p := part{ID: rapid.String().Draw(t, "id"), Mass: rapid.Int64().Draw(t, "mass"), Ok: rapid.Bool().Draw(t, "ok"), Skip: "x",
			By: rapid.MapOf(rapid.StringMatching(`[a-z"\\\n]{0,4}`), number).Draw(t, "by")}
		if rapid.Bool().Draw(t, "lab") {
			p.Lab = &[3]float64{number.Draw(t, "l"), number.Draw(t, "a"), number.Draw(t, "b")}
		}
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			p.Of = append(p.Of, part{ID: rapid.String().Draw(t, "sub"), By: map[string]float64{}})
		}
		w := whole{p, "n"}
		var got, want any
		if err := json.Unmarshal(appendJSON(nil, w), &got); err != nil {
			t.Fatalf("%s: %v", appendJSON(nil, w), err)
		}
		if err := json.Unmarshal(plain(t, w), &want); err != nil {
			t.Fatal(err)
		}
		if a, b := plain(t, got), plain(t, want); !bytes.Equal(a, b) {
			t.Errorf("got %s, want %s", a, b)
		}
	})
}

// Own rows have a way of their own, which must not forget a field.
func TestRowsAreSpelledAsEncodingJSONWould(t *testing.T) {
	rows := []replica.Own{{}, {N: 3, ID: "a", By: "p", Bytes: []byte("x"), RecordedMS: -4, Mark: replica.Held, Epoch: "e-1", Seq: 5, EffectiveMS: 6, Reason: "why \"so\"", Late: true}}
	if got, want := string(appendJSON(nil, rows)), string(plain(t, rows)); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestTextsNeedNoHTMLEscapes(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"a<b>&c", `"a<b>&c"`},
		{"quote \" and \\", `"quote \" and \\"`},
		{"line\nend\x00", `"line\u000aend\u0000"`},
		{"ΔE₀₀ 74", `"ΔE₀₀ 74"`},
		{"broken \xff", "\"broken \uFFFD\""},
	} {
		if got := string(appendText(nil, tt.in)); got != tt.want {
			t.Errorf("appendText(%q) = %s, want %s (RFC 8259, section 7)", tt.in, got, tt.want)
		}
	}
}

// The page's types say list where Go may hold none at all.
func TestANilListIsAnEmptyOne(t *testing.T) {
	if got := string(appendJSON(nil, struct {
		L []string `json:"l"`
	}{})); got != `{"l":[]}` {
		t.Errorf("got %s", got)
	}
}

func TestEveryViewOfAnEmptyShopCanBeSpelled(t *testing.T) {
	for _, name := range view.Names() {
		out, err := view.Value(shop.NewFold(), view.Reader{}, name, nil)
		if err != nil {
			continue // asks for a thing that is not there
		}
		if b := appendJSON(nil, out); !json.Valid(b) || bytes.Contains(b, []byte("null")) {
			t.Errorf("%s: %s", name, b)
		}
	}
}
