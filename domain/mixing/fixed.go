package mixing

import "math/bits"

// one is 1 in fixed point with 60 bits.
const one = 1 << 60

// mul is a·b in fixed point, rounded down; it must be below 16.
func mul(a, b uint64) uint64 {
	hi, lo := bits.Mul64(a, b)
	return hi<<4 | lo>>60
}

// mulDiv is a·b/c, rounded down; it must be below 2^64.
func mulDiv(a, b, c uint64) uint64 {
	hi, lo := bits.Mul64(a, b)
	q, _ := bits.Div64(hi, lo, c)
	return q
}

// ln2 is the natural logarithm of 2 in fixed point.
const ln2 = 799144290325165979

// odd holds 1, 1/3, 1/5, ... for the series of atanh: enough for 60 bits up to 1/3.
var odd = [...]uint64{one, one / 3, one / 5, one / 7, one / 9, one / 11, one / 13, one / 15, one / 17, one / 19,
	one / 21, one / 23, one / 25, one / 27, one / 29, one / 31, one / 33, one / 35, one / 37}

// inverse holds 1, 1, 1/2, 1/3, ... for the series of the exponential function: enough
// for 60 bits up to 1/2.
var inverse = [...]uint64{one, one, one / 2, one / 3, one / 4, one / 5, one / 6, one / 7, one / 8, one / 9, one / 10, one / 11,
	one / 12, one / 13, one / 14, one / 15}

// ln is the natural logarithm of a/b in 2^-58, for 1 <= b <= a < 2^62: the powers of two
// apart, twice the series of atanh((a-b)/(a+b)). Its error is below 2^-52.
func ln(a, b uint64) uint64 {
	e := bits.Len64(a) - bits.Len64(b)
	if b<<e > a {
		e--
	}
	b <<= e // now a/b is from 1 to 2
	z := mulDiv(a-b, one, a+b)
	zz, sum := mul(z, z), uint64(0)
	for i := len(odd) - 1; i >= 0; i-- {
		sum = mul(sum, zz) + odd[i]
	}
	return uint64(e)*(ln2/4) + mul(z, sum)/2
}

// expMinus is e^(-s) in fixed point, for s up to 8 in fixed point: the series of a
// halved s, squared as often.
func expMinus(s uint64) uint64 {
	halved := 0
	for ; s > one/2; s /= 2 {
		halved++
	}
	e := uint64(one)
	for i := len(inverse) - 1; i > 0; i-- {
		e = one - mul(mul(e, s), inverse[i])
	}
	for ; halved > 0; halved-- {
		e = mul(e, e)
	}
	return e
}
