package shop

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

func TestShiftInCollectMode(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:00 ana powder.recovered {"run":"r1","from":"hopper","to":"bin","mass_mg":3000000,"sieved":true}
	08:05 ana powder.recovered {"run":"r1","from":"hopper","to":"drum","mass_mg":500000}
	08:10 ana parts.coated {"run":"r1","job":"gate-17","count":40,"area_cm2":20000,"coats":1}
	08:20 ana film.read {"run":"r1","spots":[680,720,700]}
	09:00 ana place.weighed {"place":"hopper","mass_mg":2000000,"sd_mg":5000}
	09:01 ana run.closed {"run":"r1"}
	`)
	// by hand: 20 - 3 - 0.5 - 2 = 14.5 kg left the feed for good; 40 parts × 2 m² × 70 µm × 1.6 = 8.96 kg on parts
	run := f.State().Runs["r1"]
	c := f.State().Closing(run)
	want := Closing{Gross: 18_000_000, Net: 14_500_000, OnParts: 8_960_000, Recovered: 3_000_000, Scrapped: 500_000, Lost: 5_540_000}
	if c.Gross != want.Gross || c.Net != want.Net || c.OnParts != want.OnParts || c.Recovered != want.Recovered || c.Scrapped != want.Scrapped || c.Lost != want.Lost || c.Estimated {
		t.Errorf("closing %+v, want %+v", c, want)
	}
	if got := content(f, "bin"); got != "W1/1 3000000" {
		t.Errorf("bin holds %s; recovered powder has one pass more", got)
	}
	if c.LostSD < 5000 {
		t.Errorf("lost is known to %d mg, at least the 5 g of the weighing", c.LostSD)
	}
	if got := codes(f); got != "" {
		t.Errorf("needs attention: %s", got)
	}
}

// A closed loop: the check values follow from the formula in the design by a
// separate float computation of the 16 steps.
func TestClosedLoopCountsPasses(t *testing.T) {
	f := foldOf(t, morning+`
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
	base := morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":4000000}
	`
	f := foldOf(t, base)
	if n := f.State().Runs["r1"].Net.Total(); n != 6_000_000 {
		t.Fatalf("sprayed %d, want 6 kg", n)
	}
	f.Add(entryAt(t, "late", "07:00", "ana", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":2500000,"lot":"W1"}`, 90))
	check(t, f)
	if n := f.State().Runs["r1"].Net.Total(); n != 8_500_000 || f.State().Book.Places["hopper"].Content.Total() != 4_000_000 {
		t.Errorf("after a late charge before the weighing: sprayed %d, hopper %s", n, content(f, "hopper"))
	}
}

func TestOverdrawIsBookedAndExplained(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":2000000,"lot":"W1"}
	06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":3000000}
	`)
	if codes(f) != "overdraw" || content(f, "drum") != "W1/0 2000000, unknown/0 1000000" {
		t.Errorf("issues %q, drum %s", codes(f), content(f, "drum"))
	}
	f.Add(entryAt(t, "late", "06:05", "ana", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":1500000,"lot":"W1"}`, 90))
	check(t, f)
	if codes(f) != "" || content(f, "hopper") != "W1/0 500000" {
		t.Errorf("after the late entry that explains it: issues %q, hopper %s", codes(f), content(f, "hopper"))
	}
}

func TestWeighingAboveTheBooks(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana place.weighed {"place":"bin","mass_mg":700000}
	06:10 cleo place.weighed {"place":"shelf","lot":"W1","mass_mg":49000000}
	`)
	if content(f, "bin") != "unknown/0 700000" || codes(f) != "weighed_above" {
		t.Errorf("bin %s issues %s", content(f, "bin"), codes(f))
	}
	if got := f.State().Book.Variance.Total(); got != 300_000 {
		t.Errorf("variance %d: 1 kg missing less 0.7 kg found", got)
	}
}

func TestVoidRestoresTheStateWithoutTheEntry(t *testing.T) {
	day := morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	`
	without := foldOf(t, day+`06:30 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}`)
	with := foldOf(t, day+`
	oops: 06:10 ana powder.moved {"from":"hopper","to":"drum","mass_mg":4000000}
	06:30 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	06:40 ana entry.voided {"entry":"oops","why":"wrong vessel"}
	`)
	a, b := without.State().Clone(), with.State().Clone()
	a.Folded, b.Folded = 0, 0
	if string(a.Encode()) != string(b.Encode()) {
		t.Errorf("state differs from the one without the entry:\n%s\n%s", a.Encode(), b.Encode())
	}
}

