package calc_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

var update = flag.Bool("update", false, "write testdata/reference/calc-outputs.jsonl anew")

const (
	goldenFile   = referenceDir + "/calc-outputs.jsonl"
	goldenVaried = 5     // inputs of each calculation besides its example
	goldenTol    = 1e-12 // relative, of floats; everything else is exact
)

// golden is one line: what a calculation answered to an input.
type golden struct {
	Calc    string          `json:"calc"`
	In      json.RawMessage `json:"in"`
	Out     json.RawMessage `json:"out,omitempty"`
	Refused string          `json:"refused,omitempty"` // the error in words, of an input that is not answered
}

// What every calculation answers is the same natively and under WebAssembly, now
// and later: this test runs on both. After a change that is meant:
//
//	go test ./domain/calc -run OutputsStay -update
func TestOutputsStayTheSameEverywhere(t *testing.T) {
	if *update {
		writeGolden(t)
	}
	data, err := os.ReadFile(goldenFile)
	if err != nil {
		t.Fatal(err)
	}
	lines := map[string]int{}
	for i, line := range bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n")) {
		var want golden
		if err := json.Unmarshal(line, &want); err != nil {
			t.Fatalf("line %d: %v", i+1, err)
		}
		if want.Refused == "" {
			lines[want.Calc]++
		}
		got := answer(t, want.Calc, want.In)
		if got.Refused != want.Refused {
			t.Errorf("line %d: %s with %s: refused %q; want %q", i+1, want.Calc, want.In, got.Refused, want.Refused)
			continue
		}
		if want.Refused == "" {
			d, err := calc.Describe(want.Calc)
			if err != nil {
				t.Fatal(err)
			}
			for _, off := range differences("", calc.Output{Type: "object", Of: d.Outputs}, decoded(t, got.Out), decoded(t, want.Out)) {
				t.Errorf("line %d: %s with %s: %s", i+1, want.Calc, want.In, off)
			}
		}
	}
	for _, c := range calc.All() {
		if lines[c.Name] != 1+goldenVaried {
			t.Errorf("%s is answered on %d lines; want its example and %d varied inputs", c.Name, lines[c.Name], goldenVaried)
		}
		first, _ := json.Marshal(golden{Calc: c.Name, In: json.RawMessage(c.Example)})
		if !bytes.Contains(data, append(bytes.TrimSuffix(first, []byte("}")), ',')) {
			t.Errorf("%s: its example does not stand in %s", c.Name, goldenFile)
		}
		delete(lines, c.Name)
	}
	for name := range lines {
		t.Errorf("%s is no calculation any more", name)
	}
}

// The comparison finds what it is there to find.
func TestDifferencesAreFound(t *testing.T) {
	d, err := calc.Describe("reconcile.run")
	if err != nil {
		t.Fatal(err)
	}
	shape := calc.Output{Type: "object", Of: d.Outputs}
	c, _ := calc.Find("reconcile.run")
	text := string(answer(t, c.Name, []byte(c.Example)).Out)
	tests := []struct {
		name, old, new string
		found          int
	}{
		{"nothing differs", "", "", 0},
		{"a float off by 1e-9", `"measured":20,`, `"measured":20.00000002,`, 1},
		{"a float off by 1e-13", `"measured":20,`, `"measured":20.000000000002,`, 0},
		{"another integer", `"redundancy":3`, `"redundancy":2`, 1},
		{"another truth", `"fits":false`, `"fits":true`, 1},
		{"a list that is longer", `"suspects":[`, `"suspects":["x",`, 1},
		{"a field that is gone", `"redundancy":3,`, ``, 1},
		{"a field that is new", `"redundancy":3,`, `"redundancy":3,"new":1,`, 1},
		{"a text deep inside", `"id":"lost"`, `"id":"last"`, 1},
	}
	for _, tt := range tests {
		changed := strings.Replace(text, tt.old, tt.new, 1)
		if tt.found > 0 && changed == text {
			t.Errorf("%s: %s does not stand in %s", tt.name, tt.old, text)
		}
		if got := differences("", shape, decoded(t, []byte(changed)), decoded(t, []byte(text))); len(got) != tt.found {
			t.Errorf("%s: found %q; want %d", tt.name, got, tt.found)
		}
	}
}

func answer(t *testing.T, name string, in []byte) golden {
	t.Helper()
	g := golden{Calc: name, In: in}
	out, err := calc.Run(name, in)
	var fe *form.Error
	var re *calc.RangeError
	switch {
	case err == nil:
		g.Out = out
	case errors.As(err, &fe), errors.As(err, &re):
		g.Refused = err.Error()
	default:
		t.Fatalf("%s with %s: %v", name, in, err)
	}
	return g
}

