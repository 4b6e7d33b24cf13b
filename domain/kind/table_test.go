package kind_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
)

func TestBodiesRoundTrip(t *testing.T) {
	for _, e := range shoptest.Journal(t, shoptest.Morning) {
		again, err := kind.Decode(e.Kind, 1, form.Encode(e.Body))
		if err != nil || string(form.Encode(again)) != string(form.Encode(e.Body)) {
			t.Errorf("%s: %s does not come back the same (%v)", e.Kind, form.Encode(e.Body), err)
		}
	}
}

// Every kind's body survives being written and read, and refuses what it must.
func TestEveryKindRefusesBadFields(t *testing.T) {
	for _, name := range slices.Sorted(slices.Values(kind.Names())) {
		fields := form.Describe(kind.New(name))
		good := sample(fields)
		if _, err := kind.Decode(name, 1, []byte(good)); err != nil {
			t.Errorf("%s: a sample within all limits is refused: %v\n%s", name, err, good)
			continue
		}
		for _, bad := range []string{`{}`, `[]`, `null`, `"x"`, strings.TrimSuffix(good, "}") + `,"extra":1}`} {
			if bad == `{}` && !slices.ContainsFunc(fields, func(f form.Field) bool { return !f.Optional }) {
				continue
			}
			if _, err := kind.Decode(name, 1, []byte(bad)); err == nil {
				t.Errorf("%s takes %s", name, bad)
			}
		}
		for _, f := range fields {
			for _, v := range badValues(f) {
				body := sampleWith(fields, f.Name, v)
				_, err := kind.Decode(name, 1, []byte(body))
				fe, ok := err.(*form.Error)
				if !ok || !strings.HasPrefix(fe.Field, f.Name) {
					t.Errorf("%s takes %s = %s (%v)", name, f.Name, v, err)
				}
			}
		}
	}
	if _, err := kind.Decode("nobody.knows", 1, nil); err != kind.ErrNewer {
		t.Errorf("an unknown kind gives %v", err)
	}
	if _, err := kind.Decode("run.closed", 2, nil); err != kind.ErrNewer {
		t.Errorf("a newer version gives %v", err)
	}
}

func sample(fields []form.Field) string { return sampleWith(fields, "", "") }

func sampleWith(fields []form.Field, name, value string) string {
	var parts []string
	for _, f := range fields {
		v := sampleValue(f)
		if f.Name == name {
			v = value
		}
		parts = append(parts, fmt.Sprintf("%q:%s", f.Name, v))
	}
	return "{" + strings.Join(parts, ",") + "}"
}

func sampleValue(f form.Field) string {
	switch f.Type {
	case "id":
		return `"x1"`
	case "text":
		if f.Name == "through" {
			return `"2026-03-31T23:59:59+02:00"`
		}
		return `"abc"`
	case "enum":
		return fmt.Sprintf("%q", f.Options[0])
	case "date":
		return `"2026-03-02"`
	case "bool":
		return "true"
	case "mass", "int", "float":
		return fmt.Sprintf("%.0f", max(*f.Min, min(*f.Max, 700)))
	case "object":
		return sample(f.Of)
	}
	if f.Of[0].Name == "" {
		one := sampleValue(f.Of[0])
		return "[" + strings.Join([]string{one, one, one}, ",") + "]"
	}
	one := sample(f.Of)
	return "[" + one + "," + one + "]"
}

func badValues(f form.Field) []string {
	out := []string{"null", "{}"}
	switch f.Type {
	case "id", "text", "enum", "date":
		out = append(out, "7", `""`, `"\u0000"`, `"`+strings.Repeat("y", 2100)+`"`)
	case "bool":
		out = append(out, "1", `"true"`)
	case "mass", "int":
		out = append(out, `"7"`, "1.5", "1e300", "-9007199254740993", "9223372036854775808", fmt.Sprintf("%.0f", *f.Max+1), fmt.Sprintf("%.0f", *f.Min-1))
	case "list":
		out = append(out, "7", `["",{}]`)
	case "object":
		return []string{"null", "[]", "7", "{}"}
	}
	return out
}

// FuzzBody reads bytes as the body of every kind: it never panics, and what is taken
// comes back the same.
func FuzzBody(f *testing.F) {
	all := slices.Sorted(slices.Values(kind.Names()))
	for _, k := range all {
		f.Add(form.Encode(kind.New(k)))
	}
	f.Add([]byte(`{"from":"a","to":"b","mass_mg":9007199254740991,"lot":"c","why":"d"}`))
	f.Add([]byte(`{"through":"2026-03-31T23:59:59+02:00"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, name := range all {
			body, err := kind.Decode(name, 1, b)
			if err != nil {
				continue
			}
			out := form.Encode(body)
			again, err := kind.Decode(name, 1, out)
			if err != nil || !bytes.Equal(form.Encode(again), out) {
				t.Fatalf("%s %q became %q, then %v %v", name, b, out, again, err)
			}
		}
	})
}
