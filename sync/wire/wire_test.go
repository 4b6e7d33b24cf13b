package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/sync/entry"
)

// vector is a file of testdata/wire: bytes that servers and phones of this protocol
// write, to the last one.
func vector(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "wire", name))
	if err != nil {
		t.Fatal(err)
	}
	return bytes.TrimSuffix(b, []byte("\n"))
}

// entries are those that stand in the vectors, in their order.
func vectorEntries(t testing.TB) [][]byte {
	t.Helper()
	_, list, err := ReadPush(vector(t, "push.json"), 10)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestEachMessageIsWrittenAsItsVector(t *testing.T) {
	raw := vectorEntries(t)
	page := BeginPage(nil, &Page{Epoch: "e1", Head: 9, Next: 7, More: true, Proof: "e1.7.ab"})
	page = AppendItem(page, "accepted", Facts{Seq: 5, ReceivedMS: 1, EffectiveMS: -2}, raw[0])
	page = AppendItem(page, "held", Facts{Seq: 7, ReceivedMS: 1, EffectiveMS: 2, Late: true, Reason: "role.may_not"}, raw[1])
	push := BeginPush(nil, entry.Clock{WallMS: -6, MonoMS: 5, Segment: "s1"})
	push = append(append(append(push, raw[0]...), ','), raw[1]...)
	for name, got := range map[string][]byte{
		"hello.json":           Append(nil, &Hello{Server: "srv", Epoch: "e1", Head: 9, Proof: "e1.9.cd", NowMS: 1764500000000, MinClient: "1", Latest: "v1"}),
		"hello-signed-in.json": Append(nil, &Hello{Server: "srv", Epoch: "e1", Head: 9, Proof: "e1.9.cd", NowMS: 1764500000000, MinClient: "1", Latest: "v1", IsSignedIn: true, HaveN: 3, BackupSeq: 4, BackupMS: 5}),
		"push.json":            append(push, EndPush...),
		"results.json": Append(nil, &Pushed{Epoch: "e1", Head: 6, Proof: "e1.6.ef", Results: []Result{
			{ID: "a", Outcome: "accepted", Facts: Facts{Seq: 5, ReceivedMS: 1, EffectiveMS: -2}},
			{ID: "b", Outcome: "duplicate", Stands: "held", Facts: Facts{Seq: 6, ReceivedMS: 1, EffectiveMS: 2, Late: true, Reason: "x"}},
			{ID: "", Outcome: "refused", Facts: Facts{Reason: "entry.syntax"}},
		}}),
		"page.json":       append(page, EndPage...),
		"page-empty.json": append(BeginPage(nil, &Page{Epoch: "e1", Head: 9, Next: 9}), EndPage...),
		"snapshot.json": Append(nil, &Snapshot{Epoch: "e1", Seq: 8, Head: 9, Proof: "e1.9.cd", FloorMS: 1763300000000, Tail: 2,
			Pieces: []Piece{{"state", "00ff", 524288}, {"page", "ff00", 900}}}),
	} {
		if want := vector(t, name); !bytes.Equal(got, want) {
			t.Errorf("%s is written\n%s\nwant\n%s", name, got, want)
		}
	}
}

// respelled is the same JSON with the fields of each object in another order, and with
// one more that nobody knows. Entries stay as they are: their bytes never change.
func respelled(t *testing.T, b []byte) []byte {
	t.Helper()
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(b, &raw); err != nil {
		t.Fatal(err)
	}
	raw["a_field_of_tomorrow"] = []byte(`{"x":[1,{"y":null}]}`)
	for _, list := range []string{"entries", "results", "pieces"} {
		if raw[list] == nil {
			continue
		}
		var items []map[string]json.RawMessage
		if err := json.Unmarshal(raw[list], &items); err != nil {
			t.Fatal(err)
		}
		for i := range items {
			items[i]["zz_tomorrow"] = []byte(`7`)
		}
		raw[list], _ = json.Marshal(items)
	}
	out, err := json.MarshalIndent(raw, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestEachMessageIsReadInAnyOrderAndWithMoreFields(t *testing.T) {
	for name, f := range map[string]func() form.Fields{
		"hello.json": func() form.Fields { return &Hello{} }, "hello-signed-in.json": func() form.Fields { return &Hello{} },
		"results.json": func() form.Fields { return &Pushed{} }, "snapshot.json": func() form.Fields { return &Snapshot{} },
	} {
		b := vector(t, name)
		one, two := f(), f()
		if err := read(b, one); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := read(respelled(t, b), two); err != nil || !reflect.DeepEqual(one, two) {
			t.Errorf("%s in another spelling is %+v, %v; want %+v", name, two, err, one)
		}
		for i := range b {
			if err := read(b[:i], f()); err == nil {
				t.Errorf("%s cut after %d bytes is read", name, i)
			}
		}
	}
}

func TestAPageIsReadAlikeInAnySpelling(t *testing.T) {
	for _, name := range []string{"page.json", "page-empty.json"} {
		b := vector(t, name)
		r := PageReader{}
		p := Page{}
		if !r.straight(&p, b) {
			t.Fatalf("%s is not read straight on", name)
		}
		straight, err := ReadPage(b)
		if err != nil {
			t.Fatal(err)
		}
		any, err := readPage(b)
		if err != nil || !reflect.DeepEqual(straight, any) {
			t.Errorf("%s straight on %+v\nin any spelling %+v, %v", name, straight, any, err)
		}
		other, err := ReadPage(respelled(t, b))
		other.Bytes = b
		for i := range other.Cuts { // indented with the rest
			other.Cuts[i].Body = any.Cuts[i].Body
		}
		if err != nil || !reflect.DeepEqual(other, any) {
			t.Errorf("%s in another spelling %+v, %v\nwant %+v", name, other, err, any)
		}
		for i := range b {
			if _, err := ReadPage(b[:i]); err == nil {
				t.Errorf("%s cut after %d bytes is read", name, i)
			}
		}
	}
}

func TestAnswersThatMakeNoSenseAreNamed(t *testing.T) {
	for _, tt := range []struct{ name, body, field string }{
		{"a login page is no answer", `<html>`, ""},
		{"an empty body is no answer", ``, ""},
		{"a list is no answer", `[]`, ""},
		{"the epoch is needed", `{"head":1,"next":1,"entries":[]}`, "epoch"},
		{"a negative head", `{"epoch":"e","head":-1,"next":1,"entries":[]}`, "head"},
		{"a head that JavaScript cannot carry", `{"epoch":"e","head":9007199254740992,"next":1,"entries":[]}`, "head"},
		{"entries must be a list", `{"epoch":"e","head":1,"next":1,"entries":{}}`, "entries"},
		{"entries must be there", `{"epoch":"e","head":1,"next":1}`, "entries"},
		{"an item without its entry", `{"epoch":"e","head":1,"next":1,"entries":[{"outcome":"held","seq":1}]}`, "entries[0].entry"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadPage([]byte(tt.body))
			var fe *form.Error
			if !errors.As(err, &fe) || fe.Field != tt.field {
				t.Errorf("ReadPage(%s) = %v, want a form.Error at %q", tt.body, err, tt.field)
			}
		})
	}
}

func TestAPushIsTakenApart(t *testing.T) {
	for _, tt := range []struct {
		body    string
		entries int // -1: refused
	}{
		{`{"entries":[]}`, 0}, {`{}`, 0}, {` { "entries" : [ {"a":1} , 7 ] } `, 2}, {`{"entries":[{"a":],{}]}`, 2}, {`{"entries":[{"bad":nul},{}]}`, 2},
		{`{"now":{"wall_ms":1,"mono_ms":2,"segment":"s"},"entries":[{}]}`, 1}, {`{"entries":[{}],"now":{"wall_ms":1,"mono_ms":2,"segment":"s"}}`, 1},
		{`{"entries":[{}],"entries":[]}`, -1}, {`{"now":1,"entries":[]}`, -1}, {`{"more":1}`, -1}, {`{"entries":[]`, -1}, {`{"entries":[]}x`, -1}, {`[]`, -1}, {``, -1},
		{`{"entries":[],}`, -1}, {`{"entries"}`, -1}, {`{"entries":[1,2,3,4]}`, -1}, {`{"entries":[]]}`, -1},
	} {
		_, got, err := ReadPush([]byte(tt.body), 3)
		if (err != nil) != (tt.entries < 0) || err == nil && len(got) != tt.entries {
			t.Errorf("%s: %d entries, %v; want %d", tt.body, len(got), err, tt.entries)
		}
	}
	now, list, err := ReadPush(vector(t, "push.json"), 10)
	if err != nil || len(list) != 2 || now != (entry.Clock{WallMS: -6, MonoMS: 5, Segment: "s1"}) {
		t.Errorf("%d entries at %+v, %v", len(list), now, err)
	}
	for _, raw := range list {
		if _, err := new(entry.Parser).Parse(raw); err != nil {
			t.Error(err)
		}
	}
}

func FuzzPage(f *testing.F) {
	f.Add(vector(f, "page.json"))
	f.Add([]byte(`{"epoch":"e","head":9,"next":7,"entries":[]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var p Page
		r := PageReader{}
		if !r.straight(&p, b) {
			return
		}
		any, err := readPage(b)
		if err != nil {
			return // the bodies are not looked at straight on; whoever folds them does
		}
		if fmt.Sprint(r.items) != fmt.Sprint(any.Items) || p.Next != any.Next || p.Head != any.Head {
			t.Errorf("straight on %+v %+v, in any spelling %+v", p, r.items, any)
		}
	})
}

func FuzzPush(f *testing.F) {
	f.Add(vector(f, "push.json"))
	f.Add([]byte(`{"entries":[{"a":"}"}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		_, list, err := ReadPush(b, 100)
		var want struct{ Entries []json.RawMessage }
		if json.Unmarshal(b, &want) == nil && err == nil && len(list) != len(want.Entries) {
			t.Errorf("%q: %d entries, want %d", b, len(list), len(want.Entries))
		}
	})
}
