package task_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
)

func TestTheTasksAtTheGun(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste"}
	`)
	us := shoptest.Reader
	us.Style.Units = "us"
	for _, tt := range []struct {
		task   string
		reader view.Reader
		filled []string
		want   string // the body, or the code of the first error
	}{
		{"ground", shoptest.Reader, []string{"booth", "b1", "ok", "yes", "ohm", "470000"}, `{"booth":"b1","ok":true,"ohm":470000}`},
		{"ground", shoptest.Reader, []string{"booth", "b1"}, "form.missing"},
		{"ground", shoptest.Reader, []string{"booth", "b1", "ok", "perhaps"}, "form.choice"},
		{"climate", shoptest.Reader, []string{"temp", "27,5", "rh", "55"}, `{"temp_dc":275,"rh_pm":550}`},
		{"climate", us, []string{"temp", "77", "place", "shelf"}, `{"place":"shelf","temp_dc":250}`},
		{"climate", shoptest.Reader, []string{"rh", "55"}, "form.missing"},
		{"output", shoptest.Reader, []string{"booth", "b1", "main", "1.5 bar", "mass", "60 g", "seconds", "30"}, `{"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":120000}`},
		{"output", us, []string{"booth", "b1", "main", "15", "mass", "4 oz"}, `{"booth":"b1","powder":"white","main_kpa":103,"mg_per_min":113398}`},
		{"output", shoptest.Reader, []string{"booth", "b1", "main", "150", "mass", "60 g", "seconds", "0"}, "form.range"},
		{"deposit", shoptest.Reader, []string{"booth", "b1", "flow", "120 g", "te", "62,5"}, `{"booth":"b1","powder":"white","mg_per_min":120000,"te_pm":625}`},
		{"deposit", shoptest.Reader, []string{"booth", "b1", "flow", "120 g", "te", "101"}, "form.range"},
		{"cure", shoptest.Reader, []string{"run", "r1", "points", "0 20\n10 180\n20,5 181.5"}, `{"run":"r1","points":[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1230,"temp_dc":1815}]}`},
		{"cure", us, []string{"run", "r1", "points", "0 68; 10 356"}, `{"run":"r1","points":[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800}]}`},
		{"cure", shoptest.Reader, []string{"run", "r1", "points", "0 20"}, "form.points"},
		{"cure", shoptest.Reader, []string{"run", "r1", "points", "0 20\n0 30"}, "form.points_order"},
		{"cure", shoptest.Reader, []string{"run", "r1", "points", "0 20\nten 180"}, "form.points"},
		{"plan", shoptest.Reader, []string{"job", "gate 7", "powder", "white", "count", "12", "area", "0.5", "due", "2026-03-02"}, `{"job":"gate 7","powder":"white","count":12,"area_cm2":5000,"due":"2026-03-02"}`},
		{"plan", shoptest.Reader, []string{"job", "gate 7", "powder", "white", "count", "0", "area", "0.5"}, "form.range"},
		{"set.setup", shoptest.Reader, []string{"setup", "s1", "name", "Frames", "main", "150", "kv", "60"}, `{"setup":"s1","name":"Frames","kv":60,"main_kpa":150}`},
		{"set.setup", shoptest.Reader, []string{"setup", "s1", "name", "Frames", "kv", "121"}, "form.range"},
	} {
		filled := map[string]string{}
		for i := 0; i < len(tt.filled); i += 2 {
			filled[tt.filled[i]] = tt.filled[i+1]
		}
		p := task.Make(f, tt.reader, tt.task, filled, shoptest.IDs())
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
