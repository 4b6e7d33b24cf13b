package task_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
)

func TestRecoveredAfterTheLastWeighingStillBalances(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":5000000}
	`)
	shoptest.Record(t, f, "09:10", "recover", "run", "r1", "to", "bin", "mass", "4 kg", "sieved", "yes")
	c := f.State().Closing(f.State().Runs["r1"])
	if c.Gross != 15_000_000 || c.Net != 11_000_000 || shoptest.Content(f, "hopper") != "W1/0 5000000" {
		t.Errorf("gross %d net %d hopper %s; 15 kg went through the gun, 4 came back", c.Gross, c.Net, shoptest.Content(f, "hopper"))
	}
}

func TestWhatIsRecoveredCountsWhenNothingElseHappenedToTheFeed(t *testing.T) {
	const before = shoptest.Morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:59 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000000,"lot":"W1"}
	`
	for _, tt := range []struct{ name, journal, after, before, why string }{
		{"half a minute before the weighing", before + "09:02 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n", "09:01", "09:02", "the middle of the minute before"},
		{"between the last charge and the weighing", before + "09:00 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n", "08:59", "09:00", "the charge was already in what the scale showed"},
		{"after the first bin of the same weighing", before + "09:00 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n08:59 ana powder.recovered {\"run\":\"r1\",\"from\":\"hopper\",\"to\":\"bin\",\"mass_mg\":1000000,\"sieved\":true}\n", "08:59", "09:00", "two recoveries do not come between each other"},
	} {
		f := shoptest.FoldOf(t, tt.journal)
		p := shoptest.Plan(t, f, "recover", "run", "r1", "to", "bin", "mass", "2 kg", "sieved", "yes")
		at := p.Entries[0].AtMS
		if after, before := shoptest.EntryAt(t, "x", tt.after, "ana", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS, shoptest.EntryAt(t, "x", tt.before, "ana", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS; at <= after || at >= before || min(at-after, before-at) < 20_000 {
			t.Errorf("%s: counts %d ms after %s and %d before %s (%s)", tt.name, at-after, tt.after, before-at, tt.before, tt.why)
		}
	}
}

// Nothing can be booked before a weighing in closed books. The preview must not say so.
func TestWhatIsRecoveredAfterTheBooksWereClosedCountsNow(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":5000000}
	09:05 mia books.closed {"through":"2026-03-02T09:04:00Z"}
	`)
	if f.State().Closed == 0 {
		t.Fatal("the books are not closed")
	}
	if p := shoptest.Plan(t, f, "recover", "run", "r1", "to", "bin", "mass", "2 kg", "sieved", "yes"); !p.OK || p.Entries[0].AtMS != 0 {
		t.Errorf("the plan dates it into closed books: %+v", p.Entries)
	}
}