func decoded(t *testing.T, data []byte) (v any) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		t.Fatalf("%s: %v", data, err)
	}
	return v
}

// differences compares two outputs by their declaration: floats to goldenTol,
// everything else exactly.
func differences(at string, o calc.Output, got, want any) (list []string) {
	off := func() []string { return []string{fmt.Sprintf("%s is %v; want %v", at, got, want)} }
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok || !slices.Equal(slices.Sorted(maps.Keys(g)), slices.Sorted(maps.Keys(w))) {
			return off()
		}
		for _, f := range o.Of {
			if _, there := w[f.Name]; there {
				list = append(list, differences(at+"."+f.Name, f, g[f.Name], w[f.Name])...)
			}
		}
		return list
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return off()
		}
		each := calc.Output{Type: "object", Of: o.Of}
		if len(o.Of) == 1 && o.Of[0].Name == "" {
			each = o.Of[0]
		}
		for i := range w {
			list = append(list, differences(fmt.Sprintf("%s[%d]", at, i), each, g[i], w[i])...)
		}
		return list
	case json.Number:
		g, ok := got.(json.Number)
		if ok && o.Type == "float" {
			x, _ := g.Float64()
			y, _ := w.Float64()
			if math.Abs(x-y) <= goldenTol*math.Abs(y) {
				return nil
			}
		}
	}
	if got != want {
		return off()
	}
	return nil
}

func writeGolden(t *testing.T) {
	var b bytes.Buffer
	for _, c := range calc.All() {
		for _, in := range append([]json.RawMessage{json.RawMessage(c.Example)}, varied(t, c)...) {
			line, err := json.Marshal(answer(t, c.Name, in))
			if err != nil {
				t.Fatal(err)
			}
			b.Write(append(line, '\n'))
		}
	}
	if err := os.WriteFile(goldenFile, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// varied makes inputs from the example and the declared ranges, always the same:
// goldenVaried that are answered, then one that is refused where one was met.
func varied(t *testing.T, c calc.Calc) (ins []json.RawMessage) {
	r := rand.New(rand.NewPCG(uint64(len(c.Name)), 2026))
	fields := form.Describe(c.In())
	var refused json.RawMessage
	for try := 0; try < 2000 && len(ins) < goldenVaried; try++ {
		in, err := json.Marshal(vary(r, form.Field{Type: "object", Of: fields}, decoded(t, []byte(c.Example))))
		if err != nil {
			t.Fatal(err)
		}
		seen := func(other json.RawMessage) bool { return bytes.Equal(other, in) }
		if slices.ContainsFunc(ins, seen) {
			continue
		}
		if answer(t, c.Name, in).Refused == "" {
			ins = append(ins, in)
		} else if refused == nil {
			refused = in
		}
	}
	if len(ins) < goldenVaried {
		t.Fatalf("%s: only %d inputs are answered", c.Name, len(ins))
	}
	if refused != nil {
		ins = append(ins, refused)
	}
	return ins
}

// vary changes about half of the figures of v, most of them by up to half, some
// to anything in their range; other options and truths at times.
func vary(r *rand.Rand, f form.Field, v any) any {
	switch w := v.(type) {
	case map[string]any:
		for _, g := range f.Of {
			if x, there := w[g.Name]; there {
				w[g.Name] = vary(r, g, x)
			}
		}
	case []any:
		each := form.Field{Type: "object", Of: f.Of}
		if len(f.Of) == 1 && f.Of[0].Name == "" {
			each = f.Of[0]
		}
		for i := range w {
			w[i] = vary(r, each, w[i])
		}
	case json.Number:
		if r.IntN(2) == 0 {
			return variedNumber(r, f, w)
		}
	case bool:
		return w != (r.IntN(3) == 0)
	case string:
		if f.Type == "enum" && r.IntN(2) == 0 {
			return f.Options[r.IntN(len(f.Options))]
		}
	}
	return v
}

func variedNumber(r *rand.Rand, f form.Field, was json.Number) json.Number {
	x, err := was.Float64()
	if err != nil || f.Min == nil || f.Max == nil {
		return was
	}
	if r.IntN(8) == 0 {
		x = *f.Min + (*f.Max-*f.Min)*float64(r.IntN(1001))/1000
	} else {
		x = x * float64(500+r.IntN(1001)) / 1000
	}
	x = max(*f.Min, min(*f.Max, x))
	if f.Type == "float" {
		return json.Number(fmt.Sprintf("%.6g", x))
	}
	return json.Number(fmt.Sprint(int64(math.Round(x))))
}
