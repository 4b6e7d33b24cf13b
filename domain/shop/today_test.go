package shop

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// manyColours has a job of each of n powders, dark and light by turns, on a day of its
// own or all on one.
func manyColours(t *testing.T, n int, isOneDay bool) *Fold {
	text := morning
	for i := range n {
		light := []int{20, 95}[i%2]
		due := time.UnixMilli(reader.NowMS).AddDate(0, 1, i).Format(time.DateOnly)
		if isOneDay {
			due = "2026-04-01"
		}
		text += fmt.Sprintf(`
	06:00 mia powder.set {"powder":"p%d","name":"P%d","chemistry":"polyester","finish":"gloss","sg_milli":1500,"lab":[%d,0,0],"film_um10":{"min":500,"target":600,"max":700},"reclaim_max_pm":300}
	06:01 mia job.planned {"job":"j%d","powder":"p%d","count":10,"area_cm2":100,"due":"%s"}
`, i, i, light, i, i, due)
	}
	return foldOf(t, text)
}

func TestTodayShowsHoweverManyColours(t *testing.T) {
	for _, n := range []int{30, 400} {
		for _, isOneDay := range []bool{false, true} {
			v, err := ViewValue(manyColours(t, n, isOneDay), reader, "today", nil)
			if err != nil {
				t.Fatal(err)
			}
			if p := v.(TodayView).Plans[0]; len(p.Stops) != n || n == 400 && p.Minutes <= 14_400 && !isOneDay {
				t.Errorf("%d colours: %d stops, %d min", n, len(p.Stops), p.Minutes)
			}
		}
	}
}

// What a change took that was left open for a month is more than an order can count.
func TestTodayShowsAfterAChangeThatWasOpenForWeeks(t *testing.T) {
	f := manyColours(t, 3, true)
	for i := range int64(6) { // often enough for the rule's own minutes to weigh little
		start := reader.NowMS - (70-10*i)*oneDayMS
		id := fmt.Sprint("c", i)
		f.Add(
			Entry{ID: id, Kind: "change.started", V: 1, Device: "d", N: 1000 + 2*i, EffectiveMS: start, Body: &ChangeStarted{Booth: "b1", Powder: []string{"p1", "p0"}[i%2], Level: "full"}},
			Entry{ID: id + "e", Kind: "change.finished", V: 1, Device: "d", N: 1001 + 2*i, EffectiveMS: start + 60*oneDayMS, Body: &ChangeFinished{Booth: "b1", Change: id}},
		)
	}
	v, err := ViewValue(f, reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(v.(TodayView).Plans[0].Stops); n != 3 {
		t.Errorf("%d stops, want 3", n)
	}
}

// The largest jobs ask for more powder than any book holds; the sum must not wrap.
func TestTodayNeedsNoLessThanNothing(t *testing.T) {
	text := morning + `
	05:20 mia powder.set {"powder":"white","name":"Salt Flat White","chemistry":"polyester","sg_milli":5000,"film_um10":{"min":600,"target":9000,"max":9000},"reclaim_max_pm":300}
	05:20 mia booth.set {"booth":"b1","name":"Booth 1","te_pm":1}
`
	for i := range 40 {
		text += fmt.Sprintf("\t06:00 mia job.planned {\"job\":\"j%d\",\"powder\":\"white\",\"count\":10000000,\"area_cm2\":100000000}\n", i)
	}
	v, err := ViewValue(foldOf(t, text), reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	if s := v.(TodayView).Plans[0].Stops[0]; s.Need.MG <= 0 || s.Need.MG >= 1<<53 || !s.Short {
		t.Errorf("need %+v, short %v", s.Need, s.Short)
	}
}

// A job stays on the phones until it is done, however long ago it was planned.
func TestAnOpenJobStaysInEveryWindow(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 mia job.planned {"job":"open","powder":"white","count":10,"area_cm2":100}
	06:00 mia job.planned {"job":"half","powder":"white","count":10,"area_cm2":100,"due":"2026-03-03"}
	06:00 mia job.planned {"job":"done","powder":"white","count":10,"area_cm2":100}
	07:00 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	07:10 ana parts.coated {"run":"r1","job":"done","count":10,"area_cm2":100}
	07:10 ana parts.coated {"run":"r1","job":"half","count":5,"area_cm2":100}
	07:20 ana run.closed {"run":"r1"}
	`)
	w := f.Window(reader.NowMS + 200*oneDayMS)
	if len(w.Base.Runs) != 0 {
		t.Fatal("the run is not of the past")
	}
	got := fmt.Sprint(w.Base.Jobs["open"] != nil, w.Base.Jobs["half"] != nil, w.Base.Jobs["done"] != nil)
	if got != "true true false" {
		t.Errorf("open, half and done in the window: %s", got)
	}
	phone, err := LoadWindow(w.Base.Encode(), w.FloorMS)
	if err != nil {
		t.Fatal(err)
	}
	v, err := ViewValue(phone, reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	if jobs := v.(TodayView).Plans[0].Stops[0].Jobs; len(jobs) != 2 {
		t.Errorf("Today lists %v", jobs)
	}
}

// No time on a clock, however wrong, makes a view panic.
func TestEveryViewShowsAtAnyTime(t *testing.T) {
	f := foldOf(t, morning)
	for _, ms := range []int64{-1 << 63, -999_999_999_999_999, -62_167_219_200_001, 0, 253_402_300_800_000, 999_999_999_999_999, 1<<63 - 1} {
		for _, offset := range []int{math.MinInt, -1440, 0, 1440, math.MaxInt} {
			r := reader
			r.NowMS, r.OffsetMin = ms, offset
			for _, name := range []string{"stock", "lots", "room", "office", "lists", "today", "need", "booth", "attention"} {
				if _, err := View(f, r, name, nil); err != nil {
					t.Errorf("%s at %d: %v", name, ms, err)
				}
			}
		}
	}
	// An entry of the year 0 in a zone east of Greenwich happened in the year before.
	f.Add(Entry{ID: "old", Kind: "lot.received", V: 1, Device: "d", N: 99, EffectiveMS: -62_167_219_200_001, Body: &LotReceived{Lot: "O", Powder: "white", Batch: "O", Place: "shelf", Mass: 5, UseBy: "2027-01-01"}},
		Entry{ID: "room", Kind: "room.read", V: 1, Device: "d", N: 100, EffectiveMS: -62_167_219_200_001, Body: &RoomRead{TempDC: 400}})
	if _, err := View(f, reader, "stock", nil); err != nil {
		t.Error(err)
	}
	if _, err := Load(f.Save()); err != nil {
		t.Errorf("the state cannot be read again: %v", err)
	}
}
