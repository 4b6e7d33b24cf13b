package reclaim

import (
	"math"

	m "hoppertally/domain/measure"
)

// Booth is how a booth parts what leaves the gun.
type Booth struct {
	TE       float64 // T, first-pass transfer efficiency: mass on parts / mass out of the gun, above 0 to 1
	Recovery float64 // R, usable recovered mass / overspray, 0 to 1
}

// Q is the usable overspray per unit sprayed, (1−T)·R.
func (b Booth) Q() float64 { return (1 - b.TE) * b.Recovery }

func (b Booth) check() error {
	if !(b.TE > 0 && b.TE <= 1) {
		return m.Refuse("te", b.TE, "above 0 to 1")
	}
	if !(b.Recovery >= 0 && b.Recovery <= 1) {
		return m.Refuse("recovery", b.Recovery, "0 to 1")
	}
	return nil
}

// Steady is how a closed loop runs once it has settled. Shares are of the mass
// sprayed unless they say otherwise.
type Steady struct {
	Reclaim     float64 // reclaim in the feed
	Virgin      float64 // virgin in the feed
	MeanPasses  float64 // of what is sprayed, its present pass counted: 1 is all virgin
	Utilisation float64 // mass on parts / virgin put in
	Loss        float64 // of the virgin put in: what ends neither on parts nor in the feed
	Surplus     float64 // usable overspray that the cap keeps out of the feed; to scrap or to sell on
	CapBinds    bool
}

// SteadyState is the settled loop when all usable overspray goes back, but at most
// share cap (0 to 1; 1 for no cap) of the feed is reclaim.
//
// By mass balance over the feed: without a cap, reclaim is q, utilisation T/(1−q),
// and a fraction (1−q)·q^(k−1) of the feed is on its k-th pass, which has the mean
// 1/(1−q). A cap φ < q takes the place of q in the feed, U = T/(1−φ), and q−φ per
// unit sprayed is surplus. The error is a *measure.Fault.
func SteadyState(b Booth, cap float64) (Steady, error) {
	if err := b.check(); err != nil {
		return Steady{}, err
	}
	if !(cap >= 0 && cap <= 1) {
		return Steady{}, m.Refuse("share_cap", cap, "0 to 1")
	}
	q := b.Q()
	h := min(q, cap) // below 1, for T is above 0
	return Steady{
		Reclaim: h, Virgin: 1 - h, MeanPasses: 1 / (1 - h),
		Utilisation: b.TE / (1 - h), Loss: (1 - b.TE - h) / (1 - h),
		Surplus: q - h, CapBinds: cap < q,
	}, nil
}

// OnPass is the share of a settled feed that is on its k-th pass, k from 1, when
// the feed holds the share reclaim: (1−h)·h^(k−1).
func (s Steady) OnPass(k int) float64 {
	return s.Virgin * math.Pow(s.Reclaim, float64(k-1))
}

// AfterPasses is the part of one virgin charge that is on parts after it went
// round k times and was never topped up: T·(1−q^k)/(1−q).
func AfterPasses(b Booth, k int) float64 {
	q := b.Q()
	return b.TE * (1 - math.Pow(q, float64(k))) / (1 - q)
}

// ShareAfter is the reclaim share of a feed after it was sprayed over n times
// (mass sprayed / mass in the feed), from share start. The feed is well mixed and
// kept full: usable overspray goes back at once, virgin makes up the rest, so
//
//	h(n) = q + (start − q)·e^(−n).
//
// A cap below q holds h at the cap once it is reached. From above the cap nothing
// goes back until virgin has brought it down: h(n) = start·e^(−n) as far as the cap.
// The error is a *measure.Fault.
func ShareAfter(b Booth, cap, start, turnovers float64) (float64, error) {
	if _, err := SteadyState(b, cap); err != nil {
		return 0, err
	}
	if !(start >= 0 && start <= 1) {
		return 0, m.Refuse("start_share", start, "0 to 1")
	}
	if !(turnovers >= 0) {
		return 0, m.Refuse("turnovers", turnovers, "0 or more")
	}
	q := b.Q()
	if start > cap {
		down := math.Log(start / cap) // +Inf for a cap of nil
		if turnovers <= down {
			return start * math.Exp(-turnovers), nil
		}
		start, turnovers = cap, turnovers-down
	}
	return min(cap, q+(start-q)*math.Exp(-turnovers)), nil
}

// TurnoversTo is how often the feed is sprayed over until its share of reclaim is
// within tolerance of the settled one; 0 if it is there already.
// The error is a *measure.Fault.
func TurnoversTo(b Booth, cap, start, tolerance float64) (float64, error) {
	s, err := SteadyState(b, cap)
	if err != nil {
		return 0, err
	}
	if !(start >= 0 && start <= 1) {
		return 0, m.Refuse("start_share", start, "0 to 1")
	}
	if !(tolerance > 0 && tolerance <= 1) {
		return 0, m.Refuse("tolerance", tolerance, "above 0 to 1")
	}
	q, h := b.Q(), s.Reclaim
	switch {
	case math.Abs(start-h) <= tolerance:
		return 0, nil
	case start > cap && h+tolerance >= cap: // falls to h+tolerance with nothing going back
		return math.Log(start / (h + tolerance)), nil
	case start > cap:
		return math.Log(start/cap) + math.Log((cap-q)/tolerance), nil
	case s.CapBinds: // rises: q+(start−q)·e^−n = cap−tolerance
		return math.Log((q - start) / (q - cap + tolerance)), nil
	}
	return math.Log(math.Abs(start-q) / tolerance), nil
}
