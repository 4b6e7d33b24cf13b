package task_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
)

func TestShiftInCollectMode(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
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
	want := shop.Closing{Gross: 18_000_000, Net: 14_500_000, OnParts: 8_960_000, Recovered: 3_000_000, Scrapped: 500_000, Lost: 5_540_000}
	if c.Gross != want.Gross || c.Net != want.Net || c.OnParts != want.OnParts || c.Recovered != want.Recovered || c.Scrapped != want.Scrapped || c.Lost != want.Lost || c.Estimated {
		t.Errorf("closing %+v, want %+v", c, want)
	}
	if got := shoptest.Content(f, "bin"); got != "W1/1 3000000" {
		t.Errorf("bin holds %s; recovered powder has one pass more", got)
	}
	if c.LostSD < 5000 {
		t.Errorf("lost is known to %d mg, at least the 5 g of the weighing", c.LostSD)
	}
	if got := shoptest.Codes(f); got != "" {
		t.Errorf("needs attention: %s", got)
	}
}
