package booth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"hoppertally/domain/measure"
)

// ChangeWork is what one colour change uses up.
type ChangeWork struct {
	People      int64        // 0 to 50
	Minutes     float64      // 0 to 1440
	Labour      int64        // per person and hour, hundredths of the currency, 0 to RateMax
	Idle        int64        // the booth standing still, per hour, hundredths, 0 to RateMax
	Lost        measure.Mass // powder purged and lost, 0 to 1000 kg
	Price       int64        // of 1 kg of it, hundredths, 0 to RateMax
	Consumables int64        // hundredths, 0 to RateMax
}

// RateMax bounds every price and rate: 1 million of the currency.
const RateMax = 100_000_000

// ChangeCost is the cost of a change in hundredths of the currency, each part
// rounded half up by itself so that the parts add up to Total.
type ChangeCost struct {
	Labour, Idle, Powder, Consumables, Total int64
}

// Cost adds up people × minutes × rate, idle booth, powder lost and consumables.
// The errors are *measure.Fault on people, minutes, labour, idle, lost_mg, price
// or consumables.
func (w ChangeWork) Cost() (ChangeCost, error) {
	if !(w.Minutes >= 0 && w.Minutes <= minutesMax) {
		return ChangeCost{}, measure.Refuse("minutes", w.Minutes, fmt.Sprintf("0 to %d minutes", minutesMax))
	}
	for _, f := range []struct {
		what   string
		x, max int64
	}{
		{"people", w.People, peopleMax}, {"labour", w.Labour, RateMax}, {"idle", w.Idle, RateMax},
		{"lost_mg", int64(w.Lost), 1000 * int64(measure.Kilogram)}, {"price", w.Price, RateMax}, {"consumables", w.Consumables, RateMax},
	} {
		if f.x < 0 || f.x > f.max {
			return ChangeCost{}, measure.Refuse(f.what, f.x, fmt.Sprintf("0 to %d", f.max))
		}
	}
	c := ChangeCost{
		Labour:      int64(math.Floor(float64(w.People*w.Labour)*w.Minutes/60 + 0.5)),
		Idle:        int64(math.Floor(float64(w.Idle)*w.Minutes/60 + 0.5)),
		Powder:      int64(w.Lost.MulDiv(w.Price, int64(measure.Kilogram))),
		Consumables: w.Consumables,
	}
	c.Total = c.Labour + c.Idle + c.Powder + c.Consumables
	return c, nil
}

// Logged is a colour change that was done.
type Logged struct {
	From, To string // powders
	Minutes  float64
}

// Learned are the minutes that changes took in this shop.
type Learned struct{ pairs []pair }

type pair struct {
	from, to string
	n        int64
	sum      float64
}

// RuleWeight is how many changes the value of the rule counts for. Our rule:
// after three changes of a pair the shop's own mean and the rule weigh the same.
const RuleWeight = 3

// Learn collects the minutes of logged changes by pair of powders; black to white
// is another pair than white to black. Changes that are not between 0 and 1440
// minutes long, such as one left open over night, do not count.
func Learn(log []Logged) Learned {
	log = slices.Clone(log)
	sort.Slice(log, func(i, j int) bool { // sums must not depend on the order given
		a, b := &log[i], &log[j]
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.Minutes, b.Minutes)) < 0
	})
	var l Learned
	for _, e := range log {
		if !(e.Minutes > 0 && e.Minutes <= minutesMax) {
			continue
		}
		if n := len(l.pairs); n == 0 || l.pairs[n-1].from != e.From || l.pairs[n-1].to != e.To {
			l.pairs = append(l.pairs, pair{from: e.From, to: e.To})
		}
		p := &l.pairs[len(l.pairs)-1]
		p.n, p.sum = p.n+1, p.sum+e.Minutes
	}
	return l
}

// Expectation is how long a change will take.
type Expectation struct {
	Minutes float64 // expected, to 0.1 min
	Changes int64   // logged changes of this pair behind it; 0 when it is the rule's value alone
	Mean    float64 // of them, to 0.1 min; 0 without any
}

// Expect is the mean of the pair's logged changes shrunk towards the rule's
// minutes: (RuleWeight·rule + sum) / (RuleWeight + n).
//
// Source: the posterior mean of a normal mean, a rule's value standing for
// RuleWeight observations (Gelman and others, Bayesian Data Analysis, from memory).
func (l Learned) Expect(from, to string, rule float64) Expectation {
	i, found := slices.BinarySearchFunc(l.pairs, pair{from: from, to: to}, func(a, b pair) int {
		return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	if !found {
		return Expectation{Minutes: tenths(rule)}
	}
	p := l.pairs[i]
	return Expectation{
		Minutes: tenths((RuleWeight*rule + p.sum) / float64(RuleWeight+p.n)),
		Changes: p.n,
		Mean:    tenths(p.sum / float64(p.n)),
	}
}

func tenths(x float64) float64 { return math.Round(x*10) / 10 }
