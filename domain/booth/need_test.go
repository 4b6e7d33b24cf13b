package booth

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/reference"

	"pgregory.net/rapid"
)

// Colours of invented powders, L*a*b* as a spectrophotometer might show them.
var (
	black    = Powder{"K1", Polyester, Gloss, &[3]float64{26, 0, -1}}
	white    = Powder{"W1", Polyester, Gloss, &[3]float64{94, -1, 3}}
	white2   = Powder{"W2", Polyester, Gloss, &[3]float64{93.9, -1, 3.2}}
	cream    = Powder{"W3", Polyester, Gloss, &[3]float64{91, 0, 6}}
	blue     = Powder{"B1", Polyester, Gloss, &[3]float64{30, 5, -35}}
	yellow   = Powder{"Y1", Polyester, Gloss, &[3]float64{80, 15, 80}}
	red      = Powder{"R1", Polyester, Gloss, &[3]float64{45, 50, 30}}
	blackM   = Powder{"K2", Polyester, Matt, &[3]float64{26.2, 0, -1}}
	blackT   = Powder{"K3", Polyester, Texture, &[3]float64{26.2, 0, -1}}
	blackE   = Powder{"K4", Epoxy, Gloss, &[3]float64{26.2, 0, -1}}
	blackA   = Powder{"K5", Acrylic, Gloss, &[3]float64{26.2, 0, -1}}
	silver   = Powder{"S1", Polyester, Metallic, &[3]float64{65, 0, 0}}
	lacquer  = Powder{"C1", Polyester, Clear, &[3]float64{26.2, 0, -1}}
	noColour = Powder{"N1", Polyester, Gloss, nil}
	badLab   = Powder{"N2", Polyester, Gloss, &[3]float64{260, 0, -1}}
	noFinish = Powder{"N3", Polyester, "", &[3]float64{26, 0, -1}}
	noBinder = Powder{"N4", "", Gloss, &[3]float64{26, 0, -1}}
)

func TestNeededLevel(t *testing.T) {
	const p, b, f, s = Purge, Blowdown, Full, Strip
	tests := []struct {
		name            string
		from, to        *Powder
		waste, recovery Level
		code            Code // of the deciding reason, to waste
	}{
		{"the same powder again needs a purge at most", &black, &black, p, p, ReasonSamePowder},
		{"a twin of the colour needs a purge to waste, a blowdown with recovery", &white, &white2, p, b, ReasonColour},
		{"a shade of the same colour needs a blowdown to waste", &white2, &cream, b, f, ReasonColour},
		{"towards a darker colour a blowdown is enough to waste", &yellow, &red, b, f, ReasonColour},
		{"towards a lighter colour it is full", &red, &yellow, f, f, ReasonColour},
		{"dark to light is full", &blue, &yellow, f, f, ReasonDarkToLight},
		{"white after black is full", &black, &white, f, f, ReasonWhiteBlack},
		{"black after white is full too", &white, &black, f, f, ReasonWhiteBlack},
		{"black after yellow is not white and black", &yellow, &black, b, f, ReasonColour},
		{"matt after gloss is full", &black, &blackM, f, f, ReasonGlossMatt},
		{"gloss after matt is full", &blackM, &black, f, f, ReasonGlossMatt},
		{"anything after metallic is full", &silver, &blue, f, f, ReasonMetallic},
		{"metallic after a darker solid colour is full by colour", &blue, &silver, f, f, ReasonColour},
		{"metallic after a lighter solid colour needs a blowdown to waste", &white, &silver, b, f, ReasonColour},
		{"gloss after texture is full", &blackT, &black, f, f, ReasonFinish},
		{"texture after gloss asks for nothing by finish", &black, &blackT, p, b, ReasonColour},
		{"clear after a colour is full", &black, &lacquer, f, f, ReasonFinish},
		{"another chemistry needs a blowdown to waste, full with recovery", &black, &blackE, b, f, ReasonChemistry},
		{"acrylic after another is full, strip with recovery", &black, &blackA, f, s, ReasonAcrylic},
		{"another after acrylic is full, strip with recovery", &blackA, &blackE, f, s, ReasonAcrylic},
		{"an unknown colour is taken as white after black", &black, &noColour, f, f, ReasonUnknownColour},
		{"a colour outside CIELAB is unknown", &badLab, &black, f, f, ReasonUnknownColour},
		{"an unknown finish is full", &black, &noFinish, f, f, ReasonUnknownFinish},
		{"an unknown chemistry is taken as acrylic", &noBinder, &black, f, s, ReasonUnknownChemistry},
		{"nothing known of before is full", nil, &black, f, f, ReasonUnknownPowder},
		{"nothing known of what comes is full", &black, nil, f, f, ReasonUnknownPowder},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := Needed(DefaultRules(), tt.from, tt.to, false)
			if n.Level != tt.waste || n.Reasons[0].Code != tt.code {
				t.Errorf("to waste: %s by %s, want %s by %s (DefaultRules)", n.Level, n.Reasons[0].Code, tt.waste, tt.code)
			}
			if n := Needed(DefaultRules(), tt.from, tt.to, true); n.Level != tt.recovery {
				t.Errorf("with recovery: %s, want %s (DefaultRules)", n.Level, tt.recovery)
			}
			assumed := strings.HasSuffix(string(tt.code), ".unknown")
			if n.Assumed != assumed {
				t.Errorf("assumed = %v, want %v", n.Assumed, assumed)
			}
		})
	}
}

