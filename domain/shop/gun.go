package shop

import (
	"slices"
	"strconv"

	"hoppertally/domain/booth"
	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
)

// Ground is the last check of a booth's grounding.
type Ground struct {
	AtMS int64 // 0 never
	By   string
	OK   bool
	Ohm  int64 // 0 not measured
}

func (g *Ground) visit(v *form.Visitor) {
	v.Int("at_ms", &g.AtMS, -signed, signed, "ms")
	v.OptID("by", &g.By)
	v.Bool("ok", &g.OK)
	v.OptInt("ohm", &g.Ohm, 0, signed, "Ω")
}

// Good tells whether the last check found the ground in order.
func (g Ground) Good() bool { return g.OK && g.Ohm <= booth.GroundMaxOhm }

// OutputPoint is what a gun gave of a powder at a main air.
type OutputPoint struct {
	Powder                  string
	AtMS, MainKPA, MGPerMin int64
}

// DepositPoint is the transfer efficiency of a powder that was weighed at an output.
type DepositPoint struct {
	Powder               string
	AtMS, MGPerMin, TEPM int64
}

// pointsMax bounds the points of a booth, the latest: a dozen powders with five each.
const pointsMax = 60

func (a *applier) groundChecked(e *Entry, b *kind.GroundChecked) {
	at := a.booth(b.Booth)
	at.Ground = Ground{e.EffectiveMS, e.By, b.OK, b.Ohm}
	a.settle(func(i *Issue) bool { return i.Code == "ground_bad" && i.Booth == b.Booth })
	if !at.Ground.Good() {
		i := Issue{Booth: b.Booth}
		if b.Ohm > 0 {
			i.More = strconv.FormatInt(b.Ohm, 10)
		}
		a.issue(e, "ground_bad", i)
	}
}

func (a *applier) outputPoint(e *Entry, b *kind.OutputTested) {
	at := a.booth(b.Booth)
	at.Outputs = latest(at.Outputs, OutputPoint{b.Powder, e.EffectiveMS, b.MainKPA, b.MGPerMin},
		func(p OutputPoint) bool { return p.Powder == b.Powder && p.MainKPA == b.MainKPA })
}

// outputTested holds what comes out of the booth's guns against the dust limit:
// every gun at the tested output, nothing credited to the parts. A warning stands until
// a test that can be judged: one with an output, of a booth whose exhaust is known.
func (a *applier) outputTested(e *Entry, b *kind.OutputTested) {
	a.outputPoint(e, b)
	at := a.s.Booths[b.Booth]
	if at == nil || at.ExhaustM3H == 0 || b.MGPerMin == 0 {
		return
	}
	x := booth.Exhaust{AirM3H: at.ExhaustM3H}
	for range max(at.Guns, 1) {
		x.Guns = append(x.Guns, measure.Mass(b.MGPerMin))
	}
	if p := a.s.Powders[b.Powder]; p != nil {
		x.MECMGM3 = p.MECMGM3
	}
	d, err := booth.DustIn(x)
	if err != nil { // nothing to judge by: what stands, stands
		return
	}
	a.settle(func(i *Issue) bool { return i.Code == "dust_limit" && i.Booth == b.Booth })
	if d.Allowed {
		return
	}
	a.issue(e, "dust_limit", Issue{Booth: b.Booth, Powder: b.Powder, More: strconv.FormatInt(int64(d.Conc*1000+0.5), 10)})
}

func (a *applier) depositTested(e *Entry, b *kind.DepositTested) {
	at := a.booth(b.Booth)
	at.Deposits = latest(at.Deposits, DepositPoint{b.Powder, e.EffectiveMS, b.MGPerMin, b.TEPM},
		func(p DepositPoint) bool { return p.Powder == b.Powder && p.MGPerMin == b.MGPerMin })
}

// latest is a list with p at its end instead of what was the same, at most pointsMax.
func latest[T any](list []T, p T, same func(T) bool) []T {
	list = append(slices.DeleteFunc(list, same), p)
	return slices.Delete(list, 0, max(len(list)-pointsMax, 0))
}
