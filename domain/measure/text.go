package measure

import (
	"math"
	"strconv"
	"strings"
)

// Style is how a person reads and types quantities. The zero value is metric and
// English. Printing rounds half away from zero; it is for eyes, never for the books.
//
// Every figure is number, space, unit. Integers of five digits and more are grouped
// by thin no-break spaces (U+202F), never by a sign that elsewhere is a decimal one;
// the minus is U+2212.
type Style struct {
	Units string // "metric" or "us"
	Lang  string // "en" or "es": es writes the decimal comma
}

func (s Style) us() bool { return s.Units == "us" }

// decimalSign is the sign the language writes before decimals.
func (s Style) decimalSign() byte {
	if s.Lang == "es" {
		return ','
	}
	return '.'
}

// fixed prints n/10^decimals.
func (s Style) fixed(n int64, decimals int) string {
	sign := ""
	abs := uint64(n)
	if n < 0 {
		sign, abs = "−", -abs
	}
	d := strconv.FormatUint(abs, 10)
	if len(d) <= decimals {
		d = strings.Repeat("0", decimals+1-len(d)) + d
	}
	whole, rest := d[:len(d)-decimals], d[len(d)-decimals:]
	if len(whole) > 4 {
		whole = grouped(whole)
	}
	if decimals == 0 {
		return sign + whole
	}
	return sign + whole + string(s.decimalSign()) + rest
}

func grouped(d string) string {
	var b strings.Builder
	for i, c := range d {
		if i > 0 && (len(d)-i)%3 == 0 {
			b.WriteRune('\u202f')
		}
		b.WriteRune(c)
	}
	return b.String()
}

// divide is n·num/den rounded half away from zero, through 128 bits.
func divide(n, num, den int64) int64 {
	if n < 0 {
		return -divide(-n, num, den)
	}
	return int64(Mass(n).MulDiv(num, den))
}

// step is a way to print a quantity: scaled by num/den it counts units of
// 10^-decimals; it is used while that count, rounded, stays below the bound.
type step struct {
	num, den int64
	decimals int
	below    int64 // in that count; 0 for no bound
	unit     string
}

// sized prints n by the first step whose bound it keeps.
func (s Style) sized(n int64, steps []step) string {
	for _, st := range steps {
		count := divide(n, st.num, st.den)
		if st.below == 0 || count < st.below && -count < st.below {
			return s.fixed(count, st.decimals) + " " + st.unit
		}
	}
	panic("measure: a quantity without a last step")
}

// lb100 is 1 lb in hundredths of a mg, exactly; 1 lb is 16 oz.
const lb100 = 45_359_237

var massMetric = []step{
	{1, 1, 0, 1000, "mg"},
	{1, 1000, 0, 1000, "g"},
	{1, 1000, 3, 10_000, "kg"},
	{1, 10_000, 2, 10_000, "kg"},
	{1, 100_000, 1, 10_000, "kg"},
	{1, 1_000_000, 0, 0, "kg"},
}

var massUS = []step{
	{1600 * 1000, lb100, 3, 100, "oz"}, // below 0.1 oz
	{1600 * 10, lb100, 1, 160, "oz"},   // below 1 lb
	{100 * 100, lb100, 2, 10_000, "lb"},
	{100 * 10, lb100, 1, 10_000, "lb"},
	{100, lb100, 0, 0, "lb"},
}

// Mass prints four figures where there are as many, but nothing finer than a gram:
// "12.35 kg", "640 g"; only below a gram does it turn to "400 mg", so that
// something is never printed as nothing. In US units "6.4 oz" below a pound, then
// "27.23 lb". Nothing is "0 g" or "0 oz".
func (s Style) Mass(m Mass) string {
	switch {
	case m == 0 && s.us():
		return "0 oz"
	case m == 0:
		return "0 g"
	case s.us():
		if n := divide(int64(m), 1600*1000, lb100); n == 0 {
			return "<" + s.fixed(1, 3) + " oz"
		}
		return s.sized(int64(m), massUS)
	}
	return s.sized(int64(m), massMetric)
}

// Rate prints a mass per minute, what a gun puts out: "120 g/min", "4.2 oz/min".
func (s Style) Rate(perMinute Mass) string { return s.Mass(perMinute) + "/min" }

// Film prints whole micrometres without decimals and tenths with one: "65 µm",
// "65.5 µm"; in US units hundredths of a mil: "2.56 mil".
func (s Style) Film(f Film) string {
	if s.us() {
		return s.fixed(divide(int64(f), 100, UM10PerMil), 2) + " mil"
	}
	return s.tenths(int64(f)) + " µm"
}

// tenths prints n/10, without the decimal when it is zero.
func (s Style) tenths(n int64) string {
	if n%10 == 0 {
		return s.fixed(n/10, 0)
	}
	return s.fixed(n, 1)
}

// ft10000 is 1 ft² in 1/10 000 cm², exactly.
const ft10000 = 9_290_304

var areaMetric = []step{
	{1, 1, 4, 10_000, "m²"},
	{1, 10, 3, 10_000, "m²"},
	{1, 100, 2, 10_000, "m²"},
	{1, 1000, 1, 10_000, "m²"},
	{1, 10_000, 0, 0, "m²"},
}

