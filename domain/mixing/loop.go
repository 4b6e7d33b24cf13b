package mixing

import (
	"math/bits"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// passes is how many numbers of passes there are, that of virgin powder with them.
const passes = ledger.PassesMax + 1

// byPass holds a number for each number of passes.
type byPass [passes]uint64

// loop is one cut of a closed loop, as far as it is the same for all lots.
type loop struct {
	back   Return
	share  uint64 // back in fixed point
	bits   int    // of a fraction of a milligram that are reckoned with
	gained byPass // share of the powder that gains so many passes, in fixed point
	most   int    // nothing gains more; -1 where nothing remains

	shares, sprayed, exact, rounded, cut byPass // room for the reckoning of one lot
}

// set makes l the cut that takes net out of total.
func (l *loop) set(total, net measure.Mass, back Return) {
	l.back = back
	l.share = mulDiv(uint64(back), one, million)
	// What is sprayed on one pass is below total·1e6/(1e6-back), which must fit an int64.
	l.bits = max(0, min(20, 63-bits.Len64(uint64(total))-bits.Len64(uint64(million/(million-back)))))
	l.most = -1
	if net < total {
		l.gain(total, total-net)
	}
}

// gain sets the Poisson shares with the mean s = q/(1-q)·ln(total/after). An s above 8
// is halved, and the shares then folded with themselves as often. From 256 on all
// powder is at the highest pass, in 60 bits.
func (l *loop) gain(total, after measure.Mass) {
	keep := uint64(million - l.back)
	hi, lo := bits.Mul64(ln(uint64(total), uint64(after)), uint64(l.back))
	halved := 0
	for ; hi*8 >= keep; halved++ { // s is at least 8 in 2^-58
		hi, lo = hi/2, lo/2|hi<<63
	}
	s, _ := bits.Div64(hi, lo, keep)
	l.poisson(s * 4)
	for range min(halved, 6) {
		l.double()
	}
}

// tail is a share of which nobody sees anything in a milligram: 2^-40.
const tail = one >> 40

// poisson sets the shares for a mean of up to 8 in fixed point.
func (l *loop) poisson(s uint64) {
	p := expMinus(s)
	l.gained[0], l.most = p, 0
	for j := uint64(1); p > tail || j*one < s; j++ {
		p = mul(p, s) / j
		l.gained[j], l.most = p, int(j)
	}
}

// double sets the shares of twice the mean.
func (l *loop) double() {
	once, most := l.gained, l.most
	l.most = min(2*most, ledger.PassesMax)
	clear(l.gained[:l.most+1])
	for i, p := range once[:most+1] {
		for j, r := range once[:most+1] {
			l.gained[min(i+j, ledger.PassesMax)] += mul(p, r)
		}
	}
}

// spray takes net out of one lot of the feed, and appends what is left of it to after
// and what left for good to left.
func (l *loop) spray(after, left, feed ledger.Content, net measure.Mass) (ledger.Content, ledger.Content) {
	name, total := feed[0].Lot, feed.Total()
	clear(l.exact[:])
	n := l.mix(feed, total)
	after = l.apportion(after, name, total-net, l.shares[:n])
	n = l.balance(feed)
	return after, l.apportion(left, name, net, l.sprayed[:n])
}

// mix sets the shares of the passes after the cut, up to a common factor, and returns
// how many there are.
func (l *loop) mix(feed ledger.Content, total measure.Mass) (n int) {
	if l.most < 0 {
		return 0
	}
	n = min(int(feed[len(feed)-1].Passes)+l.most+1, passes)
	clear(l.shares[:n])
	up := 60 - bits.Len64(uint64(total))
	for _, p := range feed {
		weight := uint64(p.Mass) << up
		for j := range l.most + 1 {
			l.shares[min(int(p.Passes)+j, ledger.PassesMax)] += mul(weight, l.gained[j])
		}
	}
	return n
}

// balance sets what was sprayed on each pass, in fractions of a milligram, from what
// apportion has just left in exact, and returns how many passes there are.
func (l *loop) balance(feed ledger.Content) int {
	nothing := uint64(1) << l.bits >> 10
	var g int64
	for k, i := 0, 0; k < passes; k++ {
		g = int64(mul(uint64(max(g, 0)), l.share)) - int64(l.exact[k])
		if i < len(feed) && int(feed[i].Passes) == k {
			g += int64(feed[i].Mass) << l.bits
			i++
		}
		l.sprayed[k] = uint64(max(g, 0))
		if i == len(feed) && l.sprayed[k] <= nothing && k >= l.most+int(feed[i-1].Passes) {
			return k + 1
		}
	}
	top := &l.sprayed[ledger.PassesMax]
	*top = mulDiv(*top, million, uint64(million-l.back))
	return passes
}

// apportion appends mass of a lot in proportion to the weights of the passes. It leaves
// the masses before rounding in exact, in fractions of a milligram.
func (l *loop) apportion(to ledger.Content, lot string, mass measure.Mass, weights []uint64) ledger.Content {
	if mass == 0 {
		return to
	}
	var sum uint64
	for _, w := range weights {
		sum += w
	}
	up, down := max(0, 61-bits.Len64(sum)), max(0, bits.Len64(sum)-61) // to between 2^60 and 2^61
	factor := mulDiv(uint64(mass)<<l.bits, one, sum<<up>>down)
	for k, w := range weights {
		l.exact[k] = mul(w<<up>>down, factor)
	}
	l.round(mass, len(weights))
	for k := range weights {
		if m := measure.Mass(l.rounded[k]); m > 0 {
			to = append(to, ledger.Part{Lot: lot, Passes: uint8(k), Mass: m})
		}
	}
	return to
}

// round sets the whole milligrams of the first n of exact, which add up to mass: each is
// rounded down, and what is left over goes to the largest remainders, ties to the lower
// passes.
func (l *loop) round(mass measure.Mass, n int) {
	rest := mass
	for k, e := range l.exact[:n] {
		l.rounded[k], l.cut[k] = e>>l.bits, e&(1<<l.bits-1)
		rest -= measure.Mass(l.rounded[k])
	}
	for ; rest > 0; rest-- {
		best := 0
		for k, c := range l.cut[:n] {
			if c > l.cut[best] {
				best = k
			}
		}
		l.rounded[best]++
		l.cut[best] = 0
	}
}
