package mixing_test

import (
	"math/big"
	"math/rand"
	"testing"

	"pgregory.net/rapid"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

const exactBits = 300

func exact(x float64) *big.Float { return new(big.Float).SetPrec(exactBits).SetFloat64(x) }

func of(m measure.Mass) *big.Float { return new(big.Float).SetPrec(exactBits).SetInt64(int64(m)) }

func times(a, b *big.Float) *big.Float { return exact(0).Mul(a, b) }

func over(a, b *big.Float) *big.Float { return exact(0).Quo(a, b) }

func plus(a, b *big.Float) *big.Float { return exact(0).Add(a, b) }

// exactLn is the natural logarithm by halving with square roots and the series of atanh.
func exactLn(x *big.Float) *big.Float {
	doubled := 1.0
	for x.Cmp(exact(1.01)) > 0 {
		x, doubled = exact(0).Sqrt(x), 2*doubled
	}
	z := over(plus(x, exact(-1)), plus(x, exact(1)))
	sum, power := exact(0), z
	for i := 1; i < 80; i += 2 {
		sum, power = plus(sum, over(power, exact(float64(i)))), times(power, times(z, z))
	}
	return times(exact(2*doubled), sum)
}

// exactExpMinus is e^(-s) by halving and its series.
func exactExpMinus(s *big.Float) *big.Float {
	halved := 0
	for ; s.Cmp(exact(0.01)) > 0; halved++ {
		s = over(s, exact(2))
	}
	sum, term := exact(1), exact(1)
	for i := 1; i < 60; i++ {
		term = over(times(term, exact(0).Neg(s)), exact(float64(i)))
		sum = plus(sum, term)
	}
	for ; halved > 0; halved-- {
		sum = times(sum, sum)
	}
	return sum
}

// exactSpray is Spray for one lot in 300 bits, masses by passes, where net leaves all.
func exactSpray(feed ledger.Content, net measure.Mass, q mixing.Return) (after, left [100]*big.Float) {
	total := feed.Total()
	back, keep := over(exact(float64(q)), exact(1e6)), over(exact(1e6-float64(q)), exact(1e6))
	var before [100]*big.Float
	for k := range before {
		before[k], after[k] = exact(0), exact(0)
	}
	for _, p := range feed {
		before[p.Passes] = of(p.Mass)
	}
	if net < total {
		s := times(over(back, keep), exactLn(over(of(total), of(total-net))))
		left := over(of(total-net), of(total))
		for m, mass := range before {
			p, rest := exactExpMinus(s), exact(1)
			for k := m; k < 99; k++ {
				after[k] = plus(after[k], times(times(mass, left), p))
				rest = plus(rest, exact(0).Neg(p))
				p = over(times(p, s), exact(float64(k-m+1)))
			}
			after[99] = plus(after[99], times(times(mass, left), rest))
		}
	}
	g := exact(0)
	for k := range before {
		g = plus(plus(before[k], exact(0).Neg(after[k])), times(back, g))
		left[k] = times(keep, g)
	}
	left[99] = g
	return after, left
}

// apart is the greatest difference of c from the exact masses, in mg.
func apart(c ledger.Content, want [100]*big.Float) float64 {
	worst := 0.0
	for k, w := range want {
		var got measure.Mass
		for _, p := range c {
			if int(p.Passes) == k {
				got = p.Mass
			}
		}
		d, _ := exact(0).Abs(plus(of(got), exact(0).Neg(w))).Float64()
		worst = max(worst, d)
	}
	return worst
}

// Every mass is within 1 mg of exact arithmetic, for any cut of up to a tonne and q up to 0.95.
func TestWithinOneMilligramOfExactArithmetic(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		var feed ledger.Content
		for k := range rapid.IntRange(1, 7).Draw(t, "parts") {
			m := measure.Mass(rapid.Int64Range(1, 1<<rapid.IntRange(1, 29).Draw(t, "size")).Draw(t, "mass"))
			feed = feed.Put(ledger.Part{Lot: "a", Passes: uint8(k * rapid.IntRange(1, 16).Draw(t, "apart")), Mass: m})
		}
		net := measure.Mass(rapid.Int64Range(0, int64(feed.Total())).Draw(t, "net"))
		if rapid.Bool().Draw(t, "nearly empty") {
			net = feed.Total() - measure.Mass(rapid.Int64Range(0, min(1000, int64(feed.Total()))).Draw(t, "remain"))
		}
		q := mixing.Return(rapid.Int64Range(1, 950_000).Draw(t, "q"))
		wantAfter, wantLeft := exactSpray(feed, net, q)
		after, left := mixing.Spray(nil, feed.Clone(), net, q)
		a, l := apart(after, wantAfter), apart(left, wantLeft)
		if worst = max(worst, a, l); a > 1.002 || l > 1.002 {
			t.Fatalf("%v −%d at %d: %.4f mg in the feed and %.4f mg of what left are wrong", feed, net, q, a, l)
		}
	})
	t.Logf("at most %.4f mg from exact arithmetic", worst)
}

