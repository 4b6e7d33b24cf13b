package coating

import (
	"fmt"
	"math"

	m "hoppertally/domain/measure"

	"gonum.org/v1/gonum/stat"
)

func films(name string, list []float64) error {
	for i, x := range list {
		if err := notNegative(at(name, i, ""), x); err != nil {
			return err
		}
	}
	return nil
}

// Rule is a rule of acceptance over film values (spots, areas or readings, as the
// standard has it). Zero fields ask nothing.
type Rule struct {
	Standard string
	Values   int     // at least so many
	MinUM    float64 // specified or nominal minimum
	MaxUM    float64 // specified maximum; 0 for none
	MeanMin  bool    // the mean must reach MinUM
	MeanMax  bool    // the mean must not pass MaxUM

	FloorUM    float64 // no value below
	BelowFloor float64 // but for this fraction of the values
	CeilingUM  float64 // no value above
	LeastAtMin float64 // at least this fraction of the values must reach MinUM
}

// AreaRule is SSPC-PA 2 for one area of five spots: the mean of the spots within
// the specified limits, single spots as the restriction level allows. maxUM 0 is no
// maximum. Levels 1 to 5; 3 where the job names none.
//
//	level      1     2     3     4     5
//	spot min  100%  100%   80%   80%   80% of the minimum
//	spot max  100%  120%  120%  150%   any, as for the area
//
// Source: level 3 seen (SSPC PA-2 slides: 80 % and 120 %); the others from memory.
func AreaRule(level int, minUM, maxUM float64) (Rule, error) {
	if level < 1 || level > 5 {
		return Rule{}, m.Refuse("level", level, "1 to 5")
	}
	if err := limits(minUM, maxUM); err != nil {
		return Rule{}, err
	}
	low := [...]float64{1, 1, 0.8, 0.8, 0.8}[level-1]
	high := [...]float64{1, 1.2, 1.2, 1.5, 0}[level-1]
	r := Rule{Standard: fmt.Sprintf("SSPC-PA 2 level %d", level), Values: 5, MinUM: minUM, MaxUM: maxUM, MeanMin: true, FloorUM: low * minUM}
	if maxUM > 0 && high > 0 {
		r.MeanMax, r.CeilingUM = true, high*maxUM
	}
	return r, nil
}

func limits(minUM, maxUM float64) error {
	if err := positive("min_um", minUM); err != nil {
		return err
	}
	if maxUM != 0 && !(maxUM >= minUM) {
		return m.Refuse("max_um", maxUM, "0 for none, or no less than the minimum")
	}
	return nil
}

// MeanAnd80 is the Qualicoat rule over at least five measuring areas: the mean
// reaches the minimum, no area lies below 80 % of it.
// Source: Qualicoat specifications, from memory.
func MeanAnd80(minUM float64) (Rule, error) {
	return Rule{Standard: "Qualicoat", Values: 5, MinUM: minUM, MeanMin: true, FloorUM: 0.8 * minUM}, limits(minUM, 0)
}

// SteelRule is ISO 19840 against a nominal dry film thickness: the mean reaches it,
// no reading below 80 % of it, at most 20 % of the readings between, none above the
// agreed maximum (0 for none). Source: ISO 19840, from memory.
func SteelRule(ndftUM, maxUM float64) (Rule, error) {
	return Rule{Standard: "ISO 19840", Values: 1, MinUM: ndftUM, MaxUM: maxUM, MeanMin: true, FloorUM: 0.8 * ndftUM, CeilingUM: maxUM, LeastAtMin: 0.8}, limits(ndftUM, maxUM)
}

// ReadingsRule is the rule of architectural specifications (AAMA 2603, 2604, 2605):
// 80 % of the readings reach the minimum, none lies below the floor but for the
// fraction belowFloor (0.05 in the clause of AAMA 2605).
// Source: comparison sheet of 2011 and Metal Finishing guidebook 2012-13, p. 594.
func ReadingsRule(standard string, minUM, floorUM, belowFloor float64) (Rule, error) {
	if err := limits(minUM, 0); err != nil {
		return Rule{}, err
	}
	if !(floorUM >= 0 && floorUM <= minUM) {
		return Rule{}, m.Refuse("floor_um", floorUM, "0 to the minimum")
	}
	if !(belowFloor >= 0 && belowFloor < 1) {
		return Rule{}, m.Refuse("below_floor", belowFloor, "0 to below 1")
	}
	return Rule{Standard: standard, Values: 1, MinUM: minUM, FloorUM: floorUM, BelowFloor: belowFloor, LeastAtMin: 0.8}, nil
}

// Fault of a film, for a verdict.
const (
	FewValues  = "few.values" // fewer than the rule asks for
	MeanLow    = "mean.low"   // mean below the minimum
	MeanHigh   = "mean.high"  // mean above the maximum
	ValueLow   = "value.low"  // a value below the floor, or more of them than allowed
	ValueHigh  = "value.high" // a value above the ceiling
	ShareAtMin = "share.low"  // too few values reach the minimum
)

