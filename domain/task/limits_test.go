package task_test

import (
	"fmt"
	"strconv"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
)

// A number typed into a form goes up to the declared limit of the field that it fills,
// and not beyond it.
func TestFormsFollowTheDeclaredLimits(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning)
	powder := []string{"name", "Red", "chemistry", "epoxy", "finish", "gloss", "sg", "1.5", "film_min", "60", "film_target", "70", "film_max", "80", "reclaim_max", "30"}
	for _, tt := range []struct {
		task, field string
		fills       kind.Body
		as          string
		rest        []string
	}{
		{"set.booth", "exhaust", new(kind.BoothSet), "exhaust_m3h", []string{"name", "B"}},
		{"set.booth", "guns", new(kind.BoothSet), "guns", []string{"name", "B"}},
		{"set.powder", "passes_max", new(kind.PowderSet), "passes_max", powder},
		{"set.powder", "shelf_months", new(kind.PowderSet), "shelf_months", powder},
		{"set.powder", "lead_days", new(kind.PowderSet), "lead_days", powder},
		{"set.setup", "kv", new(kind.SetupSet), "kv", []string{"name", "S"}},
		{"set.setup", "ua", new(kind.SetupSet), "ua", []string{"name", "S"}},
		{"plan", "count", new(kind.JobPlanned), "count", []string{"job", "J", "powder", "white", "area", "1 m²"}},
		{"receive", "packs", new(kind.LotReceived), "packs", []string{"powder", "white", "batch", "W-9", "place", "shelf", "mass", "20 kg"}},
		{"clean", "minutes", new(kind.BoothCleaned), "minutes", []string{"booth", "b1", "level", "full"}},
		{"clean", "crew", new(kind.BoothCleaned), "crew", []string{"booth", "b1", "level", "full", "minutes", "20"}},
		{"change.start", "crew", new(kind.ChangeStarted), "crew", []string{"booth", "b1", "powder", "white", "level", "full"}},
	} {
		var most int64
		for _, d := range form.Describe(tt.fills) {
			if d.Name == tt.as {
				most = int64(*d.Max)
			}
		}
		typed := func(n int64) []string { return append([]string{tt.field, strconv.FormatInt(n, 10)}, tt.rest...) }
		if p := shoptest.Plan(t, f, tt.task, typed(most)...); !p.OK {
			t.Errorf("%s: %s = %d is refused: %+v", tt.task, tt.field, most, p.Errors)
		}
		p := shoptest.Plan(t, f, tt.task, typed(most+1)...)
		if len(p.Errors) == 0 || p.Errors[0].Field != tt.field || p.Errors[0].Code != "form.range" || p.Errors[0].Want != fmt.Sprintf("%d–%d", low[tt.field], most) {
			t.Errorf("%s: %s = %d: %+v", tt.task, tt.field, most+1, p.Errors)
		}
	}
}

// low is what a form asks for at least, where it is not 0.
var low = map[string]int64{"count": 1, "packs": 1}