// Shares down to a twentieth of the start are exact to 0.05 points, also with several lots.
func TestSharesDownToATwentieth(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	worst := 0.0
	for range 60 {
		one := ledger.Content{{Lot: "a", Mass: 1 + measure.Mass(r.Intn(20_000_000))}, {Lot: "a", Passes: 1, Mass: 1 + measure.Mass(r.Intn(9_000_000))}}
		other := ledger.Content{{Lot: "b", Passes: 2, Mass: 1 + measure.Mass(r.Intn(20_000_000))}, {Lot: "b", Passes: 4, Mass: 1 + measure.Mass(r.Intn(9_000_000))}}
		both := append(one.Clone(), other...)
		net := measure.Mass(float64(both.Total()) * r.Float64() * 0.95)
		q := mixing.Return(1 + r.Intn(950_000))
		after, _ := mixing.Spray(nil, both.Clone(), net, q)
		for _, lot := range []ledger.Content{one, other} {
			// The lot alone, a million times as heavy, so that its cut is in the same proportion.
			heavy := lot.Clone()
			for i := range heavy {
				heavy[i].Mass *= 1_000_000
			}
			want, _ := exactSpray(heavy, measure.Mass(heavy.Total().MulDiv(int64(net), int64(both.Total()))), q)
			rest := after.Only(lot[0].Lot)
			for _, p := range rest {
				share, _ := over(want[p.Passes], of(heavy.Total()-heavy.Total().MulDiv(int64(net), int64(both.Total())))).Float64()
				worst = max(worst, 100*abs(float64(p.Mass)/float64(rest.Total())-share))
			}
		}
	}
	if worst > 0.05 {
		t.Errorf("%.4f points from the exact share", worst)
	}
	t.Logf("at most %.6f points from the exact share", worst)
}

func abs(x float64) float64 { return max(x, -x) }

// One cut is two cuts with the same masses, within what each rounds.
func TestOneCutIsTwoCuts(t *testing.T) {
	worst := measure.Mass(0)
	rapid.Check(t, func(t *rapid.T) {
		feed := randomFeed(rand.New(rand.NewSource(rapid.Int64().Draw(t, "feed"))))
		net := rapid.Int64Range(0, int64(feed.Total())).Draw(t, "net")
		first := measure.Mass(rapid.Int64Range(0, net).Draw(t, "first"))
		q := mixing.Return(rapid.Int64Range(0, 950_000).Draw(t, "q"))
		once, leftOnce := mixing.Spray(nil, feed.Clone(), measure.Mass(net), q)
		twice, leftFirst := mixing.Spray(nil, feed.Clone(), first, q)
		twice, leftTwice := mixing.Spray(nil, twice, measure.Mass(net)-first, q)
		leftTwice = leftTwice.PutAll(leftFirst)
		for _, pair := range [][2]ledger.Content{{once, twice}, {leftOnce, leftTwice}} {
			for _, p := range append(pair[0].Clone(), pair[1]...) {
				d := massOf(pair[0], p) - massOf(pair[1], p)
				if worst = max(worst, d, -d); max(d, -d) > 3 {
					t.Fatalf("%v −%d −%d at %d: %v at once and %v in two", feed, first, measure.Mass(net)-first, q, pair[0], pair[1])
				}
			}
		}
	})
	t.Logf("at most %d mg apart", worst)
}

func massOf(c ledger.Content, like ledger.Part) measure.Mass {
	for _, p := range c {
		if p.Lot == like.Lot && p.Passes == like.Passes {
			return p.Mass
		}
	}
	return 0
}
