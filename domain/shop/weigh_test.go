package shop_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/measure"
)

// A closed loop: the check values follow from the formula in the design by a
// separate float computation of the 16 steps.
func TestClosedLoopCountsPasses(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"loop"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":10000000}
	09:01 ana run.closed {"run":"r1"}
	`)
	c := f.State().Closing(f.State().Runs["r1"])
	// q = (1-0.6)·0.9 = 0.36; gross = 10 kg / 0.64 = 15.625 kg; recovered 5.625 kg
	if c.Net != 10_000_000 || absDiff(c.Gross, 15_625_000) > 16 {
		t.Errorf("net %d gross %d, want 10000000 and 15625000", c.Net, c.Gross)
	}
	in := f.State().Book.Places["hopper"].Content
	want := loopByFloats(20e6, 10e6, 0.36)
	for _, p := range in {
		if d := float64(p.Mass) - want[p.Passes]; d > 200 || d < -200 {
			t.Errorf("passes %d: %d mg, want %.0f within rounding", p.Passes, p.Mass, want[p.Passes])
		}
	}
	if in.Total() != 10_000_000 || in.Reclaim() == 0 {
		t.Errorf("hopper holds %d of which reclaim %d", in.Total(), in.Reclaim())
	}
}

func absDiff(a, b measure.Mass) measure.Mass {
	if a > b {
		return a - b
	}
	return b - a
}

func loopByFloats(start, net, q float64) map[uint8]float64 {
	c := map[uint8]float64{0: start}
	for range 16 {
		n := net / 16
		out := n / (1 - q)
		total := 0.0
		for _, m := range c {
			total += m
		}
		next := map[uint8]float64{}
		for k, m := range c {
			taken := out * m / total
			next[k] += m - taken
			next[k+1] += taken * q
		}
		c = next
	}
	return c
}

func TestObservationIsNotAMovement(t *testing.T) {
	base := shoptest.Morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":4000000}
	`
	f := shoptest.FoldOf(t, base)
	if n := f.State().Runs["r1"].Net.Total(); n != 6_000_000 {
		t.Fatalf("sprayed %d, want 6 kg", n)
	}
	f.Add(shoptest.EntryAt(t, "late", "07:00", "ana", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":2500000,"lot":"W1"}`, 90))
	shoptest.Check(t, f)
	if n := f.State().Runs["r1"].Net.Total(); n != 8_500_000 || f.State().Book.Places["hopper"].Content.Total() != 4_000_000 {
		t.Errorf("after a late charge before the weighing: sprayed %d, hopper %s", n, shoptest.Content(f, "hopper"))
	}
}

func TestWeighingAboveTheBooks(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana place.weighed {"place":"bin","mass_mg":700000}
	06:10 cleo place.weighed {"place":"shelf","lot":"W1","mass_mg":49000000}
	`)
	if shoptest.Content(f, "bin") != "unknown/0 700000" || shoptest.Codes(f) != "weighed_above" {
		t.Errorf("bin %s issues %s", shoptest.Content(f, "bin"), shoptest.Codes(f))
	}
	if got := f.State().Book.Variance.Total(); got != 300_000 {
		t.Errorf("variance %d: 1 kg missing less 0.7 kg found", got)
	}
}
