package gun

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// Every expected number: common practice, no source; see advice.go.
func TestAdvise(t *testing.T) {
	tests := []struct {
		name    string
		symptom string
		now     Setup
		first   Advice
	}{
		{"surging: extra air to half of the main air", Surging, Setup{MainKPA: 200, ExtraKPA: 60}, Advice{"advice.extra_to_half", FieldExtra, 60, 100}},
		{"surging with enough extra air: purge the line", Surging, Setup{MainKPA: 200, ExtraKPA: 100}, Advice{Code: "advice.purge_line"}},
		{"a heavy middle with half already: a quarter more extra air", HeavyMiddle, Setup{MainKPA: 200, ExtraKPA: 100}, Advice{"advice.extra_up", FieldExtra, 100, 125}},
		{"corners: current down to 20 µA", Corners, Setup{UA: 60, KV: 80}, Advice{"advice.current_down", FieldUA, 60, 20}},
		{"corners with a soft current: less air", Corners, Setup{UA: 20, MainKPA: 150}, Advice{"advice.main_down", FieldMain, 150, 120}},
		{"over an existing coat without a current limit: voltage down", SecondCoat, Setup{KV: 90}, Advice{"advice.voltage_down", FieldKV, 90, 72}},
		{"over an existing coat at 20 µA: the voltage may stay", SecondCoat, Setup{KV: 100, UA: 20}, Advice{Code: "advice.check_ground"}},
		{"too thin: a fifth more main air", ThinFilm, Setup{MainKPA: 150}, Advice{"advice.main_up", FieldMain, 150, 180}},
		{"too thin near the top: never into far too much", ThinFilm, Setup{MainKPA: 280}, Advice{"advice.main_up", FieldMain, 280, 299}},
		{"past the part: less main air", Overspray, Setup{MainKPA: 200, ExtraKPA: 100}, Advice{"advice.main_down", FieldMain, 200, 160}},
		{"nothing given: check the ground", BadWrap, Setup{}, Advice{Code: "advice.check_ground"}},
	}
	for _, tt := range tests {
		if list := Advise(tt.symptom, tt.now); len(list) == 0 || list[0] != tt.first {
			t.Errorf("%s: %+v, want %+v first", tt.name, list, tt.first)
		}
	}
	if list := Advise("symptom.unheard_of", Setup{}); list != nil {
		t.Errorf("a word that is no symptom: %+v", list)
	}
}

func TestAdviceStaysWithinTheSetup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := Setup{
			KV: rapid.Int64Range(0, 120).Draw(t, "kv"), UA: rapid.Int64Range(0, 200).Draw(t, "ua"), MainKPA: rapid.Int64Range(0, 1000).Draw(t, "main"),
			ExtraKPA: rapid.Int64Range(0, 1000).Draw(t, "extra"), DistanceMM: rapid.Int64Range(0, 2000).Draw(t, "distance"),
		}
		is := map[string]int64{FieldKV: now.KV, FieldUA: now.UA, FieldMain: now.MainKPA, FieldExtra: now.ExtraKPA, FieldDistance: now.DistanceMM}
		for _, s := range Symptoms() {
			list := Advise(s, now)
			if len(list) == 0 {
				t.Fatalf("%s: nothing to try", s)
			}
			for _, a := range list {
				then := now
				switch a.Field {
				case FieldKV:
					then.KV = a.To
				case FieldUA:
					then.UA = a.To
				case FieldMain:
					then.MainKPA = a.To
				case FieldExtra:
					then.ExtraKPA = a.To
				case FieldDistance:
					then.DistanceMM = a.To
				}
				if a.Field != "" && (a.From != is[a.Field] || a.To == a.From || then.Check() != nil) {
					t.Fatalf("%s: %+v from %+v", s, a, now)
				}
			}
		}
	})
}

func TestLookNamesWhatStandsOut(t *testing.T) {
	tests := []struct {
		name string
		s    Setup
		want string
	}{
		{"a soft start stands out in nothing", Setup{MainKPA: 100, ExtraKPA: 50, KV: 100, UA: 20}, "[]"},
		{"0.3 MPa is far too much", Setup{MainKPA: 300, ExtraKPA: 150}, "[look.main_too_much]"},
		{"little extra air", Setup{MainKPA: 200, ExtraKPA: 49}, "[look.extra_low]"},
		{"high current and voltage", Setup{UA: 36, KV: 101}, "[look.current_high look.voltage_high]"},
	}
	for _, tt := range tests {
		if got := fmt.Sprint(Look(tt.s)); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
	for _, s := range Starts() {
		tooMuch := s.Powder == 0
		if got := len(Look(Setup{MainKPA: s.MainKPA, ExtraKPA: s.ExtraKPA})) > 0; got != tooMuch {
			t.Errorf("%+v: something stands out %v, want %v", s, got, tooMuch)
		}
	}
}

func ExampleAdvise() {
	for _, a := range Advise(Surging, Setup{MainKPA: 180, ExtraKPA: 40}) {
		fmt.Println(a.Code, a.Field, a.From, a.To)
	}
	// Output:
	// advice.extra_to_half extra_kpa 40 90
	// advice.purge_line  0 0
	// advice.check_hose  0 0
}
