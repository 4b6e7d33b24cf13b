package booth

import (
	"errors"
	"fmt"
	"reflect"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

// drawDay makes a day of n colours.
func drawDay(t *rapid.T, n, booths int, due, rules bool) ([]Colour, []BoothDay) {
	change := rapid.Custom(func(t *rapid.T) Change {
		c := rapid.Int64Range(0, 30).Draw(t, "cost")
		return Change{c, rapid.Int64Range(0, 30).Draw(t, "minutes")}
	})
	row := rapid.SliceOfN(change, n, n)
	colours := make([]Colour, n)
	for i := range colours {
		c := Colour{ID: fmt.Sprint(i), Minutes: rapid.Int64Range(0, 40).Draw(t, "spray")}
		if due {
			c.Due, c.LateCost = rapid.Int64Range(0, 200).Draw(t, "due"), rapid.Int64Range(0, 5).Draw(t, "late cost")
		}
		if rules {
			c.First = rapid.IntRange(0, 3).Draw(t, "first") == 0
			c.Booth = rapid.SampledFrom([]string{"", "", "B0"}).Draw(t, "booth")
		}
		colours[i] = c
	}
	var bs []BoothDay
	for b := range booths {
		day := BoothDay{ID: fmt.Sprint("B", b), Ready: rapid.Int64Range(0, 60).Draw(t, "ready"), Start: row.Draw(t, "start")}
		for range n {
			day.Change = append(day.Change, row.Draw(t, "change"))
		}
		if rapid.Bool().Draw(t, "has end") {
			day.End = row.Draw(t, "end")
		}
		bs = append(bs, day)
	}
	return colours, bs
}

// brute tries every order and split.
func brute(d *day) int64 {
	best := int64(impossible)
	seq := make([][]int32, len(d.booths))
	var place func(j int32)
	place = func(j int32) {
		if int(j) == d.n {
			best = min(best, d.total(seq))
			return
		}
		for b := range seq {
			for p := 0; p <= len(seq[b]); p++ {
				seq[b] = append(seq[b], 0)
				copy(seq[b][p+1:], seq[b][p:])
				seq[b][p] = j
				place(j + 1)
				copy(seq[b][p:], seq[b][p+1:])
				seq[b] = seq[b][:len(seq[b])-1]
			}
		}
	}
	place(0)
	return best
}

// checkPlan recomputes a plan from its stops.
func checkPlan(t *rapid.T, p Plan, colours []Colour, booths []BoothDay) {
	seen := map[int]bool{}
	var change, late int64
	for b, stops := range p.Stops {
		now, from, over := booths[b].Ready, -1, false
		for _, s := range stops {
			c := colours[s.Colour]
			if seen[s.Colour] || c.Booth != "" && c.Booth != booths[b].ID || c.First && over {
				t.Fatalf("colour %d stands twice, in the wrong booth or too late: %+v", s.Colour, p)
			}
			seen[s.Colour], over = true, over || !c.First
			want := booths[b].Start[s.Colour]
			if from >= 0 {
				want = booths[b].Change[from][s.Colour]
			}
			now += want.Minutes
			if s.Change != want || s.Begin != now || s.Done != now+c.Minutes {
				t.Fatalf("stop %+v, want change %+v begun at %d", s, want, now)
			}
			now = s.Done
			if c.Due > 0 && s.LateMin != max(0, now-c.Due) {
				t.Fatalf("stop %+v is late by %d", s, now-c.Due)
			}
			change, late = change+want.Cost, late+s.LateMin*c.LateCost
			from = s.Colour
		}
		if from >= 0 && booths[b].End != nil {
			change += booths[b].End[from].Cost
		}
	}
	if len(seen) != len(colours) || p.Change != change || p.Late != late || p.Total != change+late || p.Total > p.Given {
		t.Fatalf("%d of %d colours, change %d, late %d: %+v", len(seen), len(colours), change, late, p)
	}
}

func TestOrderIsAsCheapAsTheBestOfAllOrders(t *testing.T) {
	kinds := []struct {
		name       string
		booths     int
		due, rules bool
		max        int
	}{
		{"one booth", 1, false, false, 9},
		{"one booth with first and fixed colours", 1, false, true, 8},
		{"two booths", 2, false, true, 6},
		{"due times", 1, true, true, 8},
		{"due times in two booths", 2, true, true, 6},
	}
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				n := rapid.IntRange(1, k.max-1).Draw(t, "colours")
				if rapid.IntRange(0, 19).Draw(t, "largest") == 0 {
					n = k.max
				}
				colours, booths := drawDay(t, n, k.booths, k.due, k.rules)
				p, err := Order(colours, booths, 1)
				if err != nil {
					t.Fatal(err)
				}
				checkPlan(t, p, colours, booths)
				d, _ := newDay(colours, booths)
				if want := brute(d); !p.Proven || p.Total != want {
					t.Fatalf("total %d (proven %v), best of all orders %d", p.Total, p.Proven, want)
				}
			})
		})
	}
}

