package gun

import (
	"math"

	"hoppertally/domain/measure"
)

// Hose is a powder hose in use. Air is free air, as a flow meter shows it; the
// hose is taken to be at ambient pressure, where the air is slowest in mass terms
// and powder settles first.
type Hose struct {
	AirLMin  float64 // all the air through the hose, 1 to 10 000 l/min
	BoreMM   float64 // inner diameter, 1 to 500 mm
	MGPerMin float64 // powder, above 0 to HoseFlowMax mg/min
	SizeUM   float64 // particle size d50, 1 to 1000 µm
}

// HoseFlowMax is the largest powder flow in a hose that is accepted, in mg/min.
const HoseFlowMax = 1e9

// AirDensity of the carrying air in kg/m³: dry air at 20 °C and 101.325 kPa,
// 101325 ÷ (287.05 × 293.15) = 1.204, rounded as textbooks do.
const AirDensity = 1.2

// gravity is the standard acceleration of free fall in m/s².
const gravity = 9.80665

// Transport is how a hose carries its powder. The saltation speed is an
// estimate: its rule was found on horizontal pipes wider than a powder hose.
type Transport struct {
	Speed     float64 // of the air, m/s
	Loading   float64 // kg of powder per kg of air
	Saltation float64 // air speed below which powder settles in a level hose, m/s, to 1 µm/s
	Margin    float64 // Speed over Saltation, to 0.0001
	Verdict   Verdict
	MostMG    float64 // powder flow at which Margin would be 1, to 1 mg/min
}

// Verdict says how safely a hose carries.
type Verdict string

// What a hose does with its powder.
const (
	Carries Verdict = "hose.carries"
	Close   Verdict = "hose.close"  // margin from 1 to CloseBelow: may settle in a sagging or long hose
	Settles Verdict = "hose.surges" // margin below 1: powder settles and comes in surges
)

// CloseBelow is the margin under which a hose is close to surging.
// Common practice, no source: half as much air again.
const CloseBelow = 1.5

// Carry tells how the hose carries. The errors are *measure.Fault on air_l_min,
// bore_mm, mg_per_min or size_um.
func (h Hose) Carry() (Transport, error) {
	for _, f := range []struct {
		what     string
		x        float64
		min, max float64
		want     string
	}{
		{"air_l_min", h.AirLMin, 1, 10_000, "1 to 10000 l/min"},
		{"bore_mm", h.BoreMM, 1, 500, "1 to 500 mm"},
		{"mg_per_min", h.MGPerMin, 1, HoseFlowMax, "1 to 1000000000 mg/min"},
		{"size_um", h.SizeUM, 1, 1000, "1 to 1000 µm"},
	} {
		if !(f.x >= f.min && f.x <= f.max) {
			return Transport{}, measure.Refuse(f.what, f.x, f.want)
		}
	}
	bore, air, powder := h.BoreMM/1000, h.AirLMin/60_000, h.MGPerMin/60e6 // m, m³/s, kg/s
	area := math.Pi / 4 * bore * bore
	t := Transport{Speed: air / area, Loading: powder / (AirDensity * air)}
	// Powers end differently in the last bit from machine to machine; rounded they do not.
	t.Saltation = math.Max(round(saltation(powder, bore, h.SizeUM/1000, AirDensity), 1e6), 1e-6)
	t.Margin = round(t.Speed/t.Saltation, 1e4)
	t.MostMG = math.Round(saltationLoading(t.Speed, bore, h.SizeUM/1000) * AirDensity * air * 60e6)
	switch {
	case t.Margin < 1:
		t.Verdict = Settles
	case t.Margin < CloseBelow:
		t.Verdict = Close
	default:
		t.Verdict = Carries
	}
	return t, nil
}

// saltationLoading is the loading at which powder of size d in mm begins to
// settle at an air speed in a pipe of this bore in m: μ = 10^−δ · Fr^χ with
// Fr = v/√(g·D), δ = 1.44·d + 1.96, χ = 1.1·d + 2.5.
//
// Source: Rizk, "Pneumatic conveying at optimal operation conditions and a
// solution of Bath's equation", Pneumotransport 3, paper D4, BHRA (1973), as
// given by Rhodes, Introduction to Particle Technology.
func saltationLoading(speed, bore, sizeMM float64) float64 {
	delta, chi := 1.44*sizeMM+1.96, 1.1*sizeMM+2.5
	return math.Pow(10, -delta) * math.Pow(speed/math.Sqrt(gravity*bore), chi)
}

// saltation is the air speed in m/s at which a powder flow in kg/s begins to
// settle: the rule above with μ = flow/(ρ·A·v), solved for v.
func saltation(flow, bore, sizeMM, density float64) float64 {
	delta, chi := 1.44*sizeMM+1.96, 1.1*sizeMM+2.5
	area := math.Pi / 4 * bore * bore
	v := flow / (density * area) * math.Pow(10, delta) * math.Pow(gravity*bore, chi/2)
	return math.Pow(v, 1/(chi+1))
}

func round(x, parts float64) float64 { return math.Round(x*parts) / parts }
