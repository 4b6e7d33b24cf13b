package task_test

import (
	"math"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
)

// A form opened on what stands in the books and saved as it is changes nothing,
// not even the fields that it does not show.
func TestEditingWithoutAChangeChangesNothing(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	05:20 mia powder.set {"powder":"red","name":"Ember","chemistry":"hybrid","finish":"satin","sg_milli":1605,"lab":[40,-3.25,18],"film_um10":{"min":555,"target":650,"max":800},"reclaim_max_pm":125,"shelf_months":9,"store_max_dc":273,"price":815,"mec_mg_m3":35000,"cure_dc":1805,"cure_s":615,"cure_max_s":1205}
	05:21 mia setup.set {"setup":"s1","name":"Frames","booth":"b1","powder":"red","parts":"corners","charging":"corona","nozzle":"flat","kv":60,"ua":20,"main_kpa":103,"extra_kpa":47,"distance_mm":203,"worked":true}
	`)
	us := shoptest.Reader
	us.Style.Units = "us" // prints 55.5 µm as 2.19 mil, which would be read as 55.6 µm
	for _, form := range []struct {
		view, task string
		reader     view.Reader
	}{{"powders", "set.powder", shoptest.Reader}, {"powders", "set.powder", us}, {"booths", "set.booth", shoptest.Reader}, {"booths", "set.booth", us}, {"setups", "set.setup", shoptest.Reader}, {"setups", "set.setup", us}} {
		editsNothing(t, f, form.reader, form.view, form.task)
	}
	// 8 kg print as 17.64 lb, which would be read as 8.001 kg.
	hopper := f.State().Places["hopper"]
	filled := map[string]string{"place": "hopper", "name": hopper.Name, "kind": hopper.Kind, "booth": "b1", "tare": us.Style.Mass(hopper.Tare), "capacity": us.Style.Mass(hopper.Capacity)}
	if got, want := string(task.Make(f, us, "set.place", filled, shoptest.IDs()).Entries[0].Body), `"tare_mg":8000000,"capacity_mg":25000000}`; !strings.HasSuffix(got, want) {
		t.Errorf("the hopper became %s, want ...%s", got, want)
	}
}

func editsNothing(t *testing.T, f *shop.Fold, reader view.Reader, seen, name string) {
	t.Helper()
	out, err := view.Value(f, reader, seen, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, filled := range out.([]map[string]string) {
		p := task.Make(f, reader, name, filled, shoptest.IDs())
		if !p.OK {
			t.Errorf("%s %v: %v", name, filled, p.Errors)
			continue
		}
		want := form.Encode(&f.State().Booths["b1"].BoothSet)
		switch name {
		case "set.powder":
			want = form.Encode(f.State().Powders[filled["powder"]])
		case "set.setup":
			want = form.Encode(f.State().Setups[filled["setup"]])
		}
		if got := string(p.Entries[0].Body); got != string(want) {
			t.Errorf("%s in %s: saved %s\nwas   %s", name, reader.Style.Units, got, want)
		}
	}
}

// Packs times mass may be exactly what an int64 has no positive of.
func TestPacksOfAHugeMassAreRefusedOnTheForm(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning)
	for _, packs := range []string{"2048", "4096", "100000", "2"} {
		p := shoptest.Plan(t, f, "receive", "powder", "white", "batch", "B", "place", "shelf", "packs", packs, "pack_mass", "4503599627370496 mg")
		if p.OK || p.Errors[0].Code != "form.too_large" {
			t.Errorf("%s packs of %d mg: %v", packs, int64(math.MaxInt64>>11)+1, p.Errors)
		}
	}
}
