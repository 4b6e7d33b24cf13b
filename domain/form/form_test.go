package form_test

import (
	"errors"
	"fmt"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// box is a form with one field of every type.
type box struct {
	id, note, kind, day string
	mass                measure.Mass
	count, share        int64
	te                  float64
	sieved, has         bool
	low                 int64
	ids                 []string
	sizes               []float64
	spots               []int64
	rows                []struct{ n int64 }
}

func (b *box) Fields(v *form.Visitor) {
	v.ID("id", &b.id)
	v.OptText("note", &b.note, 10)
	v.Enum("kind", &b.kind, "shelf", "vessel")
	v.OptDate("day", &b.day)
	v.Mass("mass_mg", &b.mass)
	v.OptInt("count", &b.count, 1, 9, "parts")
	v.DefaultInt("share_pm", &b.share, 1000, 0, 1000, "‰")
	v.Float("te", &b.te, 0, 1, "1")
	v.Bool("sieved", &b.sieved)
	v.OptObject("film", &b.has, func(v *form.Visitor) { v.Int("min", &b.low, 1, 5, "µm") })
	v.IDs("ids", &b.ids, 0, 3)
	v.Floats("sizes", &b.sizes, 0, 3, 0, 10, "µm")
	v.Ints("spots", &b.spots, 0, 3, 0, 10, "µm")
	form.List(v, "rows", &b.rows, 0, 2, func(v *form.Visitor, r *struct{ n int64 }) { v.Int("n", &r.n, 0, 7, "") })
}

const full = `{"id":"x","note":"a \"b\"\u000a","kind":"vessel","day":"2026-03-02","mass_mg":5,"count":3,"share_pm":0,"te":0.5,"sieved":true,"film":{"min":2},"ids":["a","b"],"sizes":[1.5,2],"spots":[1,2],"rows":[{"n":1},{"n":2}]}`

func TestAFormIsReadAndWrittenTheSame(t *testing.T) {
	for _, in := range []string{full, `{"id":"x","kind":"shelf","mass_mg":0,"share_pm":1000,"te":0}`} {
		var b box
		if err := form.Decode([]byte(in), &b); err != nil {
			t.Fatal(err)
		}
		if got := string(form.Encode(&b)); got != in {
			t.Errorf("got  %s\nwant %s", got, in)
		}
	}
	var b box
	if err := form.Decode([]byte(`{"id":"x","kind":"shelf","mass_mg":0,"te":0}`), &b); err != nil || b.share != 1000 {
		t.Errorf("an absent field with a default is %d (%v)", b.share, err)
	}
}

func TestWhatIsWrongIsNamed(t *testing.T) {
	for _, tt := range []struct{ name, in, field, code string }{
		{"no object", `[]`, "", "field.type"},
		{"no JSON", `{"id":`, "", "field.syntax"},
		{"a missing field", `{"kind":"shelf","mass_mg":0,"te":0}`, "id", "field.missing"},
		{"null is missing", `{"id":null,"kind":"shelf","mass_mg":0,"te":0}`, "id", "field.missing"},
		{"a field twice", `{"id":"x","id":"y","kind":"shelf","mass_mg":0,"te":0}`, "id", "field.unknown"},
		{"an undeclared field", `{"id":"x","kind":"shelf","mass_mg":0,"te":0,"color":1}`, "color", "field.unknown"},
		{"a fraction of a milligram", `{"id":"x","kind":"shelf","mass_mg":0.5,"te":0}`, "mass_mg", "field.type"},
		{"a negative mass", `{"id":"x","kind":"shelf","mass_mg":-1,"te":0}`, "mass_mg", "field.range"},
		{"a mass that JavaScript cannot carry", `{"id":"x","kind":"shelf","mass_mg":9007199254740992,"te":0}`, "mass_mg", "field.range"},
		{"not a number", `{"id":"x","kind":"shelf","mass_mg":0,"te":nan}`, "", "field.syntax"},
		{"an efficiency above one", `{"id":"x","kind":"shelf","mass_mg":0,"te":1.01}`, "te", "field.range"},
		{"a word that is not offered", `{"id":"x","kind":"box","mass_mg":0,"te":0}`, "kind", "field.range"},
		{"an id with a control character", `{"id":"x\u0001","kind":"shelf","mass_mg":0,"te":0}`, "id", "field.range"},
		{"a day that is not there", `{"id":"x","kind":"shelf","day":"2026-02-30","mass_mg":0,"te":0}`, "day", "field.range"},
		{"inside an object", `{"id":"x","kind":"shelf","mass_mg":0,"te":0,"film":{"min":9}}`, "film.min", "field.range"},
		{"inside a list", `{"id":"x","kind":"shelf","mass_mg":0,"te":0,"rows":[{"n":1},{"n":8}]}`, "rows[1].n", "field.range"},
		{"one element too many", `{"id":"x","kind":"shelf","mass_mg":0,"te":0,"spots":[1,1,1,1]}`, "spots", "field.range"},
		{"a text that is too long", `{"id":"x","note":"12345678901","kind":"shelf","mass_mg":0,"te":0}`, "note", "field.range"},
	} {
		err := form.Decode([]byte(tt.in), &box{})
		var fe *form.Error
		if !errors.As(err, &fe) || fe.Field != tt.field || string(fe.Code) != tt.code {
			t.Errorf("%s: %v, want %s at %q", tt.name, err, tt.code, tt.field)
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(full))
	f.Fuzz(func(t *testing.T, in []byte) {
		var b, again box
		if form.Decode(in, &b) != nil {
			return
		}
		out := form.Encode(&b)
		if err := form.Decode(out, &again); err != nil || string(form.Encode(&again)) != string(out) {
			t.Errorf("%s is written as %s, which does not come back (%v)", in, out, err)
		}
	})
}

func ExampleDecode() {
	var b box
	fmt.Println(form.Decode([]byte(`{"id":"hopper","kind":"vessel","mass_mg":-5,"te":0.6}`), &b))
	// Output: field "mass_mg": got -5, want an integer from 0 to 9007199254740991 mg
}
