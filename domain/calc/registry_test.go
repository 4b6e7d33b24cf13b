package calc_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

func TestEveryNameIsPackageDotWhatAndDescribed(t *testing.T) {
	shape := regexp.MustCompile(`^[a-z]+\.[a-z][a-z0-9-]*$`)
	seen := ""
	for _, c := range calc.All() {
		if !shape.MatchString(c.Name) {
			t.Errorf("%s: a name is package.what in lower case", c.Name)
		}
		if c.Name <= seen {
			t.Errorf("%s stands after %s: not sorted, or twice", c.Name, seen)
		}
		seen = c.Name
		if c.About == "" || c.Source == "" || !strings.HasSuffix(c.About, ".") {
			t.Errorf("%s: About must be a sentence and Source must be given", c.Name)
		}
	}
	if seen == "" {
		t.Fatal("the registry is empty")
	}
}

// The same example gives the same bytes twice, decodes as its own form re-encoded
// and holds no number that is not finite.
func TestEveryExampleRuns(t *testing.T) {
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			out, err := calc.Run(c.Name, []byte(c.Example))
			if err != nil {
				t.Fatalf("example: %v", err)
			}
			f := c.In()
			if err := form.Decode([]byte(c.Example), f); err != nil {
				t.Fatal(err)
			}
			again, err := calc.Run(c.Name, form.Encode(f))
			if err != nil || !bytes.Equal(out, again) {
				t.Errorf("re-encoded input %s gives %s, %v; want %s", form.Encode(f), again, err, out)
			}
			if len(out) < 3 || out[0] != '{' {
				t.Errorf("output %s is not an object with fields", out)
			}
		})
	}
}

func TestEveryOutputIsTagged(t *testing.T) {
	var walk func(t *testing.T, where string, list []calc.Output)
	walk = func(t *testing.T, where string, list []calc.Output) {
		for _, o := range list {
			if o.Name == "" && len(list) > 1 || o.Name != strings.ToLower(o.Name) {
				t.Errorf("%s: output %q needs a json tag in lower case", where, o.Name)
			}
			if o.Name != "" && o.Doc == "" {
				t.Errorf("%s.%s: no doc tag", where, o.Name)
			}
			if o.Name != "" && (o.Type == "mass" || o.Type == "float") && o.Unit == "" {
				t.Errorf("%s.%s: no unit tag (use 1 for a pure number)", where, o.Name)
			}
			walk(t, where+"."+o.Name, o.Of)
		}
	}
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			d, err := calc.Describe(c.Name)
			if err != nil || len(d.Inputs) == 0 || len(d.Outputs) == 0 {
				t.Fatalf("description %+v, %v", d, err)
			}
			walk(t, c.Name, d.Outputs)
			out, _ := c.Do([]byte(c.Example))
			finite(t, c.Name, reflect.ValueOf(out))
		})
	}
}

// finite fails for NaN, an infinity, a number that JavaScript cannot carry, or a
// list that would be written as null.
func finite(t *testing.T, where string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			t.Errorf("%s is %v", where, f)
		}
	case reflect.Int64, reflect.Int:
		if n := v.Int(); n >= form.MassMax || n <= -form.MassMax {
			t.Errorf("%s is %d, beyond ±2^53", where, n)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			finite(t, where, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, where+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice:
		if v.IsNil() {
			t.Errorf("%s is a nil list, which JSON would show as null", where)
		}
		for i := range v.Len() {
			finite(t, fmt.Sprintf("%s[%d]", where, i), v.Index(i))
		}
	}
}

func TestUnknownNameListsNearOnes(t *testing.T) {
	tests := []struct {
		name, asked, near string
	}{
		{"a letter is missing", "reclaim.chage", "reclaim.charge"},
		{"only the last part is given", "topup", "reclaim.topup"},
		{"two letters stand the wrong way round", "reclaim.cahrge", "reclaim.charge"},
		{"the package is right", "reclaim.somethingelse", "reclaim.charge"},
		{"nothing is like it", "zzzzzzzz", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := calc.Run(tt.asked, []byte(`{}`))
			var u *calc.UnknownError
			if !errors.As(err, &u) || u.Name != tt.asked {
				t.Fatalf("error %v; want an *UnknownError", err)
			}
			if tt.near == "" && len(u.Near) > 0 || tt.near != "" && !strings.Contains(strings.Join(u.Near, " "), tt.near) {
				t.Errorf("near %q: %v; want %q among them", tt.asked, u.Near, tt.near)
			}
			if _, err := calc.Describe(tt.asked); !errors.As(err, &u) {
				t.Errorf("Describe: %v; want an *UnknownError", err)
			}
		})
	}
}

func TestNothingThatIsNotOneObjectRuns(t *testing.T) {
	for _, c := range calc.All() {
		for _, in := range []string{"", "null", "[]", "1", `"x"`, c.Example + "x", c.Example[:len(c.Example)-1]} {
			var fe *form.Error
			if _, err := calc.Run(c.Name, []byte(in)); !errors.As(err, &fe) {
				t.Errorf("%s with %.40q: %v; want a *form.Error", c.Name, in, err)
			}
		}
	}
}

func FuzzRun(f *testing.F) {
	for i, c := range calc.All() {
		f.Add(uint(i), []byte(c.Example))
	}
	f.Fuzz(func(t *testing.T, i uint, in []byte) {
		all := calc.All()
		c := all[i%uint(len(all))]
		out, err := calc.Run(c.Name, in)
		if err != nil {
			var fe *form.Error
			var re *calc.RangeError
			if !errors.As(err, &fe) && !errors.As(err, &re) {
				t.Fatalf("%s with %s: error %v is neither a *form.Error nor a *RangeError", c.Name, in, err)
			}
			return
		}
		if !json.Valid(out) {
			t.Fatalf("%s with %s: output %s", c.Name, in, out)
		}
	})
}

func TestMassesHaveOneBound(t *testing.T) {
	if form.MassMax != measure.MassMax {
		t.Errorf("form.MassMax is %d, measure.MassMax %d", int64(form.MassMax), int64(measure.MassMax))
	}
}
