package form

import (
	"testing"
)

type largeForm struct {
	Name string
	N    int64
	Has  bool
	Rows []largeRow
	Tags []string
	In   largeRow
}

type largeRow struct {
	ID   string
	Deep []largeRow
}

func (r *largeRow) visit(v *Visitor) {
	v.ID("id", &r.ID)
	List(v, "deep", &r.Deep, 0, 3, func(v *Visitor, r *largeRow) { v.ID("id", &r.ID) })
}

func (f *largeForm) Fields(v *Visitor) {
	v.OptText("name", &f.Name, 100)
	v.OptInt("n", &f.N, -5, 50, "")
	List(v, "rows", &f.Rows, 0, 4, func(v *Visitor, r *largeRow) { r.visit(v) })
	v.IDs("tags", &f.Tags, 0, 2)
	v.OptObject("in", &f.Has, f.In.visit)
}

const largeWhole = `{"name":"a \"quoted\" [name], {with} brackets","n":-3,"rows":[{"id":"a"},{"id":"b","deep":[{"id":"c"},{"id":"d"}]}],"tags":["x","y"],"in":{"id":"z","deep":[{"id":"q"}]}}`

// agree holds DecodeLarge to Decode: what it takes, Decode takes alike.
func agree(t *testing.T, data []byte) (isTaken bool) {
	t.Helper()
	var fast, slow largeForm
	if !DecodeLarge(data, &fast) {
		return false
	}
	if err := Decode(data, &slow); err != nil {
		t.Fatalf("DecodeLarge takes %s; Decode says %v", data, err)
	}
	if a, b := Encode(&fast), Encode(&slow); string(a) != string(b) {
		t.Fatalf("%s\nread in pieces  %s\nread at once    %s", data, a, b)
	}
	return true
}

func TestALargeObjectIsReadInPiecesAsItIsAtOnce(t *testing.T) {
	for _, in := range []string{largeWhole, `{"rows":[]}`, `{"n":1}`, `{"in":{"id":"a"}}`, `{"tags":["a"]}`} {
		if !agree(t, []byte(in)) {
			t.Errorf("DecodeLarge does not understand %s", in)
		}
	}
	for _, in := range []string{
		``, `[]`, `{`, `}`, `{"n"}`, `{"n":}`, `{"n":1,}`, `{"n":1}x`, `{"n":1,"n":2}`, `{"other":1}`, `{"n":51}`, `{"n":null}`, `{"rows":[{"id":"a"},]}`, `{"rows":[,]}`, `{"rows":{}}`, `{"rows":[{"id":"a"}}`,
		`{"rows":[{"id":"a","x":1}]}`, `{"rows":[{"id":"a"}]]}`, `{"rows":[1]}`, `{"tags":["a","b","c"]}`, `{"tags":[" a"]}`, `{"in":{"id":"a"},"rows":[{"id":"b"}`, `{"rows":[{"id":"a"}{"id":"b"}]}`, `{"n":1]"in":{"id":"a"}}`, `{"rows":[{"id":"a"]}`,
	} {
		if agree(t, []byte(in)) {
			t.Errorf("DecodeLarge takes %s", in)
		}
	}
}

func FuzzLarge(f *testing.F) {
	f.Add([]byte(largeWhole))
	f.Add([]byte(`{"n":1,"rows":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) { agree(t, data) })
}
