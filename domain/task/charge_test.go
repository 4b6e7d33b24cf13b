package task_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
)

func TestChargePreviewIsWhatIsBooked(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:00 ana powder.recovered {"run":"r1","from":"hopper","to":"bin","mass_mg":6000000,"sieved":true}
	`)
	p := shoptest.Plan(t, f, "charge", "to", "hopper", "reclaim", "5 kg")
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
	q := shoptest.Record(t, f, "08:30", "charge", "to", "hopper", "virgin", "15", "reclaim", "6")
	var after view.VesselView
	for _, v := range q.After {
		if v.Place == "hopper" {
			after = v
		}
	}
	now, _ := view.JSON(f, shoptest.Reader, "place", []byte(`{"place":"hopper"}`))
	then, _ := json.Marshal(after)
	if string(now) != string(then) || after.Ratio != "76:24" {
		t.Errorf("shown %s\nbooked %s", then, now)
	}
}

// Virgin powder that lies in a reclaim bin stays virgin: the ratio offered is
// the ratio that the hopper will have.
func TestTheBestBlendTellsTheRatioAsBooked(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	08:00 ana powder.recovered {"run":"r1","from":"hopper","to":"bin","mass_mg":3000000,"sieved":true}
	08:05 ana powder.moved {"from":"shelf","to":"bin","mass_mg":2000000,"lot":"W1"}
	`)
	best := shoptest.Plan(t, f, "charge", "to", "hopper").Best
	if best == nil || best.Reclaim.MG == 0 {
		t.Fatalf("no blend: %+v", best)
	}
	p := shoptest.Record(t, f, "08:30", "charge", "to", "hopper", "virgin", fmt.Sprint(best.Virgin.MG, " mg"), "reclaim", fmt.Sprint(best.Reclaim.MG, " mg"))
	for _, v := range p.After {
		if v.Place == "hopper" && (v.Ratio != best.Ratio || v.ReclaimPM != best.ReclaimPM) {
			t.Errorf("offered %s (%d ‰), booked %s (%d ‰)", best.Ratio, best.ReclaimPM, v.Ratio, v.ReclaimPM)
		}
	}
}

func TestChargingAnotherHopperForgetsTheLotOfTheFirst(t *testing.T) {
	// Of red there is no lot at all; then one.
	text := shoptest.More + `
	05:14 mia powder.set {"powder":"red","name":"Ember","chemistry":"hybrid","sg_milli":1600,"film_um10":{"min":500,"target":600,"max":700},"reclaim_max_pm":300}
	05:15 mia place.set {"place":"hop2","name":"Hopper 2","kind":"vessel","booth":"b2"}
	05:16 mia booth.set {"booth":"b2","name":"Booth 2"}
	05:17 ana change.started {"booth":"b2","powder":"red","level":"full"}
	`
	f := shoptest.FoldOf(t, text)
	p := shoptest.Plan(t, f, "charge", "to", "hop2", "lot", "K2", "shelf", "shelf", "virgin", "3 kg")
	if p.OK || len(p.Errors) == 0 || len(p.Entries) != 0 {
		t.Errorf("another powder's lot counts: %v %v", p.Errors, p.Entries)
	}
	f = shoptest.FoldOf(t, text+`
	05:18 cleo lot.received {"lot":"R1","powder":"red","batch":"R-1","place":"empty","mass_mg":9000000}
	05:19 cleo lot.received {"lot":"R2","powder":"red","batch":"R-2","place":"empty","mass_mg":9000000}
	`)
	p = shoptest.Plan(t, f, "charge", "to", "hop2", "lot", "K2", "shelf", "shelf", "virgin", "3 kg")
	if !p.OK || p.Filled["lot"] != "R1" || len(p.Warnings) != 0 || len(p.Entries) != 1 || !strings.Contains(string(p.Entries[0].Body), `"from":"empty"`) {
		t.Errorf("want 3 kg of R1 from its own shelf: %v %v %v %v", p.Errors, p.Warnings, p.Filled, p.Entries)
	}
	p = shoptest.Plan(t, f, "charge", "to", "hop2", "lot", "R2", "virgin", "3 kg")
	if len(p.Warnings) != 1 || p.Warnings[0] != (task.Warning{Code: "out_of_turn", Detail: "R-1"}) {
		t.Errorf("warnings %v, want R-1 to be used before", p.Warnings)
	}
}
