package shop

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/coating"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

func TestABadGroundIsNoticedUntilItIsPutRight(t *testing.T) {
	for _, tt := range []struct {
		name, read string
		want       string
	}{
		{"in order", `{"booth":"b1","ok":true,"ohm":400000}`, ""},
		{"in order, not measured", `{"booth":"b1","ok":true}`, ""},
		{"one megohm is the limit", `{"booth":"b1","ok":true,"ohm":1000000}`, ""},
		{"above it the figure speaks", `{"booth":"b1","ok":true,"ohm":1000001}`, "ground_bad"},
		{"said to be bad", `{"booth":"b1","ok":false}`, "ground_bad"},
		{"put right later", `{"booth":"b1","ok":false} {"booth":"b1","ok":true,"ohm":10}`, ""},
		{"another booth's ground is another", `{"booth":"b1","ok":false} {"booth":"b2","ok":true}`, "ground_bad"},
	} {
		w := roomShop()
		f := NewFold()
		f.Add(roomEntries(w)...)
		for _, body := range splitBodies(tt.read) {
			f.Add(w.fixed("ground.checked", body))
		}
		if got := codes(f); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// The whole numbers of the fold against the calculation coating.cure, which works
// with floats; without an activation energy its equivalent time is the plain time.
func TestTimeAtCureTemperatureIsTheCalculations(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 500 {
		curve := []CurePoint{{0, r.Int64N(400)}}
		floats := []coating.Logged{{Minute: 0, C: float64(curve[0].TempDC) / 10}}
		for range 1 + r.IntN(8) {
			last := curve[len(curve)-1]
			p := CurePoint{last.Sec + 1 + r.Int64N(600), r.Int64N(2300)}
			curve = append(curve, p)
			floats = append(floats, coating.Logged{Minute: float64(p.Sec) / 60, C: float64(p.TempDC) / 10})
		}
		want, err := coating.JudgeCure(floats, coating.Window{RefC: 180, FromC: 180, MinMin: 1, EaKJ: 0})
		if err != nil {
			t.Fatal(err)
		}
		if got := secondsAbove(curve, 1800); math.Abs(float64(got)-want.AtTempMin*60) > 0.51 {
			t.Fatalf("%v: %d s, the calculation says %.3f s", curve, got, want.AtTempMin*60)
		}
	}
}

func TestACureIsJudgedByItsPowder(t *testing.T) {
	const asks = `{"powder":"red","name":"Ember","chemistry":"hybrid","sg_milli":1600,"film_um10":{"min":500,"target":600,"max":800},"reclaim_max_pm":100,"cure_dc":1800,"cure_s":600,"cure_max_s":1200}`
	for _, tt := range []struct {
		name, points, powder string
		verdict, issue       string
	}{
		{"ten minutes at 180 °C are asked and given", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1200,"temp_dc":1800},{"s":1500,"temp_dc":300}]`, asks, "cure_good", ""},
		{"a second less", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1199,"temp_dc":1800},{"s":1500,"temp_dc":300}]`, asks, "cure_under", "cure_under"},
		{"twenty minutes and a second", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1801,"temp_dc":1800},{"s":2000,"temp_dc":300}]`, asks, "cure_over", "cure_over"},
		{"never hot enough", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1799}]`, asks, "cure_under", "cure_under"},
		{"a powder that asks nothing is not judged", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":900}]`, strings.Replace(asks, `,"cure_dc":1800,"cure_s":600,"cure_max_s":1200`, "", 1), "", ""},
	} {
		f := foldOf(t, fmt.Sprintf(morning+`
	05:20 mia powder.set %s
	06:00 ana run.opened {"run":"r1","booth":"b1","powder":"red","feed":"hopper","mode":"waste"}
	06:30 ana cure.read {"run":"r1","points":%s}
	`, tt.powder, tt.points))
		out, err := ViewValue(f, reader, "run", []byte(`{"run":"r1"}`))
		if err != nil {
			t.Fatal(err)
		}
		if c := out.(RunView).Cures; len(c) != 1 || c[0].Verdict != tt.verdict || codes(f) != tt.issue {
			t.Errorf("%s: %+v, attention %q", tt.name, c, codes(f))
		}
	}
}

