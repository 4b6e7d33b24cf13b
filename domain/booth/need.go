package booth

import (
	"math"
	"sort"
)

// Code names why a level is needed; the words for a person are looked up by it.
type Code string

// The rows are in the order in which reasons of the same level are listed.
const (
	ReasonSamePowder       Code = "same.powder"
	ReasonUnknownPowder    Code = "powder.unknown"
	ReasonAcrylic          Code = "chemistry.acrylic"
	ReasonChemistry        Code = "chemistry.differs"
	ReasonUnknownChemistry Code = "chemistry.unknown"
	ReasonWhiteBlack       Code = "colour.white_black"
	ReasonDarkToLight      Code = "colour.dark_to_light"
	ReasonColour           Code = "colour.differs"
	ReasonUnknownColour    Code = "colour.unknown"
	ReasonMetallic         Code = "finish.metallic"
	ReasonGlossMatt        Code = "finish.gloss_matt"
	ReasonFinish           Code = "finish.differs"
	ReasonUnknownFinish    Code = "finish.unknown"
)

// Reason is one rule that asked for a level.
type Reason struct {
	Code   Code    `json:"code"`
	Level  Level   `json:"level"`
	From   string  `json:"from,omitempty"`    // chemistry or finish before, where that is the reason
	To     string  `json:"to,omitempty"`      // and after
	DeltaE float64 `json:"delta_e,omitempty"` // CIEDE2000, to 0.01, where colour is the reason
	DeltaL float64 `json:"delta_l,omitempty"` // rise in L*, to 0.01; positive when the new colour is lighter
}

// Need is the cleaning a change of powder asks for.
type Need struct {
	Level   Level    `json:"level"`
	Reasons []Reason `json:"reasons"` // highest level first; the first one decides
	Minutes float64  `json:"minutes"` // expected by the rules; see Learned for the shop's own
	People  int64    `json:"people"`
	Assumed bool     `json:"assumed,omitempty"` // something was unknown and taken on the safe side
}

// Needed applies the rules to a change from one powder to another in a booth
// that runs with or without recovery. from is nil when it is not known what was
// sprayed before, to is nil when it is not known what comes; both are treated
// on the safe side. For a booth known to be clean do not ask: see
// [Need.After].
//
// Differences in colour and chroma are rounded to 0.01 before they are compared,
// so that every machine decides alike.
func Needed(rules Rules, from, to *Powder, recovery bool) Need {
	var n Need
	switch {
	case from == nil || to == nil:
		n.add(Reason{Code: ReasonUnknownPowder, Level: rules.Unknown.of(recovery)})
		n.Assumed = true
	case from.ID == to.ID && from.ID != "":
		n.add(Reason{Code: ReasonSamePowder, Level: rules.SamePowder.of(recovery)})
	default:
		n.chemistry(rules, from.Chemistry, to.Chemistry, recovery)
		n.colour(rules, from, to, recovery)
		n.finish(rules, from.Finish, to.Finish, recovery)
	}
	sort.SliceStable(n.Reasons, func(i, j int) bool { return n.Reasons[i].Level.Rank() > n.Reasons[j].Level.Rank() })
	e := rules.effort(n.Level, recovery)
	n.Minutes, n.People = e.Minutes, e.People
	return n
}

// After is the level still missing when the booth was already cleaned to done
// since the last powder: None when that was enough.
func (n Need) After(done Level) Level {
	if done.Below(n.Level) {
		return n.Level
	}
	return None
}

// add keeps a reason that asks for something.
func (n *Need) add(r Reason) {
	if r.Level == None {
		return
	}
	n.Reasons = append(n.Reasons, r)
	n.Level = n.Level.atLeast(r.Level)
}

func (n *Need) chemistry(rules Rules, from, to string, recovery bool) {
	r := Reason{Code: ReasonChemistry, From: from, To: to}
	fits := func(row, x string) bool { return row == Any || row == x }
	switch {
	case from == "" || to == "":
		r.Code, r.Level = ReasonUnknownChemistry, rules.UnknownChemistry.of(recovery)
		n.Assumed = true
	case from == to:
		return
	default:
		for _, c := range rules.Chemistry {
			if fits(c.A, from) && fits(c.B, to) || fits(c.A, to) && fits(c.B, from) {
				r.Level = c.of(recovery)
				break
			}
		}
		if from == Acrylic || to == Acrylic {
			r.Code = ReasonAcrylic
		}
	}
	n.add(r)
}

func (n *Need) finish(rules Rules, from, to string, recovery bool) {
	r := Reason{Code: ReasonFinish, From: from, To: to}
	if from == "" || to == "" {
		r.Code, r.Level = ReasonUnknownFinish, rules.UnknownFinish.of(recovery)
		n.Assumed = true
		n.add(r)
		return
	}
	for _, f := range rules.Finish {
		if (f.From == Any || f.From == from) && (f.To == Any || f.To == to) {
			r.Level = f.of(recovery)
			break
		}
	}
	switch {
	case from == Metallic || to == Metallic:
		r.Code = ReasonMetallic
	case from == Gloss && to == Matt || from == Matt && to == Gloss:
		r.Code = ReasonGlossMatt
	}
	n.add(r)
}

func (n *Need) colour(rules Rules, from, to *Powder, recovery bool) {
	x, knownX := from.lab()
	y, knownY := to.lab()
	if !knownX || !knownY {
		n.add(Reason{Code: ReasonUnknownColour, Level: rules.UnknownColour.of(recovery)})
		n.Assumed = true
		return
	}
	r := Reason{DeltaE: hundredths(DeltaE(x, y)), DeltaL: hundredths(y[0] - x[0])}
	row := rules.Far
	for i := len(rules.Colour) - 1; i >= 0; i-- {
		if r.DeltaE <= rules.Colour[i].DeltaE {
			row = rules.Colour[i]
		}
	}
	way := row.Darker
	if r.DeltaL >= rules.Lighter {
		way = row.Lighter
	}
	r.Code, r.Level = ReasonColour, way.of(recovery)
	if x[0] <= rules.DarkMax && y[0] >= rules.LightMin {
		r.raise(ReasonDarkToLight, rules.DarkToLight.of(recovery))
	}
	if rules.whiteBlack(x, y) || rules.whiteBlack(y, x) {
		r.raise(ReasonWhiteBlack, rules.WhiteBlack.of(recovery))
	}
	n.add(r)
}

// raise takes the more telling code whose level is at least as high.
func (r *Reason) raise(c Code, l Level) {
	if !l.Below(r.Level) {
		r.Code, r.Level = c, l
	}
}

func (r Rules) whiteBlack(white, black [3]float64) bool {
	neutral := func(lab [3]float64) bool { return hundredths(math.Hypot(lab[1], lab[2])) <= r.NeutralMax }
	return white[0] >= r.WhiteMin && neutral(white) && black[0] <= r.BlackMax && neutral(black)
}

func hundredths(x float64) float64 { return math.Round(x*100) / 100 }
