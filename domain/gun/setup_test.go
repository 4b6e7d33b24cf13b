package gun

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func suggested(list []Suggestion) string {
	var s []string
	for _, g := range list {
		s = append(s, g.Setup.ID)
	}
	return strings.Join(s, " ")
}

func TestSuggestStartsFromWhatWorkedLast(t *testing.T) {
	job := Job{Booth: "1", Powder: "sky", Parts: "wire goods"}
	a, b, c := Setup{ID: "A"}, Setup{ID: "B"}, Setup{ID: "C", Powder: "sky"}
	other := Setup{ID: "O", Powder: "ash"}
	use := func(setup, powder, parts string, at int64, worked bool) Used {
		return Used{Setup: setup, Booth: "1", Powder: powder, Parts: parts, AtMS: at, Worked: worked}
	}
	tests := []struct {
		name   string
		setups []Setup
		uses   []Used
		want   string
	}{
		{"what worked last for this very job comes first", []Setup{a, b},
			[]Used{use("A", "sky", "wire goods", 1, true), use("B", "sky", "wire goods", 2, true)}, "B A"},
		{"the same powder counts more than the same kind of part", []Setup{a, b},
			[]Used{use("A", "ash", "wire goods", 9, true), use("B", "sky", "edges", 1, true)}, "B A"},
		{"one that worked comes before one nobody used", []Setup{c, b}, []Used{use("B", "ash", "edges", 1, true)}, "B C"},
		{"never used, the one made for this powder comes first", []Setup{a, c}, nil, "C A"},
		{"only ever failed comes last", []Setup{a, b}, []Used{use("A", "sky", "wire goods", 5, false)}, "B A"},
		{"its latest use failed: after the one that did not", []Setup{a, b},
			[]Used{use("A", "sky", "wire goods", 5, true), use("A", "sky", "wire goods", 6, false), use("B", "sky", "wire goods", 1, true)}, "B A"},
		{"made for another powder it is not suggested", []Setup{other, a}, nil, "A"},
		{"unless it worked for this powder and kind of part", []Setup{other, a}, []Used{use("O", "sky", "wire goods", 1, true)}, "O A"},
		{"uses of a set-up that is gone are left out", []Setup{a}, []Used{use("gone", "sky", "wire goods", 1, true)}, "A"},
		{"no set-up, no suggestion", nil, nil, ""},
	}
	for _, tt := range tests {
		if got := suggested(Suggest(job, tt.setups, tt.uses)); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
	g := Suggest(job, []Setup{a}, []Used{use("A", "sky", "wire goods", 7, true), use("A", "sky", "edges", 9, true), use("A", "ash", "edges", 8, false)})[0]
	if g.Match != 7 || g.LastMS != 7 || g.Worked != 2 || g.Failed != 1 || !g.Latest {
		t.Errorf("what speaks for it: %+v", g)
	}
}

func TestSuggestDoesNotDependOnTheOrderGiven(t *testing.T) {
	word := rapid.SampledFrom([]string{"", "x", "y"})
	rapid.Check(t, func(t *rapid.T) {
		var setups []Setup
		for i := range rapid.IntRange(0, 5).Draw(t, "setups") {
			setups = append(setups, Setup{ID: fmt.Sprint(i), Powder: word.Draw(t, "powder"), Parts: word.Draw(t, "parts")})
		}
		uses := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Used {
			return Used{fmt.Sprint(rapid.IntRange(0, 5).Draw(t, "setup")), word.Draw(t, "booth"), word.Draw(t, "powder"), word.Draw(t, "parts"),
				rapid.Int64Range(0, 3).Draw(t, "at"), rapid.Bool().Draw(t, "worked")}
		}), 0, 8).Draw(t, "uses")
		job := Job{word.Draw(t, "booth"), word.Draw(t, "powder"), word.Draw(t, "parts")}
		want := Suggest(job, setups, uses)
		if got := Suggest(job, rapid.Permutation(setups).Draw(t, "setups again"), rapid.Permutation(uses).Draw(t, "uses again")); !slices.Equal(got, want) {
			t.Fatalf("%+v, in another order %+v", want, got)
		}
	})
}

func TestSetupErrorsNameTheField(t *testing.T) {
	for what, s := range map[string]Setup{
		"kv": {KV: 121}, "ua": {UA: 201}, "main_kpa": {MainKPA: -1}, "extra_kpa": {ExtraKPA: 1001}, "distance_mm": {DistanceMM: 2001},
	} {
		fault(t, s.Check(), what)
	}
	if err := (Setup{KV: 120, UA: 200, MainKPA: 1000, ExtraKPA: 1000, DistanceMM: 2000}).Check(); err != nil {
		t.Errorf("at every limit: %v", err)
	}
}

func ExampleSuggest() {
	setups := []Setup{{ID: "soft", MainKPA: 100, ExtraKPA: 50}, {ID: "strong", MainKPA: 200, ExtraKPA: 100}}
	uses := []Used{
		{Setup: "strong", Powder: "sky", Parts: "open faces", AtMS: 1, Worked: true},
		{Setup: "soft", Powder: "sky", Parts: "inside corners", AtMS: 2, Worked: true},
	}
	for _, g := range Suggest(Job{Powder: "sky", Parts: "inside corners"}, setups, uses) {
		fmt.Println(g.Setup.ID, g.Setup.MainKPA, "kPa, match", g.Match)
	}
	// Output:
	// soft 100 kPa, match 6
	// strong 200 kPa, match 4
}