var areaUS = []step{
	{10_000 * 1000, ft10000, 3, 1000, "ft²"},
	{10_000 * 100, ft10000, 2, 10_000, "ft²"},
	{10_000 * 10, ft10000, 1, 10_000, "ft²"},
	{10_000, ft10000, 0, 0, "ft²"},
}

// Area prints about four figures: "0.0450 m²", "3.600 m²", "38.75 ft²".
func (s Style) Area(a Area) string {
	if s.us() {
		return s.sized(int64(a), areaUS)
	}
	return s.sized(int64(a), areaMetric)
}

// Temp prints whole degrees without decimals and tenths with one: "200 °C",
// "23.5 °C", "74.3 °F".
func (s Style) Temp(t Temp) string {
	if s.us() {
		return s.tenths(divide(int64(t), 9, 5)+320) + " °F"
	}
	return s.tenths(int64(t)) + " °C"
}

// Pressure prints whole kilopascals, or whole pounds per square inch in US units:
// "150 kPa", "22 psi".
func (s Style) Pressure(kPa int64) string {
	if s.us() {
		return s.fixed(divide(kPa, 1_000_000, paPerPSI1000), 0) + " psi"
	}
	return s.fixed(kPa, 0) + " kPa"
}

// paPerPSI1000 is 1 psi in thousandths of a pascal: 0.45359237 kg × 9.80665 m/s² ÷
// (0.0254 m)², rounded (NIST SP 811, B.8: 6.894 757 E+03).
const paPerPSI1000 = 6_894_757

// Ohm prints a resistance: "0 Ω", "950 kΩ", "1.5 MΩ".
func (s Style) Ohm(n int64) string {
	switch {
	case n >= 1_000_000:
		return s.tenths(divide(n, 1, 100_000)) + " MΩ"
	case n >= 1000:
		return s.tenths(divide(n, 1, 100)) + " kΩ"
	}
	return s.fixed(n, 0) + " Ω"
}

// Length prints whole millimetres, or tenths of an inch in US units: "200 mm",
// "7.9 in".
func (s Style) Length(mm int64) string {
	if s.us() {
		return s.tenths(divide(mm, 100, 254)) + " in"
	}
	return s.fixed(mm, 0) + " mm"
}

// Share prints per cent, with one decimal where it is not zero: "38 %", "38.5 %".
func (s Style) Share(p Share) string { return s.tenths(int64(p)) + " %" }

// Number prints x with that many decimals (0 to 9), for figures that have no type
// of their own. NaN, infinities and what does not fit print as "–".
func (s Style) Number(x float64, decimals int) string {
	scaled := math.Round(x * math.Pow10(decimals))
	if !(math.Abs(scaled) < 1<<53) {
		return "–"
	}
	return s.fixed(int64(scaled), decimals)
}

// figures prints x to about four figures with its unit.
func (s Style) figures(x float64, unit string) string {
	decimals := 0
	for a := math.Abs(x); decimals < 3 && a < 999.5 && a > 0; a *= 10 {
		decimals++
	}
	return s.Number(x, decimals) + " " + unit
}

// M2PerKGToFT2PerLB is 0.45359237 kg/lb ÷ 0.09290304 m²/ft², exactly.
const M2PerKGToFT2PerLB = 0.45359237 / 0.09290304

// Coverage prints what a mass of powder covers: "8.310 m²/kg", "40.57 ft²/lb".
func (s Style) Coverage(m2PerKG float64) string {
	if s.us() {
		return s.figures(m2PerKG*M2PerKGToFT2PerLB, "ft²/lb")
	}
	return s.figures(m2PerKG, "m²/kg")
}

// FT3PerM3 is 1 m³ in ft³ (1 ft = 0.3048 m exactly).
const FT3PerM3 = 1 / (0.3048 * 0.3048 * 0.3048)

// Air prints a flow of air, given in m³/h: "9000 m³/h", "5297 ft³/min".
func (s Style) Air(m3h float64) string {
	if s.us() {
		return s.Number(m3h*FT3PerM3/60, 0) + " ft³/min"
	}
	return s.Number(m3h, 0) + " m³/h"
}

// Dust prints powder in air, given in g/m³: "9.80 g/m³", "0.0098 oz/ft³".
func (s Style) Dust(gM3 float64) string {
	if s.us() {
		return s.Number(gM3/28.349523125/FT3PerM3, 4) + " oz/ft³"
	}
	return s.Number(gM3, 2) + " g/m³"
}

// Ratio prints virgin : reclaim in whole percent that add up to 100, such as
// "70:30". A side that is there at all is never printed as 0: at the ends stands
// "99:1" or "1:99". Half a percent rounds towards more reclaim, the careful side.
// Nothing at all is "–". It panics if a mass is negative.
func (Style) Ratio(virgin, reclaim Mass) string {
	if virgin < 0 || reclaim < 0 {
		panic("measure: ratio of a negative mass")
	}
	if virgin == 0 && reclaim == 0 {
		return "–"
	}
	r := int64(reclaim.MulDiv(100, int64(virgin+reclaim)))
	switch {
	case r == 0 && reclaim > 0:
		r = 1
	case r == 100 && virgin > 0:
		r = 99
	}
	return strconv.FormatInt(100-r, 10) + ":" + strconv.FormatInt(r, 10)
}