func TestHeldCountsOnlyWhenReleased(t *testing.T) {
	f := foldOf(t, morning)
	e := entryAt(t, "h", "06:00", "ana", "lot.received", `{"lot":"W9","powder":"white","batch":"W-9","place":"shelf","mass_mg":1000}`, 80)
	e.Outcome, e.Reason, e.Sent = Held, "role", true
	f.Add(e)
	if f.State().Lots["W9"] != nil {
		t.Fatal("a held entry counts")
	}
	f.Add(entryAt(t, "ok", "06:10", "mia", "entry.released", `{"entry":"h"}`, 81))
	check(t, f)
	if f.State().Lots["W9"] == nil {
		t.Error("a released entry does not count")
	}
}

func TestRecoveredAfterTheLastWeighingStillBalances(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":5000000}
	`)
	record(t, f, "09:10", "recover", "run", "r1", "to", "bin", "mass", "4 kg", "sieved", "yes")
	c := f.State().Closing(f.State().Runs["r1"])
	if c.Gross != 15_000_000 || c.Net != 11_000_000 || content(f, "hopper") != "W1/0 5000000" {
		t.Errorf("gross %d net %d hopper %s; 15 kg went through the gun, 4 came back", c.Gross, c.Net, content(f, "hopper"))
	}
}

func TestChargePreviewIsWhatIsBooked(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:00 ana powder.recovered {"run":"r1","from":"hopper","to":"bin","mass_mg":6000000,"sieved":true}
	`)
	p := plan(t, f, "charge", "to", "hopper", "reclaim", "5 kg")
	if !p.OK || p.Best == nil || len(p.After) == 0 {
		t.Fatalf("plan %+v", p)
	}
	// by hand: capacity 25 kg, 30 % is 7.5 kg, the bin holds 6: all 6 and 15 virgin
	if p.Best.Reclaim.MG != 6_000_000 || p.Best.Virgin.MG != 15_000_000 || p.Best.Binding != "reclaim" {
		t.Errorf("best blend %+v", *p.Best)
	}
	if len(p.Warnings) != 1 || p.Warnings[0].Code != "reclaim_over" {
		t.Errorf("5 kg on 4 kg virgin is over 30 %%: %v", p.Warnings)
	}
	q := record(t, f, "08:30", "charge", "to", "hopper", "virgin", "15", "reclaim", "6")
	var after VesselView
	for _, v := range q.After {
		if v.Place == "hopper" {
			after = v
		}
	}
	now, _ := View(f, reader, "place", []byte(`{"place":"hopper"}`))
	then, _ := json.Marshal(after)
	if string(now) != string(then) || after.Ratio != "76:24" {
		t.Errorf("shown %s\nbooked %s", then, now)
	}
}

func TestColourChange(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"K1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"black","feed":"hopper","mode":"waste"}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	`)
	p := plan(t, f, "change.start", "booth", "b1", "powder", "white", "level", "purge")
	if p.Need == nil || p.Need.Level != "full" || len(p.Warnings) != 1 || p.Warnings[0].Code != "cleaning_below" {
		t.Errorf("black to white needs full and purge is warned about: %+v %v", p.Need, p.Warnings)
	}
	record(t, f, "07:05", "change.start", "booth", "b1", "powder", "white", "crew", "2")
	record(t, f, "07:40", "change.finish", "booth", "b1", "minutes", "35", "feed", "hopper", "mode", "collect", "purged", "1", "checks", "gun hoses booth hopper")
	s := f.State()
	c := s.Changes[0]
	if c.Minutes != 35 || c.Crew != 2 || c.Scrapped != 1_000_000 || s.Booths["b1"].Change != "" || s.Booths["b1"].Powder != "white" {
		t.Errorf("change %+v", *c)
	}
	if run := s.Runs[s.Booths["b1"].Run]; run == nil || run.Powder != "white" || s.Runs["r1"].ClosedMS == 0 {
		t.Error("the change closes the old run and opens the new one")
	}
	if codes(f) != "" {
		t.Errorf("needs attention: %s", codes(f))
	}
}

