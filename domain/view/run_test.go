package view_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

// Readings of 60, 70, 80 and 70 µm against 50 to 90: mean 70, s = 8.165 (by hand),
// Cp = 40/(6·8.165) = 0.82 and Cpk = 20/(3·8.165) = 0.82.
func TestARunTellsItsCapability(t *testing.T) {
	w := shoptest.RoomShop()
	f := shop.NewFold()
	f.Add(shoptest.RoomEntries(w)...)
	f.Add(w.Fixed("run.opened", `{"run":"r","booth":"b1","powder":"pa","feed":"h","mode":"collect"}`))
	run := func() view.RunView { return shoptest.See[view.RunView](t, f, view.Reader{}, "run", `{"run":"r"}`) }
	f.Add(w.Fixed("film.read", `{"run":"r","spots":[600]}`))
	if v := run(); v.Capable != nil {
		t.Errorf("one reading has no capability: %+v", v.Capable)
	}
	f.Add(w.Fixed("film.read", `{"run":"r","spots":[700,800,700]}`))
	c := run().Capable
	if c == nil || c.Cp != "0.82" || c.Cpk != "0.82" || c.SD != (measure.Style{}).Film(82) {
		t.Fatalf("%+v", c)
	}
	// z·√(1/(9·4) + 0.8165²/(2·3)) = 1.95996·√(0.027778 + 0.111111) = 0.7304 (by hand)
	if c.Low != "0.09" || c.High != "1.55" {
		t.Errorf("interval %s to %s, want 0.09 to 1.55", c.Low, c.High)
	}
}
