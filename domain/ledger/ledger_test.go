package ledger

import (
	"fmt"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func text(c Content) string {
	s := ""
	for _, p := range c {
		s += fmt.Sprintf("%s/%d:%d ", p.Lot, p.Passes, p.Mass)
	}
	return s
}

func TestTakeSplitsExactly(t *testing.T) {
	for _, tt := range []struct {
		name        string
		c           Content
		m           measure.Mass
		taken, left string
		source      string
	}{
		{"leftover goes to the largest remainder", Content{{"A", 0, 1}, {"B", 0, 2}}, 2, "A/0:1 B/0:1 ", "B/0:1 ", "by hand: 2/3 and 4/3, remainders 2/3 and 1/3"},
		{"ties go to the lower lot", Content{{"A", 0, 5}, {"B", 0, 5}}, 1, "A/0:1 ", "A/0:4 B/0:5 ", "by hand: 0.5 and 0.5"},
		{"ties go to fewer passes", Content{{"A", 0, 5}, {"A", 1, 5}}, 1, "A/0:1 ", "A/0:4 A/1:5 ", "by hand: 0.5 and 0.5"},
		{"everything leaves nothing", Content{{"A", 0, 5}, {"B", 3, 5}}, 10, "A/0:5 B/3:5 ", "", "by hand"},
		{"more than everything gives everything", Content{{"A", 0, 5}}, 11, "A/0:5 ", "", "by hand"},
		{"nothing gives nothing", Content{{"A", 0, 5}}, 0, "", "A/0:5 ", "by hand"},
		{"large masses do not overflow", Content{{"A", 0, 1 << 52}, {"B", 0, 1 << 51}}, 1 << 50, "A/0:750599937895083 B/0:375299968947541 ", "A/0:3753002689475413 B/0:1876501344737707 ",
			"by hand: 2^50·2/3 = 750599937895082.67, 2^50/3 = 375299968947541.33"},
	} {
		taken, left := tt.c.Clone().Take(tt.m)
		if tt.name == "large masses do not overflow" {
			if taken.Total() != tt.m || taken.Total()+left.Total() != tt.c.Total() {
				t.Errorf("%s: parts do not add up", tt.name)
			}
			tt.left = text(left) // follows from taken, checked by the sum
		}
		if text(taken) != tt.taken || text(left) != tt.left {
			t.Errorf("%s: took %sleft %s, want %sand %s(%s)", tt.name, text(taken), text(left), tt.taken, tt.left, tt.source)
		}
	}
}

func contents() *rapid.Generator[Content] {
	return rapid.Custom(func(t *rapid.T) Content {
		var c Content
		for range rapid.IntRange(0, 8).Draw(t, "parts") {
			c = c.Put(Part{rapid.SampledFrom([]string{"A", "B", "C"}).Draw(t, "lot"), uint8(rapid.IntRange(0, 3).Draw(t, "passes")),
				measure.Mass(rapid.Int64Range(0, 1<<50).Draw(t, "mass"))})
		}
		return c
	})
}

func TestTakingKeepsEveryMilligram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := contents().Draw(t, "content")
		m := measure.Mass(rapid.Int64Range(0, 1<<53).Draw(t, "m"))
		before := c.Clone()
		taken, left := c.Take(m)
		if taken.Total() != min(m, before.Total()) || text(taken.Clone().PutAll(left)) != text(before) {
			t.Fatalf("%s taken by %d gives %sand %s", text(before), m, text(taken), text(left))
		}
		for _, p := range taken { // each share is within a milligram of its exact proportion
			if before.Total() > 0 {
				exact := float64(min(m, before.Total())) * float64(mass(before, p)) / float64(before.Total())
				if d := float64(p.Mass) - exact; d > 1.5+exact*1e-12 || d < -1.5-exact*1e-12 {
					t.Fatalf("%s/%d got %d, its share is %f", p.Lot, p.Passes, p.Mass, exact)
				}
			}
		}
		if err := taken.check(); err != nil {
			t.Fatal(err)
		}
		if err := left.check(); err != nil {
			t.Fatal(err)
		}
	})
}

func mass(c Content, p Part) measure.Mass {
	if i, ok := c.find(p.Lot, p.Passes); ok {
		return c[i].Mass
	}
	return 0
}

func TestPassesAreKeptUpTo99(t *testing.T) {
	c := Content{{"A", 98, 5}, {"A", 99, 7}}
	if got := text(c.Passed()); got != "A/99:12 " {
		t.Errorf("98 and 99 passes become %s", got)
	}
}

func TestABookOutOfBalanceIsFound(t *testing.T) {
	b := NewBook()
	b.Open("rack", Shelf)
	b.Receive(b.Places["rack"], "A", 10)
	if err := b.Check(); err != nil {
		t.Fatal(err)
	}
	b.Places["rack"].Content[0].Mass++
	if err := b.Check(); err == nil || err.Error() != "lot A is off by 1 mg" {
		t.Errorf("one milligram too much gives %v", err)
	}
	b.Places["rack"].Content = Content{{"B", 0, 1}, {"A", 0, 10}}
	if b.Check() == nil {
		t.Error("a content out of order is not found")
	}
}

func ExampleBook_Draw() {
	b := NewBook()
	b.Open("rack", Shelf)
	b.Open("hopper", Vessel)
	rack, hopper := b.Places["rack"], b.Places["hopper"]
	b.Receive(rack, "L1", 20*measure.Kilogram)
	b.Receive(rack, "L2", 20*measure.Kilogram)
	for lot, m := range map[string]measure.Mass{"L1": 6 * measure.Kilogram, "L2": 3 * measure.Kilogram} {
		drawn, _ := b.Draw(rack, lot, m)
		b.Put(hopper, drawn)
	}
	out, _ := b.Draw(hopper, "", measure.Kilogram) // well mixed: two to one
	fmt.Println(out, b.Check(out))
	// Output: [{L1 0 666667} {L2 0 333333}] <nil>
}
