package stock

import (
	"math"

	"hoppertally/domain/measure"

	"gonum.org/v1/gonum/stat"
)

// Demand is how a powder is used and how long an order takes.
type Demand struct {
	PerDayKG   float64 // mean use per day, 0 to DemandMax kg
	SDPerDayKG float64 // its standard deviation from day to day, 0 to DemandMax kg
	LeadDays   float64 // mean time from order to shelf, 0 to 365 days
	SDLeadDays float64 // its standard deviation, 0 to 365 days
}

// DemandMax is the largest use per day that is accepted, in kg: 1000 t.
const DemandMax = 1e6

// Reorder is when to order.
type Reorder struct {
	SafetyKG float64 // kept for bad luck
	PointKG  float64 // order when what is there and on its way falls to this
}

// ReorderPoint is d·L + z·√(L·σd² + d²·σL²), in the words of the trade: the use
// during the lead time plus the safety stock. z is 0 to 5, see [Z].
//
// Source: Taylor, Introduction to Management Science, ch. 16 (fixed lead time);
// the term for a varying lead time is the variance of a random sum. The errors
// are *measure.Fault on per_day_kg, sd_per_day_kg, lead_days, sd_lead_days or z.
func ReorderPoint(d Demand, z float64) (Reorder, error) {
	for _, c := range []struct {
		what   string
		x, max float64
		want   string
	}{
		{"per_day_kg", d.PerDayKG, DemandMax, "0 to 1000000 kg"},
		{"sd_per_day_kg", d.SDPerDayKG, DemandMax, "0 to 1000000 kg"},
		{"lead_days", d.LeadDays, 365, "0 to 365 days"},
		{"sd_lead_days", d.SDLeadDays, 365, "0 to 365 days"},
		{"z", z, 5, "0 to 5"},
	} {
		if !(c.x >= 0 && c.x <= c.max) {
			return Reorder{}, measure.Refuse(c.what, c.x, c.want)
		}
	}
	safety := z * math.Sqrt(d.LeadDays*d.SDPerDayKG*d.SDPerDayKG+d.PerDayKG*d.PerDayKG*d.SDLeadDays*d.SDLeadDays)
	return Reorder{SafetyKG: safety, PointKG: d.PerDayKG*d.LeadDays + safety}, nil
}

// Z is the number of standard deviations that a service level asks for: the
// share of order cycles without running out, in per mille, 500 to 999. Rounded to
// 0.000001, so that every machine gives the same.
// Source: the normal distribution; 950 gives 1.645.
func Z(service measure.Share) (float64, error) {
	if service < 500 || service > 999 {
		return 0, measure.Refuse("service_pm", int64(service), "500 to 999 ‰")
	}
	z := math.Sqrt2 * math.Erfinv(2*float64(service)/1000-1)
	return math.Round(z*1e6) / 1e6, nil
}

// DailyUse is mean and standard deviation of what was used day by day, in kg;
// days without use count as zero and must be in the list. The deviation of a
// single day is 0.
func DailyUse(days []measure.Mass) (meanKG, sdKG float64) {
	kgs := make([]float64, len(days))
	for i, m := range days {
		kgs[i] = float64(m) / float64(measure.Kilogram)
	}
	switch len(kgs) {
	case 0:
		return 0, 0
	case 1:
		return kgs[0], 0
	}
	return stat.MeanStdDev(kgs, nil)
}

// DaysOfCover is how long a stock lasts at a mean use per day. ok is false when
// nothing is used: then it lasts for ever.
func DaysOfCover(stock measure.Mass, perDayKG float64) (days float64, ok bool) {
	if !(perDayKG > 0) {
		return 0, false
	}
	return float64(stock) / float64(measure.Kilogram) / perDayKG, true
}

// Boxes is the number of whole boxes that hold at least need, and their mass.
// Nothing needed is no box. The error is a *measure.Fault on box_mg (above 0) or
// need_mg (when the boxes would pass measure.MassMax).
func Boxes(need, box measure.Mass) (n int64, total measure.Mass, err error) {
	if box <= 0 || box >= measure.MassMax {
		return 0, 0, measure.Refuse("box_mg", int64(box), "above 0 and below 2^53 mg")
	}
	if need <= 0 {
		return 0, 0, nil
	}
	if need >= measure.MassMax-box {
		return 0, 0, measure.Refuse("need_mg", int64(need), "below 2^53 mg less one box")
	}
	n = int64((need + box - 1) / box)
	return n, measure.Mass(n) * box, nil
}

// OrderSize is the mass that makes ordering and keeping cheapest together,
// √(2·D·S/H): yearly use in kg, money per order, money to keep 1 kg for a year.
// Source: Harris's economic order quantity. The errors are *measure.Fault on
// per_year_kg (0 to 4e8), order_cost (0 to 1e9) or keep_cost (above 0 to 1e9).
func OrderSize(perYearKG, orderCost, keepCost float64) (kg float64, err error) {
	switch {
	case !(perYearKG >= 0 && perYearKG <= 4e8):
		return 0, measure.Refuse("per_year_kg", perYearKG, "0 to 400000000 kg")
	case !(orderCost >= 0 && orderCost <= 1e9):
		return 0, measure.Refuse("order_cost", orderCost, "0 to 1000000000")
	case !(keepCost > 0 && keepCost <= 1e9):
		return 0, measure.Refuse("keep_cost", keepCost, "above 0 to 1000000000")
	}
	return math.Sqrt(2 * perYearKG * orderCost / keepCost), nil
}

// Position is what the decision to order looks at.
type Position struct {
	Usable  measure.Mass // on shelves, neither held nor expired
	OnOrder measure.Mass // on its way
}

// Suggestion is an order in whole boxes; none when Boxes is 0.
type Suggestion struct {
	Boxes int64
	Mass  measure.Mass
	Short measure.Mass // what the position lacks to the reorder point; 0 above it
}

// Suggest orders when the position is at or below the reorder point: at least
// what lifts it to the point, and at least sizeKG, in whole boxes. The errors are
// *measure.Fault on point_kg or size_kg (0 to 4e8) and those of Boxes.
func Suggest(p Position, pointKG, sizeKG float64, box measure.Mass) (Suggestion, error) {
	point, err := toMass("point_kg", pointKG)
	if err != nil {
		return Suggestion{}, err
	}
	size, err := toMass("size_kg", sizeKG)
	if err != nil {
		return Suggestion{}, err
	}
	short := point - p.Usable - p.OnOrder
	if short < 0 {
		return Suggestion{}, nil
	}
	n, total, err := Boxes(max(short, size), box)
	return Suggestion{Boxes: n, Mass: total, Short: short}, err
}

// toMass rounds kilograms up to whole milligrams.
func toMass(what string, kg float64) (measure.Mass, error) {
	if !(kg >= 0 && kg <= 4e8) {
		return 0, measure.Refuse(what, kg, "0 to 400000000 kg")
	}
	return measure.Mass(math.Ceil(kg * float64(measure.Kilogram))), nil
}