func TestEveryViewForEveryRole(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	06:30 ana parts.coated {"run":"r1","job":"gate","count":4,"area_cm2":10000,"coats":1}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	`)
	params := map[string]string{"run": `{"run":"r1"}`, "place": `{"place":"hopper"}`, "trace": `{"lot":"W1"}`, "need": `{"booth":"b1","powder":"black"}`}
	for _, role := range append(slices.Clone(Roles), "") {
		r := reader
		r.Role = role
		for _, name := range ViewNames() {
			out, err := View(f, r, name, []byte(params[name]))
			if err != nil {
				t.Errorf("%s as %q: %v", name, role, err)
			}
			if role != "manager" && strings.Contains(string(out), `"price"`) {
				t.Errorf("%s shows prices to %q", name, role)
			}
		}
	}
	if _, err := View(f, reader, "nonsense", nil); err == nil {
		t.Error("an unknown view has no error")
	}
}

func TestStateEncodesAndComesBack(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"loop"}
	07:00 ana place.weighed {"place":"hopper","mass_mg":1000000}
	07:01 ana powder.moved {"from":"nowhere","to":"drum","mass_mg":1}
	07:10 ana change.started {"booth":"b1","powder":"black","level":"purge","crew":1}
	`)
	g, err := Load(f.Save())
	if err != nil {
		t.Fatal(err)
	}
	if hash(f) != hash(g) {
		t.Errorf("the state changes by being written and read:\n%s\n%s", f.Save(), g.Save())
	}
}

func TestPartsMass(t *testing.T) {
	for _, tt := range []struct {
		name                           string
		count, area, film, n, sg, want int64
		source                         string
	}{
		{"one square metre at 70 µm and 1.6", 1, 10_000, 700, 1, 1600, 112_000, "deposit SG·µm = 112 g/m²"},
		{"halves round up", 1, 1, 1, 1, 50_000, 1, "by hand: 0.5 mg"},
		{"mean of three readings", 1, 10_000, 2100, 3, 1600, 112_000, "by hand: mean 70 µm"},
		{"nothing read, nothing on parts", 1, 10_000, 0, 0, 1600, 0, "the design's rule"},
		{"absurd figures saturate", 10_000_000, 100_000_000, 20_000, 1, 5000, 1_000_000_000_000_000_000, "by hand: 10⁷·10⁸·2·10⁴·5·10³/10⁵ = 10¹⁸"},
	} {
		if got := PartsMass(tt.count, tt.area, tt.film, tt.n, tt.sg); int64(got) != tt.want {
			t.Errorf("%s: %d, want %d (%s)", tt.name, got, tt.want, tt.source)
		}
	}
}

// A form opened on what stands in the books and saved as it is changes nothing,
// not even the fields that it does not show.
func TestEditingWithoutAChangeChangesNothing(t *testing.T) {
	f := foldOf(t, morning+`
	05:20 mia powder.set {"powder":"red","name":"Ember","chemistry":"hybrid","finish":"satin","sg_milli":1605,"lab":[40,-3.25,18],"film_um10":{"min":555,"target":650,"max":800},"reclaim_max_pm":125,"shelf_months":9,"store_max_dc":273,"price":815,"mec_mg_m3":35000,"cure_dc":1805,"cure_s":615,"cure_max_s":1205}
	05:21 mia setup.set {"setup":"s1","name":"Frames","booth":"b1","powder":"red","parts":"corners","charging":"corona","nozzle":"flat","kv":60,"ua":20,"main_kpa":103,"extra_kpa":47,"distance_mm":203,"worked":true}
	`)
	us := reader
	us.Style.Units = "us" // prints 55.5 µm as 2.19 mil, which would be read as 55.6 µm
	for _, form := range []struct {
		view, task string
		reader     Reader
	}{{"powders", "set.powder", reader}, {"powders", "set.powder", us}, {"booths", "set.booth", reader}, {"booths", "set.booth", us}, {"setups", "set.setup", reader}, {"setups", "set.setup", us}} {
		editsNothing(t, f, form.reader, form.view, form.task)
	}
	// 8 kg print as 17.64 lb, which would be read as 8.001 kg.
	hopper := f.State().Places["hopper"]
	filled := map[string]string{"place": "hopper", "name": hopper.Name, "kind": hopper.Kind, "booth": "b1", "tare": us.Style.Mass(hopper.Tare), "capacity": us.Style.Mass(hopper.Capacity)}
	if got, want := string(MakePlan(f, us, "set.place", filled, ids()).Entries[0].Body), `"tare_mg":8000000,"capacity_mg":25000000}`; !strings.HasSuffix(got, want) {
		t.Errorf("the hopper became %s, want ...%s", got, want)
	}
}

