package measure

import (
	"fmt"
	"math/bits"
	"strings"
)

// TextCode says why a typed text is no quantity; words for a person are looked up by it.
type TextCode string

const (
	TextEmpty     TextCode = "text.empty"     // nothing typed
	TextNumber    TextCode = "text.number"    // no number, or more than a number and a unit
	TextUnit      TextCode = "text.unit"      // no such unit for this quantity
	TextAmbiguous TextCode = "text.ambiguous" // 1,250 may be one and a quarter or over a thousand
	TextNegative  TextCode = "text.negative"  // below zero, or below absolute zero
	TextLarge     TextCode = "text.large"     // at or above the bound of the quantity
	TextDigits    TextCode = "text.digits"    // more than 18 figures or 12 decimals
)

// TextError is the answer to a text that is no quantity.
type TextError struct {
	Code TextCode `json:"code"`
	Text string   `json:"text"` // as typed, at most 64 bytes
	Want string   `json:"want"` // an example, or the bound
}

// Error is one English line.
func (e *TextError) Error() string { return fmt.Sprintf("%q: %s, want %s", e.Text, e.Code, e.Want) }

// Bounds of what a person may type, exclusive. MassMax bounds masses.
const (
	FilmMax Film = 1_000_000 // 100 mm
	AreaMax Area = 1 << 53
	TempMax Temp = 20_000 // 2000 °C
	TempMin Temp = -2731  // absolute zero, -273.15 °C rounded up to a tenth; inclusive
)

// How numbers are read, everywhere in this file:
//
//   - Point and comma are both understood as the decimal sign, whatever the style.
//   - Spaces and apostrophes between groups of three digits are skipped.
//   - If both signs stand there, the later is the decimal sign and the other one
//     groups thousands. If one sign stands more than once, it groups thousands.
//   - If one sign stands once: the decimal sign of the style's language is always
//     decimal, so a scale's 12.345 kg is read as it stands. The other sign is
//     decimal too, unless it might group thousands (one to three digits, not
//     beginning with 0, before it, and exactly three behind it): then the text is
//     refused as ambiguous, never guessed.
//
// A number may have 18 figures, 12 of them decimals. Exponents are not read.

// unit is a unit that may be typed: one of it is num/den of the stored unit.
type unit struct {
	names    string // separated by spaces, lower case
	num, den uint64
}

var massUnits = []unit{
	{"kg kgs kilo kilos", 1_000_000, 1},
	{"g gr", 1000, 1},
	{"mg", 1, 1},
	{"t", 1_000_000_000, 1},
	{"lb lbs libra libras", lb100, 100},
	{"oz onza onzas", lb100, 1600},
}

// ParseMass reads what a person types for a mass: "12.5" (kilograms, or pounds in
// US units), "12,5 kg", "640 g", "2 lb 3.5 oz", "1 kg 250 g"; only the last part may
// have decimals. The value is exact and then rounded half up to the milligram.
// The error is a *TextError.
func (s Style) ParseMass(text string) (Mass, error) {
	n, err := s.parse(text, massUnits, map[bool]string{false: "kg", true: "lb"}[s.us()], uint64(MassMax), "a mass such as 12.5 kg, 640 g or 2 lb 3 oz, below 2^53 mg")
	return Mass(n), err
}

var filmUnits = []unit{
	{"µm um μm µ μ micron microns micra micras", 10, 1}, // micro sign and Greek mu
	{"mil mils", UM10PerMil, 1},
	{"mm", 10_000, 1},
}

// ParseFilm reads a film thickness: "65" (micrometres, or mils in US units),
// "65,5 µm", "2.5 mil". Rounded half up to a tenth of a micrometre.
// The error is a *TextError.
func (s Style) ParseFilm(text string) (Film, error) {
	n, err := s.parse(text, filmUnits, map[bool]string{false: "um", true: "mil"}[s.us()], uint64(FilmMax), "a film such as 65 µm or 2.5 mil, below 100 mm")
	return Film(n), err
}

var areaUnits = []unit{
	{"m² m2", 10_000, 1},
	{"cm² cm2", 1, 1},
	{"dm² dm2", 100, 1},
	{"ft² ft2 sqft", ft10000, 10_000},
	{"in² in2 sqin", 64_516, 10_000}, // 1 in² = 6.4516 cm² exactly
}

// ParseArea reads a surface: "3.6" (square metres, or square feet in US units),
// "360 dm²", "38.75 ft²". Rounded half up to a square centimetre.
// The error is a *TextError.
func (s Style) ParseArea(text string) (Area, error) {
	n, err := s.parse(text, areaUnits, map[bool]string{false: "m2", true: "ft2"}[s.us()], uint64(AreaMax), "an area such as 3.6 m² or 38.75 ft², below 2^53 cm²")
	return Area(n), err
}

var pressureUnits = []unit{
	{"kpa", 1, 1},
	{"bar", 100, 1},
	{"psi", paPerPSI1000, 1_000_000},
}

