package shoptest

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
)

// Reader is the manager of the shop of morning, late on that day.
var Reader = view.Reader{Person: "mia", Role: "manager", Style: measure.Style{Units: "metric", Lang: "en"},
	NowMS: time.Date(2026, 3, 2, 16, 0, 0, 0, time.UTC).UnixMilli()}

// IDs makes ids for what is new: new1, new2 and so on.
func IDs() func() string {
	n := 0
	return func() string { n++; return fmt.Sprintf("new%d", n) }
}

// DayMS is a day in milliseconds.
const DayMS = 24 * 3600 * 1000

// See is a view as the type that answers it.
func See[T any](t testing.TB, f *shop.Fold, r view.Reader, name, params string) T {
	t.Helper()
	v, err := view.Value(f, r, name, []byte(params))
	if err != nil {
		t.Fatalf("view %s %s: %v", name, params, err)
	}
	return v.(T)
}

// Plan works a form out, given as field, value, field, value.
func Plan(t testing.TB, f *shop.Fold, name string, kv ...string) task.Plan {
	t.Helper()
	m := map[string]string{}
	for i := 0; i+1 < len(kv); i += 2 {
		m[kv[i]] = kv[i+1]
	}
	return task.Make(f, Reader, name, m, IDs())
}

// Record plans and folds, as a phone does.
func Record(t testing.TB, f *shop.Fold, at string, name string, kv ...string) task.Plan {
	t.Helper()
	p := Plan(t, f, name, kv...)
	if !p.OK {
		t.Fatalf("%s %v: %v", name, kv, p.Errors)
	}
	for i, d := range p.Entries {
		e := EntryAt(t, fmt.Sprintf("%s-%s-%d", name, at, i), at, Reader.Person, d.Kind, string(d.Body), int64(f.Len()+1))
		if d.AtMS != 0 {
			e.EffectiveMS = d.AtMS
		}
		f.Add(e)
	}
	Check(t, f)
	for _, shown := range p.After { // what was shown is what is booked
		now, err := view.Value(f, Reader, "place", []byte(`{"place":"`+shown.Place+`"}`))
		if err != nil {
			t.Fatal(err)
		}
		booked := now.(view.VesselView)
		shown.WeighedMS, booked.WeighedMS = 0, 0 // the preview's time is the reader's, the journal has its own
		shown.FeedsRun, booked.FeedsRun = "", "" // a new run gets its id anew when it is recorded
		if plainText(shown) != plainText(booked) {
			t.Errorf("%s showed %s\nbut booked %s", name, plainText(shown), plainText(booked))
		}
	}
	return p
}

func plainText(v view.VesselView) string {
	out, _ := json.Marshal(v)
	return string(out)
}
