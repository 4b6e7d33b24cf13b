package booth

import (
	"fmt"

	"hoppertally/domain/form"
)

// ByMode is a level for each way of running the booth.
type ByMode struct {
	Waste    Level // spray to waste: nothing goes back to the hopper
	Recovery Level // overspray is collected or returned, so what stays behind comes out again
}

func (m ByMode) of(recovery bool) Level {
	if recovery {
		return m.Recovery
	}
	return m.Waste
}

// Any stands in a row of [Rules] for every chemistry or finish.
const Any = "any"

// ChemistryRule is the level between two different chemistries, whichever comes
// first.
type ChemistryRule struct {
	A, B string // a chemistry or Any
	ByMode
}

// FinishRule is the level from one finish to another one.
type FinishRule struct {
	From, To string // a finish or Any
	ByMode
}

// ColourRule is the level for a colour difference up to DeltaE.
type ColourRule struct {
	DeltaE  float64 // CIEDE2000, inclusive
	Darker  ByMode  // the new colour is darker or about as light
	Lighter ByMode  // the new colour is lighter, see Rules.Lighter
}

// Effort is what a level usually takes.
type Effort struct {
	Minutes float64 // from the last part of one colour to the gun ready for the next
	People  int64
}

// EffortByMode is the effort for each way of running the booth.
type EffortByMode struct {
	Level           Level
	Waste, Recovery Effort
}

// Rules is the table a shop may change: what makes which cleaning level
// necessary. [DefaultRules] says where each default comes from.
type Rules struct {
	SamePowder ByMode // the same powder again
	Unknown    ByMode // nothing is known of what was sprayed before, or of what comes

	// Chemistry: the first row that fits two different chemistries counts.
	// UnknownChemistry counts when either one is not known.
	Chemistry        []ChemistryRule
	UnknownChemistry ByMode

	// Finish: the first row that fits two finishes counts, also for twice the
	// same finish. Nothing is needed where no row fits. UnknownFinish counts when
	// either one is not known.
	Finish        []FinishRule
	UnknownFinish ByMode

	// Colour: rows by rising DeltaE; the first whose DeltaE is not exceeded
	// counts, beyond the last the row Far.
	Colour        []ColourRule
	Far           ColourRule // its DeltaE is not looked at
	UnknownColour ByMode     // either colour is not measured
	Lighter       float64    // the new colour counts as lighter from this rise in L*, 0 to 100

	// Dark to light: from L* at most DarkMax to L* at least LightMin.
	DarkMax, LightMin float64
	DarkToLight       ByMode

	// White and black, either way round: chroma at most NeutralMax, and
	// L* at least WhiteMin against L* at most BlackMax.
	WhiteMin, BlackMax, NeutralMax float64
	WhiteBlack                     ByMode

	Effort []EffortByMode // one row per level, in rising order
}

// DefaultRules is the table a shop starts with.
//
//   - Acrylic against anything: full, strip when recovery is in use. Common
//     practice, no source: acrylic left behind makes other powders crater.
//   - Dark to light, white and black: full. Common practice, no source
//     ("full clean, light powder after dark or metallic").
//   - Where a value was left open (colour steps, L* limits, finishes, unknowns):
//     Our rule, on the safe side, to be changed by the shop.
//   - Effort: see [DefaultEffort].
func DefaultRules() Rules {
	const p, b, f, s = Purge, Blowdown, Full, Strip
	return Rules{
		SamePowder: ByMode{p, p},
		Unknown:    ByMode{f, f},
		Chemistry: []ChemistryRule{
			{Acrylic, Any, ByMode{f, s}},
			{Any, Any, ByMode{b, f}},
		},
		UnknownChemistry: ByMode{f, s}, // it may be acrylic
		Finish: []FinishRule{
			{Metallic, Metallic, ByMode{b, f}}, // another flake
			{Metallic, Any, ByMode{f, f}},      // flakes stay behind and show
			{Any, Metallic, ByMode{b, f}},
			{Clear, Clear, ByMode{b, b}},
			{Any, Clear, ByMode{f, f}}, // every speck shows
			{Gloss, Matt, ByMode{f, f}},
			{Matt, Gloss, ByMode{f, f}},
			{Texture, Texture, ByMode{b, b}},
			{Texture, Any, ByMode{f, f}}, // the texture agent opens craters in smooth films
		},
		UnknownFinish: ByMode{f, f},
		Colour: []ColourRule{
			{DeltaE: 1, Darker: ByMode{p, b}, Lighter: ByMode{p, b}}, // about what the eye can tell apart
			{DeltaE: 5, Darker: ByMode{b, f}, Lighter: ByMode{b, f}}, // shades of one colour
		},
		Far:           ColourRule{Darker: ByMode{b, f}, Lighter: ByMode{f, f}},
		UnknownColour: ByMode{f, f}, // it may be white after black
		Lighter:       5,
		DarkMax:       40,
		LightMin:      70,
		DarkToLight:   ByMode{f, f},
		WhiteMin:      85,
		BlackMax:      30,
		NeutralMax:    15,
		WhiteBlack:    ByMode{f, f},
		Effort:        DefaultEffort(),
	}
}