func TestTheTasksAtTheGun(t *testing.T) {
	f := foldOf(t, morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	`)
	us := reader
	us.Style.Units = "us"
	for _, tt := range []struct {
		task   string
		reader Reader
		filled []string
		want   string // the body, or the code of the first error
	}{
		{"ground", reader, []string{"booth", "b1", "ok", "yes", "ohm", "470000"}, `{"booth":"b1","ok":true,"ohm":470000}`},
		{"ground", reader, []string{"booth", "b1"}, "form.missing"},
		{"ground", reader, []string{"booth", "b1", "ok", "perhaps"}, "form.choice"},
		{"climate", reader, []string{"temp", "27,5", "rh", "55"}, `{"temp_dc":275,"rh_pm":550}`},
		{"climate", us, []string{"temp", "77", "place", "shelf"}, `{"place":"shelf","temp_dc":250}`},
		{"climate", reader, []string{"rh", "55"}, "form.missing"},
		{"output", reader, []string{"booth", "b1", "main", "1.5 bar", "mass", "60 g", "seconds", "30"}, `{"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":120000}`},
		{"output", us, []string{"booth", "b1", "main", "15", "mass", "4 oz"}, `{"booth":"b1","powder":"white","main_kpa":103,"mg_per_min":113398}`},
		{"output", reader, []string{"booth", "b1", "main", "150", "mass", "60 g", "seconds", "0"}, "form.range"},
		{"deposit", reader, []string{"booth", "b1", "flow", "120 g", "te", "62,5"}, `{"booth":"b1","powder":"white","mg_per_min":120000,"te_pm":625}`},
		{"deposit", reader, []string{"booth", "b1", "flow", "120 g", "te", "101"}, "form.range"},
		{"cure", reader, []string{"run", "r1", "points", "0 20\n10 180\n20,5 181.5"}, `{"run":"r1","points":[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1230,"temp_dc":1815}]}`},
		{"cure", us, []string{"run", "r1", "points", "0 68; 10 356"}, `{"run":"r1","points":[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800}]}`},
		{"cure", reader, []string{"run", "r1", "points", "0 20"}, "form.points"},
		{"cure", reader, []string{"run", "r1", "points", "0 20\n0 30"}, "form.points_order"},
		{"cure", reader, []string{"run", "r1", "points", "0 20\nten 180"}, "form.points"},
		{"plan", reader, []string{"job", "gate 7", "powder", "white", "count", "12", "area", "0.5", "due", "2026-03-02"}, `{"job":"gate 7","powder":"white","count":12,"area_cm2":5000,"due":"2026-03-02"}`},
		{"plan", reader, []string{"job", "gate 7", "powder", "white", "count", "0", "area", "0.5"}, "form.range"},
		{"set.setup", reader, []string{"setup", "s1", "name", "Frames", "main", "150", "kv", "60"}, `{"setup":"s1","name":"Frames","kv":60,"main_kpa":150}`},
		{"set.setup", reader, []string{"setup", "s1", "name", "Frames", "kv", "121"}, "form.range"},
	} {
		filled := map[string]string{}
		for i := 0; i < len(tt.filled); i += 2 {
			filled[tt.filled[i]] = tt.filled[i+1]
		}
		p := MakePlan(f, tt.reader, tt.task, filled, ids())
		got := ""
		if p.OK {
			got = string(p.Entries[0].Body)
		} else {
			got = p.Errors[0].Code
		}
		if got != tt.want {
			t.Errorf("%s %v: %s, want %s", tt.task, tt.filled, got, tt.want)
		}
	}
}

func TestSetUpsAreOfferedInTheOrderToTryThem(t *testing.T) {
	f := foldOf(t, morning+`
	05:30 ana setup.set {"setup":"s1","name":"Never worked","powder":"white","kv":90,"worked":false}
	05:31 ana setup.set {"setup":"s2","name":"Other powder","powder":"black","kv":60,"worked":true}
	05:32 ana setup.set {"setup":"s3","name":"Worked","powder":"white","kv":60,"main_kpa":150,"worked":true}
	05:33 ana output.tested {"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":120000}
	05:34 ana output.tested {"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":80000}
	05:35 ana output.tested {"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":125000}
	05:36 ana output.tested {"booth":"b1","powder":"black","main_kpa":150,"mg_per_min":99000}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s3"}
	06:05 ana run.opened {"run":"r0","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s1"}
	06:09 ana run.opened {"run":"r2","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s3"}
	`)
	out, err := ViewValue(f, reader, "gun", nil)
	if err != nil {
		t.Fatal(err)
	}
	v := out.(GunView)
	var names []string
	for _, s := range v.Setups {
		names = append(names, s.Name)
	}
	if !slices.Equal(names, []string{"Worked", "Never worked"}) || v.Setup == nil || v.Setup.Setup != "s3" || v.Setups[0].Runs != 2 {
		t.Errorf("offered %v, in use %+v", names, v.Setup)
	}
	if len(v.Outputs) != 2 || v.Outputs[0].Flow != "80 g/min" || v.Outputs[1].Flow != "125 g/min" {
		t.Errorf("outputs %+v: one of each main air, the latest, of the powder in the gun", v.Outputs)
	}
}

func TestTheColoursToComeAreOrderedByDayThenByCleaning(t *testing.T) {
	f := foldOf(t, morning+`
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
	out, err := ViewValue(f, reader, "today", nil)
	if err != nil {
		t.Fatal(err)
	}
	v := out.(TodayView)
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

func TestAPictureInAListHasFewLayersAndLosesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for range 200 {
		var c ledger.Content
		for i := range r.IntN(150) {
			c = append(c, ledger.Part{Lot: fmt.Sprintf("l%03d", i), Passes: uint8(r.IntN(4)), Mass: measure.Mass(1 + r.Int64N(1_000_000))})
		}
		out := coarser(c, tileLayers)
		if len(out) > tileLayers || out.Total() != c.Total() {
			t.Fatalf("%d parts with %d become %d with %d", len(c), c.Total(), len(out), out.Total())
		}
		if len(c) <= tileLayers {
			continue
		}
		least := out[0].Mass
		for _, p := range out[:len(out)-1] {
			least = min(least, p.Mass)
		}
		for _, p := range c {
			if !slices.Contains(out, p) && p.Mass > least {
				t.Fatalf("%+v is gathered though larger than one that is shown", p)
			}
		}
	}
}