// Verdict is a judged film.
type Verdict struct {
	Accept     bool
	Why        []string // faults, in the order above; empty when accepted
	MeanUM     float64
	LowUM      float64 // smallest value
	HighUM     float64
	BelowMin   int // values below the minimum
	BelowFloor int
	AboveMax   int // values above the ceiling
}

// even lets a value stand that misses a limit only by the rounding of float64.
const even = 1e-9

// Judge applies r to values in µm.
func (r Rule) Judge(values []float64) (Verdict, error) {
	if len(values) == 0 {
		return Verdict{}, m.Refuse("values_um", "none", "at least one value")
	}
	if err := films("values_um", values); err != nil {
		return Verdict{}, err
	}
	v := Verdict{MeanUM: stat.Mean(values, nil), LowUM: math.Inf(1), Why: []string{}}
	for _, x := range values {
		v.LowUM, v.HighUM = min(v.LowUM, x), max(v.HighUM, x)
		v.BelowMin += count(x < r.MinUM*(1-even))
		v.BelowFloor += count(x < r.FloorUM*(1-even))
		v.AboveMax += count(r.CeilingUM > 0 && x > r.CeilingUM*(1+even))
	}
	n := float64(len(values))
	for _, c := range []struct {
		bad  bool
		code string
	}{
		{len(values) < r.Values, FewValues},
		{r.MeanMin && v.MeanUM < r.MinUM*(1-even), MeanLow},
		{r.MeanMax && v.MeanUM > r.MaxUM*(1+even), MeanHigh},
		{float64(v.BelowFloor) > r.BelowFloor*n+even, ValueLow},
		{v.AboveMax > 0, ValueHigh},
		{n-float64(v.BelowMin) < r.LeastAtMin*n-even, ShareAtMin},
	} {
		if c.bad {
			v.Why = append(v.Why, c.code)
		}
	}
	v.Accept = len(v.Why) == 0
	return v, nil
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// FT2 is a square foot in m², exactly.
const FT2 = 0.09290304

// Sampling is how much to measure on a surface.
type Sampling struct {
	Areas    int64 // of about 10 m² (100 ft²) each
	Spots    int64 // five per area
	Readings int64 // three per spot
}

// SamplingFor is the number of areas by SSPC-PA 2: every area of 100 ft² up to
// 300 ft²; three up to 1000 ft²; above that one more for each further 1000 ft² or
// part of it. Source: SSPC newsletter, "SSPC-PA 2 Basics"; the last step from memory.
func SamplingFor(areaM2 float64) (Sampling, error) {
	if err := positive("area_m2", areaM2); err != nil {
		return Sampling{}, err
	}
	ft2 := areaM2 / FT2
	areas := math.Ceil(ft2/100 - even)
	switch {
	case ft2 > 1000*(1+even):
		areas = 3 + math.Ceil((ft2-1000)/1000-even)
	case ft2 > 300*(1+even):
		areas = 3
	}
	if areas >= 1e12 {
		return Sampling{}, m.Refuse("area_m2", areaM2, "a surface that can be measured")
	}
	n := int64(max(areas, 1))
	return Sampling{Areas: n, Spots: 5 * n, Readings: 15 * n}, nil
}

// Spec is a film that a standard asks for.
type Spec struct {
	Standard   string
	Grade      string
	MinUM      float64 // nominal minimum
	FloorUM    float64
	BelowFloor float64 // fraction of readings that may lie below the floor
	Seen       bool    // the text was seen; else from memory
}

// Specs are films of architectural standards, as testdata/reference/film-thickness-specs.csv
// has them with their sources. The edition in force and the contract decide.
func Specs() []Spec {
	return []Spec{
		{"AAMA 2603-02", "basic pigmented", 20, 17, 0, true},
		{"AAMA 2604-10", "high performance", 30, 25, 0, true},
		{"AAMA 2605-11", "superior", 30, 25, 0, true},
		{"AAMA 2605-type clause", "superior", 30, 25, 0.05, true},
		{"Qualicoat", "powder class 1", 60, 48, 0, false},
		{"Qualicoat", "powder class 2", 60, 48, 0, false},
		{"Qualicoat", "powder class 3", 50, 40, 0, false},
		{"Qualicoat", "two-coat powder class 1 and 2", 110, 88, 0, false},
		{"Qualicoat", "two-coat PVDF powder", 80, 64, 0, false},
	}
}

// Rule is the rule of acceptance that goes with s.
func (s Spec) Rule() (Rule, error) {
	if s.Standard == "Qualicoat" {
		return MeanAnd80(s.MinUM)
	}
	return ReadingsRule(s.Standard, s.MinUM, s.FloorUM, s.BelowFloor)
}