func editsNothing(t *testing.T, f *Fold, reader Reader, view, task string) {
	t.Helper()
	out, err := ViewValue(f, reader, view, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, filled := range out.([]map[string]string) {
		p := MakePlan(f, reader, task, filled, ids())
		if !p.OK {
			t.Errorf("%s %v: %v", task, filled, p.Errors)
			continue
		}
		want := form.Encode(&f.State().Booths["b1"].BoothSet)
		switch task {
		case "set.powder":
			want = form.Encode(f.State().Powders[filled["powder"]])
		case "set.setup":
			want = form.Encode(f.State().Setups[filled["setup"]])
		}
		if got := string(p.Entries[0].Body); got != string(want) {
			t.Errorf("%s in %s: saved %s\nwas   %s", task, reader.Style.Units, got, want)
		}
	}
}

// Virgin powder that lies in a reclaim bin stays virgin: the ratio offered is
// the ratio that the hopper will have.
func TestTheBestBlendTellsTheRatioAsBooked(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:00 ana powder.recovered {"run":"r1","from":"hopper","to":"bin","mass_mg":3000000,"sieved":true}
	08:05 ana powder.moved {"from":"shelf","to":"bin","mass_mg":2000000,"lot":"W1"}
	`)
	best := plan(t, f, "charge", "to", "hopper").Best
	if best == nil || best.Reclaim.MG == 0 {
		t.Fatalf("no blend: %+v", best)
	}
	p := record(t, f, "08:30", "charge", "to", "hopper", "virgin", fmt.Sprint(best.Virgin.MG, " mg"), "reclaim", fmt.Sprint(best.Reclaim.MG, " mg"))
	for _, v := range p.After {
		if v.Place == "hopper" && (v.Ratio != best.Ratio || v.ReclaimPM != best.ReclaimPM) {
			t.Errorf("offered %s (%d ‰), booked %s (%d ‰)", best.Ratio, best.ReclaimPM, v.Ratio, v.ReclaimPM)
		}
	}
}

func TestWhatIsRecoveredCountsWhenNothingElseHappenedToTheFeed(t *testing.T) {
	const before = morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:59 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":1000000,"lot":"W1"}
	`
	for _, tt := range []struct{ name, journal, after, before, why string }{
		{"half a minute before the weighing", before + "09:02 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n", "09:01", "09:02", "the middle of the minute before"},
		{"between the last charge and the weighing", before + "09:00 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n", "08:59", "09:00", "the charge was already in what the scale showed"},
		{"after the first bin of the same weighing", before + "09:00 ana place.weighed {\"place\":\"hopper\",\"mass_mg\":5000000}\n08:59 ana powder.recovered {\"run\":\"r1\",\"from\":\"hopper\",\"to\":\"bin\",\"mass_mg\":1000000,\"sieved\":true}\n", "08:59", "09:00", "two recoveries do not come between each other"},
	} {
		f := foldOf(t, tt.journal)
		p := plan(t, f, "recover", "run", "r1", "to", "bin", "mass", "2 kg", "sieved", "yes")
		at := p.Entries[0].AtMS
		if after, before := entryAt(t, "x", tt.after, "ana", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS, entryAt(t, "x", tt.before, "ana", "entry.noted", `{"entry":"x","text":"x"}`, 1).EffectiveMS; at <= after || at >= before || min(at-after, before-at) < 20_000 {
			t.Errorf("%s: counts %d ms after %s and %d before %s (%s)", tt.name, at-after, tt.after, before-at, tt.before, tt.why)
		}
	}
}

// Nothing can be booked before a weighing in closed books. The preview must not say so.
func TestWhatIsRecoveredAfterTheBooksWereClosedCountsNow(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	09:00 ana place.weighed {"place":"hopper","mass_mg":5000000}
	09:05 mia books.closed {"through":"2026-03-02T09:04:00Z"}
	`)
	if f.State().Closed == 0 {
		t.Fatal("the books are not closed")
	}
	if p := plan(t, f, "recover", "run", "r1", "to", "bin", "mass", "2 kg", "sieved", "yes"); !p.OK || p.Entries[0].AtMS != 0 {
		t.Errorf("the plan dates it into closed books: %+v", p.Entries)
	}
}
