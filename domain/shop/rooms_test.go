package shop

import (
	"slices"
	"testing"

	"hoppertally/domain/measure"
)

// roomShop is a shelf with powder pa, which bears 27 °C, and pb, whose maker gives
// no limit.
func roomShop() *writer {
	return &writer{now: 1_772_000_000_000} // 25 February 2026
}

// roomEntries set such a shop up.
func roomEntries(w *writer) []Entry {
	return []Entry{
		w.fixed("powder.set", `{"powder":"pa","name":"A","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300,"store_max_dc":270}`),
		w.fixed("powder.set", `{"powder":"pb","name":"B","chemistry":"epoxy","sg_milli":1200,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":500,"mec_mg_m3":30000}`),
		w.fixed("booth.set", `{"booth":"b1","name":"B","exhaust_m3h":1200,"guns":2}`),
		w.fixed("place.set", `{"place":"rack","name":"R","kind":"shelf"}`),
		w.fixed("place.set", `{"place":"cool","name":"C","kind":"shelf"}`),
		w.fixed("lot.received", `{"lot":"A1","powder":"pa","batch":"a1","place":"rack","mass_mg":1000000,"use_by":"2026-12-31"}`),
	}
}

// codesOf are the codes of the open issues, each with its place, sorted.
func codesOf(f *Fold) (out []string) {
	for _, i := range f.State().Issues {
		out = append(out, i.Code+" "+i.Place)
	}
	slices.Sort(out)
	return out
}

func TestAStoreTooWarmOrTooDampIsNoticed(t *testing.T) {
	tests := []struct {
		name string
		read string // bodies of room.read, one after the other
		more string // a further entry before them
		want []string
	}{
		{"at the powder's limit it is not too warm", `{"temp_dc":270}`, "", nil},
		{"above it, it is", `{"temp_dc":271}`, "", []string{"room_warm "}},
		{"a powder without a limit of its own bears 25 °C", `{"temp_dc":251}`, `{"lot":"B1","powder":"pb","batch":"b1","place":"rack","mass_mg":1}`, []string{"room_warm "}},
		{"and exactly 25 °C", `{"temp_dc":250}`, `{"lot":"B1","powder":"pb","batch":"b1","place":"rack","mass_mg":1}`, nil},
		{"an empty shelf may be hot", `{"place":"cool","temp_dc":400}`, "", nil},
		{"the shelf that was read counts, not the others", `{"place":"rack","temp_dc":300}`, "", []string{"room_warm rack"}},
		{"60 % of humidity is the limit", `{"temp_dc":200,"rh_pm":600}`, "", nil},
		{"above it powder clumps", `{"temp_dc":200,"rh_pm":601}`, "", []string{"room_damp "}},
		{"both at once", `{"temp_dc":300,"rh_pm":700}`, "", []string{"room_damp ", "room_warm "}},
		{"a later reading in order settles it", `{"temp_dc":300,"rh_pm":700} {"temp_dc":220,"rh_pm":450}`, "", nil},
		{"but not that of another place", `{"temp_dc":300} {"place":"rack","temp_dc":220}`, "", []string{"room_warm "}},
		{"read twice it is noticed once", `{"temp_dc":300} {"temp_dc":310}`, "", []string{"room_warm "}},
	}
	for _, tt := range tests {
		w := roomShop()
		f := NewFold()
		f.Add(roomEntries(w)...)
		if tt.more != "" {
			f.Add(w.fixed("lot.received", tt.more))
		}
		for _, body := range splitBodies(tt.read) {
			f.Add(w.fixed("room.read", body))
		}
		if got := codesOf(f); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v; want %v", tt.name, got, tt.want)
		}
	}
}

// splitBodies cuts a text into the bodies that stand in it one after the other.
func splitBodies(text string) (out []string) {
	for text != "" {
		end := slices.Index([]byte(text), '}') + 1
		out = append(out, text[:end])
		text = text[min(end+1, len(text)):]
	}
	return out
}