// DefaultEffort is minutes and people per level until the shop has logged its
// own changes. Sources are the rows of testdata/reference/colour-change-durations.csv.
//
//   - purge 1 min, 1 person: found, "manual gun on a manifold with dedicated
//     hoppers: purge only, under 1" (Products Finishing, Fast Color Change).
//   - blowdown, to waste 10 min, 1 person: practice, "line purge and wipe, 5 to
//     10". With recovery 20 min, 2 people: found, "cyclone, under 20" (Powder
//     Coated Tough, 2014-02-01).
//   - full 45 min, 2 people: to waste practice, the short end of "full clean, 45
//     to 90"; with recovery found, "cartridge module, under 45" (Powder Coated
//     Tough, 2014-02-01).
//   - strip 120 min: found, "older systems, about 120" (Products Finishing,
//     undated); 2 people: common practice, no source.
func DefaultEffort() []EffortByMode {
	return []EffortByMode{
		{Purge, Effort{1, 1}, Effort{1, 1}},
		{Blowdown, Effort{10, 1}, Effort{20, 2}},
		{Full, Effort{45, 2}, Effort{45, 2}},
		{Strip, Effort{120, 2}, Effort{120, 2}},
	}
}

// effort of a level; no effort for None and for a level the table lacks.
func (r Rules) effort(l Level, recovery bool) Effort {
	for _, e := range r.Effort {
		if e.Level == l {
			if recovery {
				return e.Recovery
			}
			return e.Waste
		}
	}
	return Effort{}
}

// Fields declares the table as JSON. Levels are words, "" is written by leaving
// the field out.
func (r *Rules) Fields(v *form.Visitor) {
	byMode(v, "same_powder", &r.SamePowder)
	byMode(v, "unknown", &r.Unknown)
	form.List(v, "chemistry", &r.Chemistry, 0, rowsMax, func(v *form.Visitor, c *ChemistryRule) {
		any := append(Chemistries(), Any)
		v.Enum("a", &c.A, any...)
		v.Enum("b", &c.B, any...)
		c.ByMode.fields(v)
	})
	byMode(v, "unknown_chemistry", &r.UnknownChemistry)
	form.List(v, "finish", &r.Finish, 0, rowsMax, func(v *form.Visitor, f *FinishRule) {
		any := append(Finishes(), Any)
		v.Enum("from", &f.From, any...)
		v.Enum("to", &f.To, any...)
		f.ByMode.fields(v)
	})
	byMode(v, "unknown_finish", &r.UnknownFinish)
	form.List(v, "colour", &r.Colour, 0, rowsMax, func(v *form.Visitor, c *ColourRule) {
		v.Float("delta_e", &c.DeltaE, 0, 200, "CIEDE2000")
		c.ways(v)
	})
	v.Object("far", r.Far.ways)
	byMode(v, "unknown_colour", &r.UnknownColour)
	v.Float("lighter", &r.Lighter, 0, 100, "L*")
	v.Float("dark_max", &r.DarkMax, 0, 100, "L*")
	v.Float("light_min", &r.LightMin, 0, 100, "L*")
	byMode(v, "dark_to_light", &r.DarkToLight)
	v.Float("white_min", &r.WhiteMin, 0, 100, "L*")
	v.Float("black_max", &r.BlackMax, 0, 100, "L*")
	v.Float("neutral_max", &r.NeutralMax, 0, 200, "C*ab")
	byMode(v, "white_black", &r.WhiteBlack)
	form.List(v, "effort", &r.Effort, len(levelNames), len(levelNames), func(v *form.Visitor, e *EffortByMode) {
		v.Enum("level", (*string)(&e.Level), levelNames...)
		v.Object("waste", e.Waste.fields)
		v.Object("recovery", e.Recovery.fields)
	})
}

const rowsMax = 100 // rows of each list of the table

func byMode(v *form.Visitor, name string, m *ByMode) { v.Object(name, m.fields) }

func (m *ByMode) fields(v *form.Visitor) {
	v.OptEnum("waste", (*string)(&m.Waste), levelNames...)
	v.OptEnum("recovery", (*string)(&m.Recovery), levelNames...)
}

func (c *ColourRule) ways(v *form.Visitor) {
	byMode(v, "darker", &c.Darker)
	byMode(v, "lighter", &c.Lighter)
}

func (e *Effort) fields(v *form.Visitor) {
	v.Float("minutes", &e.Minutes, 0, minutesMax, "min")
	v.Int("people", &e.People, 1, peopleMax, "")
}

const (
	minutesMax = 1440 // a day for one change
	peopleMax  = 50
)

// Check tells, as an error of the form package, what in the table contradicts
// itself: colour rows or efforts out of order, light at or below dark, white at
// or below black.
func (r *Rules) Check() error {
	for i := 1; i < len(r.Colour); i++ {
		if r.Colour[i].DeltaE <= r.Colour[i-1].DeltaE {
			return form.Fail(fmt.Sprintf("colour[%d].delta_e", i), r.Colour[i].DeltaE,
				fmt.Sprintf("above the %g of the row before", r.Colour[i-1].DeltaE))
		}
	}
	for i, l := range Levels() {
		if i >= len(r.Effort) || r.Effort[i].Level != l {
			return form.Fail(fmt.Sprintf("effort[%d].level", i), "", string(l))
		}
	}
	if r.LightMin <= r.DarkMax {
		return form.Fail("light_min", r.LightMin, fmt.Sprintf("above dark_max, %g", r.DarkMax))
	}
	if r.WhiteMin <= r.BlackMax {
		return form.Fail("white_min", r.WhiteMin, fmt.Sprintf("above black_max, %g", r.BlackMax))
	}
	return nil
}
