// Package coating reckons with powder on parts: what a kilogram covers, what a job
// needs and costs, how much of what was sprayed stuck, whether the film and the
// cure are as they should be.
//
// Film is in µm, area in m², masses in kg or g as the name says, specific gravity
// (SG) in g/cm³ of the cured film, temperatures in °C, money in whatever the shop
// uses. All figures are float64 physics; nothing here touches the books. Every
// error is a *measure.Fault that names the argument as the calculation's input form
// does.
package coating

import (
	"math"

	m "hoppertally/domain/measure"
)

// ChartFT2 is the constant of printed coverage charts, ft²·mil/lb at SG 1:
// 12 000 mil·ft²/ft³ ÷ 62.4 lb/ft³ (water) = 192.3.
// Source: coverage charts, testdata/reference/coverage.csv.
const ChartFT2 = 192.3

// ExactFT2 is the same from exact units, water at 1 g/cm³: 192.2216.
const ExactFT2 = 1000 / 25.4 * m.M2PerKGToFT2PerLB

// Coverage is what a kilogram covers in m²: 1000/(SG·µm)·utilisation.
// utilisation is above 0 to 1.
func Coverage(sg, filmUM, utilisation float64) (m2PerKG float64, err error) {
	if err := positive("sg", sg, "film_um", filmUM); err != nil {
		return 0, err
	}
	if err := fraction("utilisation", utilisation); err != nil {
		return 0, err
	}
	return 1000 / (sg * filmUM) * utilisation, nil
}

// CoverageUS is what a pound covers in ft²: constant/(SG·mil)·utilisation, with
// [ChartFT2] as charts have it or [ExactFT2].
func CoverageUS(constant, sg, filmMil, utilisation float64) (ft2PerLB float64, err error) {
	if err := positive("sg", sg, "film_mil", filmMil); err != nil {
		return 0, err
	}
	if err := fraction("utilisation", utilisation); err != nil {
		return 0, err
	}
	return constant / (sg * filmMil) * utilisation, nil
}

// Deposit is the powder on a square metre in g: SG·µm.
func Deposit(sg, filmUM float64) (gPerM2 float64) { return sg * filmUM }

// Ingredient is a part of a mixture.
type Ingredient struct {
	MassKG float64
	SG     float64
}

// MixSG is the specific gravity of a mixture: Σm / Σ(m/SG), volumes adding up.
func MixSG(parts []Ingredient) (float64, error) {
	var mass, volume float64
	for i, p := range parts {
		if err := positive(at("parts", i, "sg"), p.SG); err != nil {
			return 0, err
		}
		if !(p.MassKG >= 0) {
			return 0, m.Refuse(at("parts", i, "mass_kg"), p.MassKG, "0 or more")
		}
		mass += p.MassKG
		volume += p.MassKG / p.SG
	}
	if mass == 0 {
		return 0, m.Refuse("parts", "no mass", "at least one part with a mass")
	}
	return mass / volume, nil
}

// Job is what a job asks of the powder store.
type Job struct {
	AreaM2      float64
	FilmUM      float64
	SG          float64
	Utilisation float64 // mass on parts / virgin put in, above 0 to 1
	StaysKG     float64 // what fills hopper and hoses and stays there
	LossKG      float64 // lost at the change of powder
	BoxKG       float64 // a box holds that much; above 0
	PriceKG     float64
}

// Need is the powder for a job.
type Need struct {
	OnPartsKG float64 // area × film × SG
	UsedKG    float64 // that divided by the utilisation
	BuyKG     float64 // with what stays in the system and is lost at the change
	Boxes     int64   // rounded up to whole boxes
	LeftKG    float64 // in the boxes beyond BuyKG
	Cost      float64 // of the boxes
	PerM2     float64 // cost of the powder used, without stays and boxes
}

// PowderNeed tells what to buy. A box is not opened for less than a millionth of it.
func PowderNeed(j Job) (Need, error) {
	if err := positive("area_m2", j.AreaM2, "film_um", j.FilmUM, "sg", j.SG, "box_kg", j.BoxKG); err != nil {
		return Need{}, err
	}
	if err := fraction("utilisation", j.Utilisation); err != nil {
		return Need{}, err
	}
	if err := notNegative("stays_kg", j.StaysKG, "loss_kg", j.LossKG, "price_kg", j.PriceKG); err != nil {
		return Need{}, err
	}
	n := Need{OnPartsKG: j.AreaM2 * Deposit(j.SG, j.FilmUM) / 1000}
	n.UsedKG = n.OnPartsKG / j.Utilisation
	n.BuyKG = n.UsedKG + j.StaysKG + j.LossKG
	boxes := math.Ceil(n.BuyKG/j.BoxKG - 1e-6)
	if boxes >= 1<<53 {
		return Need{}, m.Refuse("box_kg", j.BoxKG, "boxes that a shop can count")
	}
	n.Boxes = int64(max(boxes, 1))
	n.LeftKG = max(float64(n.Boxes)*j.BoxKG-n.BuyKG, 0)
	n.Cost = float64(n.Boxes) * j.BoxKG * j.PriceKG
	n.PerM2 = n.UsedKG * j.PriceKG / j.AreaM2
	return n, nil
}

// Excess is powder spent on film above target; negative when the film is thin.
type Excess struct {
	OnPartsKG float64 // (mean − target)·area·SG
	UsedKG    float64 // that divided by the utilisation
	Money     float64
}

// ExcessFilm tells what film above target costs.
func ExcessFilm(meanUM, targetUM, areaM2, sg, utilisation, priceKG float64) (Excess, error) {
	if err := positive("area_m2", areaM2, "target_um", targetUM, "sg", sg); err != nil {
		return Excess{}, err
	}
	if err := fraction("utilisation", utilisation); err != nil {
		return Excess{}, err
	}
	if err := notNegative("mean_um", meanUM, "price_kg", priceKG); err != nil {
		return Excess{}, err
	}
	e := Excess{OnPartsKG: (meanUM - targetUM) * areaM2 * sg / 1000}
	e.UsedKG = e.OnPartsKG / utilisation
	e.Money = e.UsedKG * priceKG
	return e, nil
}
