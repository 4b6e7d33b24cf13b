package view_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

// manyColours has a job of each of n powders, dark and light by turns, on a day of its
// own or all on one.
func manyColours(t *testing.T, n int, isOneDay bool) *shop.Fold {
	text := shoptest.Morning
	for i := range n {
		light := []int{20, 95}[i%2]
		due := time.UnixMilli(shoptest.Reader.NowMS).AddDate(0, 1, i).Format(time.DateOnly)
		if isOneDay {
			due = "2026-04-01"
		}
		text += fmt.Sprintf(`
	06:00 mia powder.set {"powder":"p%d","name":"P%d","chemistry":"polyester","finish":"gloss","sg_milli":1500,"lab":[%d,0,0],"film_um10":{"min":500,"target":600,"max":700},"reclaim_max_pm":300}
	06:01 mia job.planned {"job":"j%d","powder":"p%d","count":10,"area_cm2":100,"due":"%s"}
`, i, i, light, i, i, due)
	}
	return shoptest.FoldOf(t, text)
}

func TestTodayShowsHoweverManyColours(t *testing.T) {
	for _, n := range []int{30, 400} {
		for _, isOneDay := range []bool{false, true} {
			v, err := view.Value(manyColours(t, n, isOneDay), shoptest.Reader, "today", nil)
			if err != nil {
				t.Fatal(err)
			}
			if p := v.(view.TodayView).Plans[0]; len(p.Stops) != n || n == 400 && p.Minutes <= 14_400 && !isOneDay {
				t.Errorf("%d colours: %d stops, %d min", n, len(p.Stops), p.Minutes)
			}
		}
	}
}

// What a change took that was left open for a month is more than an order can count.
func TestTodayShowsAfterAChangeThatWasOpenForWeeks(t *testing.T) {
	f := manyColours(t, 3, true)
	for i := range int64(6) { // often enough for the rule's own minutes to weigh little
		start := shoptest.Reader.NowMS - (70-10*i)*shoptest.DayMS
		id := fmt.Sprint("c", i)
		f.Add(
			shop.Entry{ID: id, Kind: "change.started", V: 1, Device: "d", N: 1000 + 2*i, EffectiveMS: start, Body: &kind.ChangeStarted{Booth: "b1", Powder: []string{"p1", "p0"}[i%2], Level: "full"}},
			shop.Entry{ID: id + "e", Kind: "change.finished", V: 1, Device: "d", N: 1001 + 2*i, EffectiveMS: start + 60*shoptest.DayMS, Body: &kind.ChangeFinished{Booth: "b1", Change: id}},
		)
	}
	v, err := view.Value(f, shoptest.Reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(v.(view.TodayView).Plans[0].Stops); n != 3 {
		t.Errorf("%d stops, want 3", n)
	}
}

// The largest jobs ask for more powder than any book holds; the sum must not wrap.
func TestTodayNeedsNoLessThanNothing(t *testing.T) {
	text := shoptest.Morning + `
	05:20 mia powder.set {"powder":"white","name":"Salt Flat White","chemistry":"polyester","sg_milli":5000,"film_um10":{"min":600,"target":9000,"max":9000},"reclaim_max_pm":300}
	05:20 mia booth.set {"booth":"b1","name":"Booth 1","te_pm":1}
`
	for i := range 40 {
		text += fmt.Sprintf("\t06:00 mia job.planned {\"job\":\"j%d\",\"powder\":\"white\",\"count\":10000000,\"area_cm2\":100000000}\n", i)
	}
	v, err := view.Value(shoptest.FoldOf(t, text), shoptest.Reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	if s := v.(view.TodayView).Plans[0].Stops[0]; s.Need.MG <= 0 || s.Need.MG >= 1<<53 || !s.Short {
		t.Errorf("need %+v, short %v", s.Need, s.Short)
	}
}

func TestTheColoursToComeAreOrderedByDayThenByCleaning(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	05:20 mia powder.set {"powder":"cream","name":"Cream","chemistry":"polyester","finish":"gloss","sg_milli":1600,"lab":[92,1,8],"film_um10":{"min":500,"target":600,"max":800},"reclaim_max_pm":100}
	05:30 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	05:31 cleo job.planned {"job":"late","powder":"black","count":5,"area_cm2":10000,"due":"2026-02-20"}
	05:32 cleo job.planned {"job":"any","powder":"cream","count":5,"area_cm2":10000}
	05:33 cleo job.planned {"job":"soon","powder":"white","count":10,"area_cm2":10000,"due":"2026-03-30"}
	05:34 cleo job.planned {"job":"same day","powder":"black","count":1,"area_cm2":10000,"due":"2026-03-30"}
	05:35 cleo job.planned {"job":"done","powder":"white","count":3,"area_cm2":10000,"due":"2026-03-30"}
	06:00 ana parts.coated {"run":"r1","job":"done","count":3,"area_cm2":10000}
	06:10 ana parts.coated {"run":"r1","job":"soon","count":4,"area_cm2":10000}
	`)
	out, err := view.Value(f, shoptest.Reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	v := out.(view.TodayView)
	var got []string
	for _, s := range v.Plans[0].Stops {
		got = append(got, s.Powder.ID)
	}
	if !slices.Equal(got, []string{"black", "white", "cream"}) {
		t.Errorf("order %v: what is overdue first, then by day, without a day last", got)
	}
	black, white := v.Plans[0].Stops[0], v.Plans[0].Stops[1]
	if !black.Overdue || len(black.Jobs) != 2 || black.Level == "" || black.Minutes == 0 {
		t.Errorf("black %+v", black)
	}
	if white.Jobs[0].Done != 4 || len(v.Done) != 1 || v.Done[0].Job != "done" {
		t.Errorf("white %+v, done %+v", white.Jobs, v.Done)
	}
	if sum := v.Plans[0].Stops[0].Minutes + v.Plans[0].Stops[1].Minutes + v.Plans[0].Stops[2].Minutes; sum != v.Plans[0].Minutes {
		t.Errorf("minutes %d, the stops say %d", v.Plans[0].Minutes, sum)
	}
}