// ParsePressure reads a pressure in whole kilopascals: "150" (kilopascals, or pounds
// per square inch in US units), "1.5 bar", "22 psi". Rounded half up.
// The error is a *TextError.
func (s Style) ParsePressure(text string) (kPa int64, err error) {
	return s.parse(text, pressureUnits, map[bool]string{false: "kpa", true: "psi"}[s.us()], 1<<31, "a pressure such as 150 kPa, 1.5 bar or 22 psi")
}

var lengthUnits = []unit{
	{"mm", 1, 1},
	{"cm", 10, 1},
	{"m", 1000, 1},
	{"in inch inches", 254, 10},
}

// ParseLength reads a distance in whole millimetres: "200" (millimetres, or inches in
// US units), "20 cm", "8 in". Rounded half up. The error is a *TextError.
func (s Style) ParseLength(text string) (mm int64, err error) {
	return s.parse(text, lengthUnits, map[bool]string{false: "mm", true: "in"}[s.us()], 1<<31, "a distance such as 200 mm or 8 in")
}

const tempWant = "a temperature such as 23.5 °C or 400 °F, from -273.1 to below 2000 °C"

// ParseTemp reads a temperature: "23.5" (degrees Celsius, or Fahrenheit in US
// units), "400 °F", "-5 C". Rounded half away from zero to a tenth of a degree
// Celsius. The error is a *TextError.
func (s Style) ParseTemp(text string) (Temp, error) {
	fail := func(c TextCode) (Temp, error) { return 0, textError(c, text, tempWant) }
	num, name, rest, code := s.number(strings.TrimSpace(text))
	name = strings.TrimPrefix(name, "°")
	if code == "" && rest != "" {
		code = TextNumber
	}
	if code != "" {
		return fail(code)
	}
	fahrenheit := s.us()
	switch name {
	case "":
	case "c":
		fahrenheit = false
	case "f":
		fahrenheit = true
	default:
		return fail(TextUnit)
	}
	if num.n >= 1_000_000_000_000_000 { // keeps the products below 2^63
		if num.n/pow10[num.k] >= 10_000 {
			return fail(TextLarge)
		}
		return fail(TextDigits)
	}
	n, one := int64(num.n), int64(pow10[num.k])
	if num.neg {
		n = -n
	}
	t := divide(n, 10, one)
	if fahrenheit {
		// (F − 32)·5/9 in tenths; 320·10^12 stays far below 2^63.
		t = divide(n-32*one, 50, 9*one)
	}
	switch {
	case Temp(t) >= TempMax:
		return fail(TextLarge)
	case Temp(t) < TempMin:
		return fail(TextNegative)
	}
	return Temp(t), nil
}

func textError(c TextCode, text, want string) error {
	text = strings.ToValidUTF8(text[:min(len(text), 64)], "")
	return &TextError{Code: c, Text: text, Want: want}
}

// decimal is ±n/10^k, n < 10^18, k <= 12.
type decimal struct {
	n   uint64
	k   int
	neg bool
}

var pow10 = [...]uint64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12}

// parse reads "number unit" once or more in falling units, to the stored unit.
func (s Style) parse(text string, units []unit, plain string, bound uint64, want string) (int64, error) {
	fail := func(c TextCode) (int64, error) { return 0, textError(c, text, want) }
	rest := strings.TrimSpace(text)
	var sum decimal // in the unit of the last part
	var last *unit
	for first := true; first || rest != ""; first = false {
		num, name, after, code := s.number(rest)
		if code != "" {
			return fail(code)
		}
		if num.neg && num.n > 0 {
			return fail(TextNegative)
		}
		if name == "" && first && after == "" {
			name = plain
		}
		u := find(units, name)
		if u == nil {
			return fail(TextUnit)
		}
		if first {
			sum, last, rest = num, u, after
			continue
		}
		if sum.k > 0 { // decimals before the last part
			return fail(TextNumber)
		}
		ratio, ok := falling(last, u)
		if !ok {
			return fail(TextUnit)
		}
		over, ratio := bits.Mul64(ratio, pow10[num.k])
		hi, add := bits.Mul64(sum.n, ratio)
		if over > 0 || hi > 0 || add >= 1e18 {
			return fail(TextLarge)
		}
		sum, last, rest = decimal{n: num.n + add, k: num.k}, u, after
	}
	n, ok := scale(sum, last)
	if !ok || n >= bound {
		return fail(TextLarge)
	}
	return int64(n), nil
}

// falling tells how many of u make one of the bigger unit before it.
func falling(before, u *unit) (ratio uint64, ok bool) {
	a, b := before.num*u.den, u.num*before.den
	return a / b, a > b && a%b == 0
}

// scale is d·num/den rounded half up; false if it does not fit.
func scale(d decimal, u *unit) (uint64, bool) {
	den := u.den * pow10[d.k]
	hi, lo := bits.Mul64(d.n, u.num)
	if hi >= den {
		return 0, false
	}
	q, r := bits.Div64(hi, lo, den)
	if q>>62 > 0 {
		return 0, false
	}
	if r >= den-r {
		q++
	}
	return q, true
}

func find(units []unit, name string) *unit {
	for i := range units {
		for _, n := range strings.Fields(units[i].names) {
			if n == name {
				return &units[i]
			}
		}
	}
	return nil
}