func TestBeyondTheProofTheOrderIsNeverWorseThanGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(ExactMax+1, 22).Draw(t, "colours")
		colours, booths := drawDay(t, n, rapid.IntRange(1, 2).Draw(t, "booths"), rapid.Bool().Draw(t, "due"), true)
		d, err := newDay(colours, booths)
		if err != nil {
			t.Fatal(err)
		}
		given := d.givenOrder()
		seq := d.local(given, &dice{3}, workMax/1000)
		p := d.plan(seq)
		p.Given = d.total(given)
		checkPlan(t, p, colours, booths)
		if again := d.local(given, &dice{3}, workMax/1000); !reflect.DeepEqual(again, seq) {
			t.Fatal("two searches from one seed differ")
		}
	})
}

// randomDay is a day from a seed, for benchmarks.
func randomDay(n int, due bool) ([]Colour, []BoothDay) {
	d := dice{42}
	colours := make([]Colour, n)
	b := BoothDay{ID: "B"}
	change := func() Change { m := int64(5 + d.below(60)); return Change{m * 150, m} }
	for i := range colours {
		colours[i] = Colour{ID: fmt.Sprint(i), Minutes: int64(10 + d.below(60))}
		if due {
			colours[i].Due, colours[i].LateCost = int64(60+d.below(60*n)), 100
		}
		row := make([]Change, n)
		for j := range row {
			row[j] = change()
		}
		b.Start, b.Change = append(b.Start, change()), append(b.Change, row)
	}
	return colours, []BoothDay{b}
}

func BenchmarkOrderOf16(b *testing.B) {
	for _, due := range []bool{false, true} {
		b.Run(fmt.Sprint("due=", due), func(b *testing.B) {
			colours, booths := randomDay(16, due)
			b.ReportAllocs()
			for b.Loop() {
				p, err := Order(colours, booths, 1)
				if err != nil || !p.Proven && !due {
					b.Fatal(p, err)
				}
			}
		})
	}
}

func BenchmarkOrderOf40WithDueTimes(b *testing.B) {
	colours, booths := randomDay(40, true)
	for b.Loop() {
		if _, err := Order(colours, booths, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func TestOrderErrorsNameTheField(t *testing.T) {
	tests := []struct {
		what  string
		spoil func(*[]Colour, *[]BoothDay)
	}{
		{"colours", func(c *[]Colour, _ *[]BoothDay) { *c = nil }},
		{"colours", func(c *[]Colour, _ *[]BoothDay) { *c = make([]Colour, ColoursMax+1) }},
		{"booths", func(_ *[]Colour, b *[]BoothDay) { *b = nil }},
		{"booths", func(_ *[]Colour, b *[]BoothDay) { *b = append(*b, (*b)[0], (*b)[0]) }},
		{"booths[1].booth", func(_ *[]Colour, b *[]BoothDay) { *b = append(*b, (*b)[0]) }},
		{"booths[0].ready", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Ready = -1 }},
		{"booths[0].start", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Start = nil }},
		{"booths[0].end", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].End = []Change{} }},
		{"booths[0].change", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Change = nil }},
		{"booths[0].change[1]", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Change[1] = nil }},
		{"booths[0].change[1][0].cost", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Change[1][0].Cost = CostMax + 1 }},
		{"booths[0].change[1][2].minutes", func(_ *[]Colour, b *[]BoothDay) { (*b)[0].Change[1][2].Minutes = -1 }},
		{"colours[2].minutes", func(c *[]Colour, _ *[]BoothDay) { (*c)[2].Minutes = MinutesMax + 1 }},
		{"colours[2].due", func(c *[]Colour, _ *[]BoothDay) { (*c)[2].Due = -1 }},
		{"colours[2].late_cost", func(c *[]Colour, _ *[]BoothDay) { (*c)[2].LateCost = LateMax + 1 }},
		{"colours[0].booth", func(c *[]Colour, _ *[]BoothDay) { (*c)[0].Booth = "elsewhere" }},
	}
	for _, tt := range tests {
		colours, booths := randomDay(3, true)
		tt.spoil(&colours, &booths)
		_, err := Order(colours, booths, 1)
		var e *measure.Fault
		if !errors.As(err, &e) || e.What != tt.what || e.Want == "" {
			t.Errorf("%v, want a fault of %s", err, tt.what)
		}
	}
	colours, booths := randomDay(ColoursMax, false)
	booths[0].Change[0][0].Cost = -1 // the diagonal is not looked at
	if d, err := newDay(colours, booths); err != nil || d.n != ColoursMax {
		t.Errorf("a day at the limit: %v", err)
	}
}

func ExampleOrder() {
	colours := []Colour{{ID: "white", Minutes: 60}, {ID: "cream", Minutes: 30}, {ID: "black", Minutes: 45, Due: 120, LateCost: 50}}
	light, dark := Change{300, 10}, Change{1500, 45}
	booth := BoothDay{ID: "1", Start: []Change{dark, dark, {100, 1}}, // black is in it now
		Change: [][]Change{{{}, light, dark}, {light, {}, dark}, {dark, dark, {}}}}
	p, _ := Order(colours, []BoothDay{booth}, 1)
	for _, s := range p.Stops[0] {
		fmt.Println(colours[s.Colour].ID, "from minute", s.Begin, "to", s.Done)
	}
	fmt.Println("cost", p.Total, "instead of", p.Given, "proven:", p.Proven)
	// Output:
	// black from minute 1 to 46
	// white from minute 91 to 151
	// cream from minute 161 to 191
	// cost 1900 instead of 9050 proven: true
}