// Two days at 37 °C, ten above the limit, use up four days of shelf life: by hand
// 2·(2^1 − 1) = 2 days lost (rule of thumb, common practice, no source).
func TestWarmDaysAreShownWithTheLotAndBlockNothing(t *testing.T) {
	w := roomShop()
	f := NewFold()
	f.Add(roomEntries(w)...)
	lot := func() LotView {
		return see[[]LotView](t, f, Reader{Role: "clerk", NowMS: w.now}, "lots", "")[0]
	}
	if v := lot(); v.Warm != nil {
		t.Errorf("without a reading nothing is lost: %+v", v.Warm)
	}
	const day = 24 * 3600 * 1000
	for _, temp := range []string{"370", "200", "350", "370"} {
		f.Add(w.fixed("room.read", `{"temp_dc":`+temp+`}`))
		if temp != "350" { // the last two are read on one day: the higher counts
			w.now += day
		}
	}
	v := lot()
	if v.Warm == nil || v.Warm.UseBy != "2026-12-29" || v.Warm.LostDays != 2 || v.Warm.WarmDays != 2 || v.Warm.Highest != (measure.Style{}).Temp(370) {
		t.Errorf("after two days at 37 °C: %+v", v.Warm)
	}
	if v.UseBy != "2026-12-31" || v.State != "usable" {
		t.Errorf("the maker's day stays: %+v", v)
	}
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
		w := roomShop()
		f := NewFold()
		f.Add(roomEntries(w)...)
		for _, body := range splitBodies(tt.tests) {
			f.Add(w.fixed("output.tested", body))
		}
		if got := codesOf(f); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v; want %v", tt.name, got, tt.want)
		}
	}
}

func TestUnsievedReclaimInAFeedIsNoticed(t *testing.T) {
	for _, sieved := range []bool{false, true} {
		w := roomShop()
		f := NewFold()
		f.Add(roomEntries(w)...)
		f.Add(w.fixed("place.set", `{"place":"h","name":"H","kind":"vessel","booth":"b1"}`), w.fixed("place.set", `{"place":"bin","name":"Bin","kind":"vessel","booth":"b1"}`),
			w.fixed("powder.moved", `{"from":"rack","to":"h","mass_mg":900000,"lot":"A1"}`),
			w.fixed("run.opened", `{"run":"r","booth":"b1","powder":"pa","feed":"h","mode":"collect"}`))
		w.n++
		at := Entry{ID: "rec", Kind: "powder.recovered", V: 1, By: "ana", Device: "p1", N: w.n, EffectiveMS: w.now, Body: &PowderRecovered{Run: "r", From: "h", To: "bin", Mass: 100_000, Sieved: sieved}}
		w.n++
		f.Add(at)
		if got := codesOf(f); got != nil {
			t.Errorf("sieved %v: in the bin it disturbs nobody: %v", sieved, got)
		}
		f.Add(w.fixed("powder.moved", `{"from":"bin","to":"h","mass_mg":50000}`))
		want := []string{"unsieved h"}
		if sieved {
			want = nil
		}
		if got := codesOf(f); !slices.Equal(got, want) {
			t.Errorf("sieved %v: back in the hopper: %v; want %v", sieved, got, want)
		}
	}
}

func TestTheOnlyManagerStays(t *testing.T) {
	f := foldOf(t, morning)
	for _, tt := range []struct {
		role, gone string
		want       []string // fields with an error
	}{{"manager", "", nil}, {"clerk", "", []string{"role"}}, {"manager", "yes", []string{""}}} {
		p := MakePlan(f, reader, "set.person", map[string]string{"person": "mia", "name": "Mia", "role": tt.role, "gone": tt.gone}, ids())
		var got []string
		for _, e := range p.Errors {
			if got = append(got, e.Field); e.Code != "form.last_manager" {
				t.Errorf("%+v: %v", tt, e)
			}
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%+v: errors at %q", tt, got)
		}
	}
}
