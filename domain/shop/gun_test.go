package shop_test

import (
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
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
		w := shoptest.RoomShop()
		f := shop.NewFold()
		f.Add(shoptest.RoomEntries(w)...)
		for _, body := range shoptest.SplitBodies(tt.read) {
			f.Add(w.Fixed("ground.checked", body))
		}
		if got := shoptest.Codes(f); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// A test that nobody can judge takes no warning away.
func TestADustWarningStandsUntilATestThatCanBeJudged(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	05:30 mia booth.set {"booth":"b1","name":"Booth 1","exhaust_m3h":12000,"guns":6}
	06:00 ana output.tested {"booth":"b1","powder":"white","main_kpa":200,"mg_per_min":400000}
	`)
	if got := shoptest.Codes(f); got != "dust_limit" {
		t.Fatalf("issues %q, want dust_limit", got)
	}
	step := func(at, kind, body, want string) {
		t.Helper()
		f.Add(shoptest.EntryAt(t, "s"+at, at, "ana", kind, body, int64(f.Len()+1)))
		if got := shoptest.Codes(f); got != want {
			t.Errorf("after %s %s: issues %q, want %q", kind, body, got, want)
		}
	}
	step("06:10", "output.tested", `{"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":0}`, "dust_limit")
	step("06:20", "output.tested", `{"booth":"b1","powder":"white","main_kpa":300,"mg_per_min":6000000}`, "dust_limit")
	step("06:30", "output.tested", `{"booth":"b1","powder":"white","main_kpa":300,"mg_per_min":10000000}`, "dust_limit")
	if i := f.State().Issues[0]; i.AtMS != shoptest.EntryAt(t, "x", "06:30", "ana", "run.closed", `{"run":"x"}`, 1).EffectiveMS {
		t.Error("the highest output that may be recorded was not judged")
	}
	step("06:40", "output.tested", `{"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":100000}`, "")
}

// Two guns at 100 g/min into 1200 m³/h: 60·200/1200 = 10 g/m³ (by hand). That is
// allowed where nothing is known of the powder, and below half of 30 g/m³.
func TestAnOutputAboveTheDustLimitIsNoticed(t *testing.T) {
	tests := []struct {
		name, tests string
		want        []string
	}{
		{"10 g/m³ is allowed", `{"booth":"b1","powder":"pa","main_kpa":100,"mg_per_min":100000}`, nil},
		{"a milligram more is not", `{"booth":"b1","powder":"pa","main_kpa":100,"mg_per_min":100001}`, []string{"dust_limit "}},
		{"below half of what the powder's maker gives", `{"booth":"b1","powder":"pb","main_kpa":100,"mg_per_min":149999}`, nil},
		{"at the half it is too much", `{"booth":"b1","powder":"pb","main_kpa":100,"mg_per_min":150000}`, []string{"dust_limit "}},
		{"less air on the gun settles it", `{"booth":"b1","powder":"pa","main_kpa":200,"mg_per_min":200000} {"booth":"b1","powder":"pa","main_kpa":80,"mg_per_min":90000}`, nil},
		{"of a booth nobody set up nothing is known", `{"booth":"b9","powder":"pa","main_kpa":100,"mg_per_min":900000}`, nil},
	}
	for _, tt := range tests {
		w := shoptest.RoomShop()
		f := shop.NewFold()
		f.Add(shoptest.RoomEntries(w)...)
		for _, body := range shoptest.SplitBodies(tt.tests) {
			f.Add(w.Fixed("output.tested", body))
		}
		if got := shoptest.CodesAt(f); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v; want %v", tt.name, got, tt.want)
		}
	}
}