func TestTheTablesEdges(t *testing.T) {
	r := DefaultRules()
	at := func(l float64) *Powder { return &Powder{fmt.Sprint(l), Polyester, Gloss, &[3]float64{l, 40, 0}} }
	tests := []struct {
		name     string
		from, to *Powder
		want     Code
	}{
		{"dark at the limit to light at the limit", at(r.DarkMax), at(r.LightMin), ReasonDarkToLight},
		{"dark just above the limit", at(r.DarkMax + 0.1), at(r.LightMin), ReasonColour},
		{"light just below the limit", at(r.DarkMax), at(r.LightMin - 0.1), ReasonColour},
	}
	for _, tt := range tests {
		if got := Needed(r, tt.from, tt.to, false).Reasons[0].Code; got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
	r.Lighter = 6 // a rise of exactly the limit counts as lighter
	if got := Needed(r, at(50), at(56), false); got.Level != Full || got.Reasons[0].DeltaL != 6 {
		t.Errorf("rise of 6: %+v", got)
	}
	r.Lighter = 6.01
	if got := Needed(r, at(50), at(56), false); got.Level != Blowdown {
		t.Errorf("rise of 6 where lighter begins at 6.01: %+v", got)
	}
	if got := Needed(r, at(56), at(50), false); got.Level != Blowdown || got.Reasons[0].DeltaL != -6 {
		t.Errorf("fall of 6: %+v", got)
	}
}

func TestTheShopMayChangeEveryRule(t *testing.T) {
	r := DefaultRules()
	r.WhiteBlack = ByMode{Strip, Strip}
	r.Chemistry = nil
	r.Finish = []FinishRule{{Gloss, Matt, ByMode{Purge, Purge}}}
	r.Effort[3].Waste = Effort{Minutes: 90, People: 3}
	if n := Needed(r, &black, &white, false); n.Level != Strip || n.Minutes != 90 || n.People != 3 {
		t.Errorf("white after black under changed rules: %+v", n)
	}
	if n := Needed(r, &black, &blackA, true); n.Level != Blowdown {
		t.Errorf("acrylic with the rows on chemistry removed: %+v", n)
	}
	if n := Needed(r, &black, &blackM, false); n.Level != Purge || len(n.Reasons) != 2 {
		t.Errorf("matt after gloss under changed rules: %+v", n)
	}
}

func TestRulesSurviveTheTripThroughJSON(t *testing.T) {
	want := DefaultRules()
	data := form.Encode(&want)
	var got Rules
	if err := form.Decode(data, &got); err != nil {
		t.Fatalf("%v in %s", err, data)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("came back as %+v", got)
	}
}

func TestRulesThatContradictThemselvesNameTheField(t *testing.T) {
	tests := []struct {
		name, field string
		spoil       func(*Rules)
	}{
		{"colour rows out of order", "colour[1].delta_e", func(r *Rules) { r.Colour[1].DeltaE = 1 }},
		{"light not above dark", "light_min", func(r *Rules) { r.LightMin = r.DarkMax }},
		{"white not above black", "white_min", func(r *Rules) { r.WhiteMin = r.BlackMax }},
		{"efforts out of order", "effort[0].level", func(r *Rules) { r.Effort[0], r.Effort[1] = r.Effort[1], r.Effort[0] }},
		{"minutes beyond a day", "effort[2].waste.minutes", func(r *Rules) { r.Effort[2].Waste.Minutes = minutesMax + 1 }},
		{"nobody cleans", "effort[2].recovery.people", func(r *Rules) { r.Effort[2].Recovery.People = 0 }},
		{"a word that is no level", "far.darker.waste", func(r *Rules) { r.Far.Darker.Waste = "sweep" }},
	}
	for _, tt := range tests {
		r := DefaultRules()
		tt.spoil(&r)
		var e *form.Error
		if err := form.Decode(form.Encode(&r), &r); !errors.As(err, &e) || e.Field != tt.field {
			t.Errorf("%s: %v, want an error on %s", tt.name, err, tt.field)
		}
	}
}

func TestDefaultEffortStandsInThePublishedTable(t *testing.T) {
	r := DefaultRules()
	defaults := []struct {
		kind, want string
		level      Level
		recovery   bool
		effort     Effort
	}{
		{"manual gun on a manifold with dedicated hoppers: purge only", "under 1 by 1", Purge, false, Effort{1, 1}},
		{"spray to waste, line purge and wipe", "5 to 10 by 1", Blowdown, false, Effort{10, 1}},
		{"cyclone, reclaim colour to colour", "under 20 by 2", Blowdown, true, Effort{20, 2}},
		{"full clean, light powder after dark or metallic", "45 to 90 by 2", Full, false, Effort{45, 2}},
		{"cartridge module, reclaim colour to colour", "under 45 by 2", Full, true, Effort{45, 2}},
		{"older systems", `about 120 ("a couple of hours") by `, Strip, true, Effort{120, 2}},
	}
	published := map[string]string{ // not taken over: what stands in the table all the same
		"cyclone, recent designs": "8 to 20 by 2", "quick change, side collector": "under 10 by 2 at least", "quick change, cyclone": "under 10 by 1 to 2",
		"reclaim to reclaim, a shop before upgrade": "30 by ", "cyclone example used in a cost sum": "15 by 2",
	}
	for _, d := range defaults {
		published[d.kind] = d.want
		if got := r.effort(d.level, d.recovery); got != d.effort {
			t.Errorf("%s: effort of %s is %+v, want %+v", d.kind, d.level, got, d.effort)
		}
	}
	reference.Each(t, "colour-change-durations.csv", len(published), nil, func(t testing.TB, row reference.Row) {
		if got := row["minutes"] + " by " + row["people"]; got != published[row["kind"]] {
			t.Errorf("%s: table says %q, want %q (%s, %s)", row["kind"], got, published[row["kind"]], row["source"], row["mark"])
		}
	})
}

func TestNeedHoldsItsPromises(t *testing.T) {
	powder := rapid.Custom(func(t *rapid.T) *Powder {
		p := &Powder{ID: rapid.SampledFrom([]string{"A", "B", "C"}).Draw(t, "id")}
		p.Chemistry = rapid.SampledFrom(append(Chemistries(), "")).Draw(t, "chemistry")
		p.Finish = rapid.SampledFrom(append(Finishes(), "")).Draw(t, "finish")
		if rapid.Bool().Draw(t, "measured") {
			p.Lab = &[3]float64{rapid.Float64Range(0, 100).Draw(t, "L"),
				rapid.Float64Range(-128, 128).Draw(t, "a"), rapid.Float64Range(-128, 128).Draw(t, "b")}
		}
		return p
	})
	rapid.Check(t, func(t *rapid.T) {
		from, to := powder.Draw(t, "from"), powder.Draw(t, "to")
		r := DefaultRules()
		waste, recovery := Needed(r, from, to, false), Needed(r, from, to, true)
		if recovery.Level.Below(waste.Level) {
			t.Fatalf("recovery needs only %s where waste needs %s", recovery.Level, waste.Level)
		}
		if from.ID == to.ID && waste.Level != Purge {
			t.Fatalf("the same powder needs %s", waste.Level)
		}
		if len(waste.Reasons) == 0 || waste.Reasons[0].Level != waste.Level {
			t.Fatalf("the first reason does not decide: %+v", waste)
		}
		// Knowing less never cleans less.
		blind := *from
		blind.Lab, blind.Chemistry, blind.Finish = nil, "", ""
		if n := Needed(r, &blind, to, true); n.Level.Below(recovery.Level) {
			t.Fatalf("knowing less of the powder before lowers %s to %s", recovery.Level, n.Level)
		}
	})
}

func TestLevelsRise(t *testing.T) {
	last := None
	for _, l := range Levels() {
		if !last.Below(l) || l.Below(last) {
			t.Errorf("%q is not above %q", l, last)
		}
		last = l
	}
	if !Level("sweep").Below(None) {
		t.Error("a word that is no level must clean less than nothing")
	}
}

func TestSwatchIsAPictureOfTheColour(t *testing.T) {
	// L* 0 and 100 are black and white in sRGB (IEC 61966-2-1).
	for lab, want := range map[[3]float64]string{{0, 0, 0}: "#000000", {100, 0, 0}: "#ffffff"} {
		if got, known := (&Powder{Lab: &lab}).Swatch(); got != want || !known {
			t.Errorf("swatch of %v is %s, %v; want %s", lab, got, known, want)
		}
	}
	if _, known := noColour.Swatch(); known {
		t.Error("a powder without a measured colour has a swatch")
	}
}

func ExampleNeeded() {
	n := Needed(DefaultRules(), &black, &white, true)
	fmt.Printf("%s, %g min with %d people, because %s (lighter by %g)\n",
		n.Level, n.Minutes, n.People, n.Reasons[0].Code, n.Reasons[0].DeltaL)
	fmt.Printf("missing after a blowdown: %q, after a strip: %q\n", n.After(Blowdown), n.After(Strip))
	// Output:
	// full, 45 min with 2 people, because colour.white_black (lighter by 68)
	// missing after a blowdown: "full", after a strip: ""
}
