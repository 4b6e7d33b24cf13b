package booth

import (
	"fmt"

	"hoppertally/domain/gun"
	"hoppertally/domain/measure"
)

// LimitRule names the limit that a dust concentration was held against.
type LimitRule string

const (
	// HalfMEC: the concentration must stay below half of the powder's minimum
	// explosible concentration; at the half itself it is too much.
	HalfMEC LimitRule = "half_mec"
	// TenGrams: where the minimum explosible concentration is not known, at most
	// 10 g/m³; at 10 itself it is still allowed.
	TenGrams LimitRule = "ten_grams"
)

// tenGrams is 10 g/m³ in mg/m³.
const tenGrams = 10_000

// Exhaust is a booth while it sprays.
type Exhaust struct {
	Guns    []measure.Mass // powder out of each gun per minute, above 0 to GunMax
	AirM3H  int64          // exhaust air, 1 to AirMax m³/h
	MECMGM3 int64          // minimum explosible concentration of the powder in mg/m³, 0 when not known
	TE      measure.Share  // share that stays on the parts, 0 to 1000; only for Credited
}

// Limits of an Exhaust.
const (
	GunMax  = measure.Mass(gun.OutputMax) // out of one gun per minute: whatever a test may record is judged
	GunsMax = 200
	AirMax  = 1_000_000 // m³/h
	MECMax  = 1_000_000 // mg/m³
)

// Dust is what the exhaust air carries.
type Dust struct {
	Conc     float64   // g/m³ with nothing credited to the parts: the one to be held against the limit
	Credited float64   // g/m³ with what stays on the parts taken off; for information
	Limit    float64   // g/m³
	Rule     LimitRule // where the limit comes from
	Allowed  bool      // Conc keeps the rule
	AtLimit  bool      // Conc is the limit exactly: then the rule decides, see LimitRule
	AirM3H   int64     // the least whole m³/h with which the rule is kept
	Guns     int       // how many guns like the strongest one keep the rule at the given air
}

// DustIn is the powder in the exhaust air: output of all guns over exhaust air.
// Comparisons with the limit are exact, in integers.
//
// Source of the 10 g/m³ where nothing is known, and of half the minimum
// explosible concentration: the rules for coating booths of EN 16985 (from
// memory). Local codes and the authority having jurisdiction come first. The
// errors are *measure.Fault on guns, guns[i], air_m3h, mec_mg_m3 or te_pm.
func DustIn(x Exhaust) (Dust, error) {
	if err := x.check(); err != nil {
		return Dust{}, err
	}
	var perMin, strongest measure.Mass
	for _, g := range x.Guns {
		perMin += g
		strongest = max(strongest, g)
	}
	perHour := 60 * int64(perMin) // mg
	d := Dust{Rule: TenGrams, Limit: 10}
	d.Conc = float64(perHour) / float64(x.AirM3H) / 1000
	d.Credited = d.Conc * float64(1000-x.TE) / 1000
	if x.MECMGM3 > 0 {
		d.Rule, d.Limit = HalfMEC, float64(x.MECMGM3)/2000
		d.Allowed = 2*perHour < x.MECMGM3*x.AirM3H
		d.AtLimit = 2*perHour == x.MECMGM3*x.AirM3H
		d.AirM3H = 2*perHour/x.MECMGM3 + 1
		d.Guns = int((x.MECMGM3*x.AirM3H - 1) / (120 * int64(strongest)))
		return d, nil
	}
	d.Allowed = perHour <= tenGrams*x.AirM3H
	d.AtLimit = perHour == tenGrams*x.AirM3H
	d.AirM3H = (perHour + tenGrams - 1) / tenGrams
	d.Guns = int(tenGrams * x.AirM3H / (60 * int64(strongest)))
	return d, nil
}

func (x Exhaust) check() error {
	if len(x.Guns) < 1 || len(x.Guns) > GunsMax {
		return measure.Refuse("guns", len(x.Guns), fmt.Sprintf("1 to %d guns", GunsMax))
	}
	for i, g := range x.Guns {
		if g <= 0 || g > GunMax {
			return measure.Refuse(fmt.Sprintf("guns[%d]", i), int64(g), fmt.Sprintf("1 to %d mg/min", GunMax))
		}
	}
	switch {
	case x.AirM3H < 1 || x.AirM3H > AirMax:
		return measure.Refuse("air_m3h", x.AirM3H, fmt.Sprintf("1 to %d m³/h", AirMax))
	case x.MECMGM3 < 0 || x.MECMGM3 > MECMax:
		return measure.Refuse("mec_mg_m3", x.MECMGM3, fmt.Sprintf("0 to %d mg/m³, 0 for not known", MECMax))
	case x.TE < 0 || x.TE > 1000:
		return measure.Refuse("te_pm", int64(x.TE), "0 to 1000 ‰")
	}
	return nil
}
