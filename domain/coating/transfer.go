package coating

import (
	"math"

	m "hoppertally/domain/measure"
)

// Figure is a value with its standard uncertainty (one standard deviation, JCGM 100).
type Figure struct {
	Value float64
	SD    float64 // 0 means exactly known
}

func (f Figure) relative() float64 { return f.SD / f.Value }

// Weighed is a transfer test on the scale: what the hopper lost went out of the gun,
// what the parts gained stuck.
type Weighed struct {
	HopperBeforeG, HopperAfterG float64
	PartsBeforeG, PartsAfterG   float64
	HopperSDG                   float64 // standard uncertainty of one weighing of the hopper
	PartsSDG                    float64 // of one weighing of the parts
}

// WeighedTransfer is the first-pass transfer efficiency of a weighed test:
// T = parts gained / hopper lost. The uncertainties of the four weighings are
// independent, so (JCGM 100:2008, 5.1.2, root sum of squares)
//
//	u(T)² = T²·[2·u_parts²/gained² + 2·u_hopper²/lost²].
func WeighedTransfer(w Weighed) (Figure, error) {
	if err := notNegative("hopper_before_g", w.HopperBeforeG, "hopper_after_g", w.HopperAfterG, "parts_before_g", w.PartsBeforeG,
		"parts_after_g", w.PartsAfterG, "hopper_sd_g", w.HopperSDG, "parts_sd_g", w.PartsSDG); err != nil {
		return Figure{}, err
	}
	lost, gained := w.HopperBeforeG-w.HopperAfterG, w.PartsAfterG-w.PartsBeforeG
	if lost <= 0 {
		return Figure{}, m.Refuse("hopper_after_g", w.HopperAfterG, "less than before: nothing was sprayed")
	}
	if gained < 0 {
		return Figure{}, m.Refuse("parts_after_g", w.PartsAfterG, "no less than before")
	}
	if gained > lost {
		return Figure{}, m.Refuse("parts_after_g", w.PartsAfterG, "a gain of no more than the hopper lost")
	}
	return ratio(Figure{gained, math.Sqrt2 * w.PartsSDG}, Figure{lost, math.Sqrt2 * w.HopperSDG}), nil
}

// ratio is a/b with u² = u_a²/b² + (a·u_b/b²)²; a may be 0.
func ratio(a, b Figure) Figure {
	return Figure{a.Value / b.Value, math.Hypot(a.SD/b.Value, a.Value*b.SD/(b.Value*b.Value))}
}

// Measured is a run as it was measured: what was sprayed and what is on the parts
// by area, mean film and specific gravity.
type Measured struct {
	SprayedKG Figure
	AreaM2    Figure
	FilmUM    Figure // mean; its SD is that of the mean, s/√n and the gauge
	SG        Figure
}

// MeasuredTransfer is the first-pass transfer efficiency of a run:
// T = area·film·SG / sprayed, relative uncertainties adding as squares
// (JCGM 100:2008, 5.1.6). It may come out above 1 within its uncertainty; that is
// for the reader to judge and is not cut off.
func MeasuredTransfer(r Measured) (Figure, error) {
	for _, c := range []struct {
		name string
		f    Figure
	}{{"sprayed_kg", r.SprayedKG}, {"area_m2", r.AreaM2}, {"film_um", r.FilmUM}, {"sg", r.SG}} {
		if err := positive(c.name, c.f.Value); err != nil {
			return Figure{}, err
		}
		if err := notNegative(c.name+"_sd", c.f.SD); err != nil {
			return Figure{}, err
		}
	}
	te := r.AreaM2.Value * r.FilmUM.Value * r.SG.Value / 1000 / r.SprayedKG.Value
	var squares float64
	for _, f := range []Figure{r.SprayedKG, r.AreaM2, r.FilmUM, r.SG} {
		squares += f.relative() * f.relative()
	}
	return Figure{te, te * math.Sqrt(squares)}, nil
}
