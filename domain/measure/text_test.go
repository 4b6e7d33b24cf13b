package measure_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	m "hoppertally/domain/measure"

	"pgregory.net/rapid"
)

var (
	metric   = m.Style{Units: "metric", Lang: "en"}
	metricES = m.Style{Units: "metric", Lang: "es"}
	us       = m.Style{Units: "us", Lang: "en"}
	usES     = m.Style{Units: "us", Lang: "es"}
)

func TestPrint(t *testing.T) {
	tests := []struct {
		name, got, want, source string
	}{
		{"tens of kilograms to ten grams", metric.Mass(12_345_678), "12.35 kg", "by hand"},
		{"Spanish writes a comma", metricES.Mass(12_345_678), "12,35 kg", "by hand"},
		{"a kilogram and more to the gram", metric.Mass(1_250_400), "1.250 kg", "by hand"},
		{"grams below a kilogram", metric.Mass(640_000), "640 g", "by hand"},
		{"half a gram rounds up", metric.Mass(640_500), "641 g", "by hand"},
		{"rounding up to a kilogram changes the unit", metric.Mass(999_500), "1.000 kg", "by hand"},
		{"just below that it does not", metric.Mass(999_499), "999 g", "by hand"},
		{"a fraction of a gram is not nothing", metric.Mass(400), "400 mg", "our rule"},
		{"nothing is nothing", metric.Mass(0), "0 g", "our rule"},
		{"hundreds of kilograms", metric.Mass(123_456_789), "123.5 kg", "by hand"},
		{"tonnes stay kilograms", metric.Mass(1_234_567_890), "1235 kg", "by hand"},
		{"five figures are grouped by a thin blank", metric.Mass(12_345_600_000), "12\u202f346 kg", "by hand"},
		{"a difference keeps its sign", metric.Mass(-12_345_678), "−12.35 kg", "by hand"},
		{"a box in pounds", us.Mass(24_947_580), "55.00 lb", "55 × 453 592.37 mg = 24 947 580.35"},
		{"a pound is a pound", us.Mass(453_592), "1.00 lb", "1 lb = 453.59237 g"},
		{"below a pound in ounces", us.Mass(181_437), "6.4 oz", "6.4 × 28 349.523 mg"},
		{"a pinch in US units", us.Mass(400), "0.014 oz", "400 ÷ 28 349.523 = 0.0141"},
		{"less than can be printed", us.Mass(1), "<0.001 oz", "our rule"},
		{"nothing in US units", us.Mass(0), "0 oz", "our rule"},
		{"Spanish with pounds", usES.Mass(24_947_580), "55,00 lb", "as above"},
		{"output of a gun", metric.Rate(120_000), "120 g/min", "by hand"},
		{"whole micrometres", metric.Film(650), "65 µm", "by hand"},
		{"tenths of a micrometre", metricES.Film(655), "65,5 µm", "by hand"},
		{"mils", us.Film(650), "2.56 mil", "65 ÷ 25.4 = 2.559"},
		{"area above a metre squared", metric.Area(36_000), "3.600 m²", "by hand"},
		{"small area", metric.Area(450), "0.0450 m²", "by hand"},
		{"large area", metric.Area(12_345_678), "1235 m²", "by hand"},
		{"square feet", us.Area(36_000), "38.75 ft²", "3.6 ÷ 0.09290304 = 38.750"},
		{"oven", metric.Temp(2000), "200 °C", "by hand"},
		{"room", metric.Temp(235), "23.5 °C", "by hand"},
		{"room in Fahrenheit", us.Temp(235), "74.3 °F", "23.5 × 1.8 + 32"},
		{"below freezing", us.Temp(-400), "−40 °F", "-40 is the same in both"},
		{"whole per cent", metric.Share(380), "38 %", "by hand"},
		{"per mille shows", metricES.Share(385), "38,5 %", "by hand"},
		{"coverage", metric.Coverage(8.31), "8.310 m²/kg", "by hand"},
		{"coverage in US units", us.Coverage(8.31), "40.57 ft²/lb", "8.31 × 4.882428"},
		{"exhaust", metric.Air(9000), "9000 m³/h", "by hand"},
		{"exhaust in US units", us.Air(9000), "5297 ft³/min", "9000 × 35.31467 ÷ 60 = 5297.2"},
		{"dust", metric.Dust(9.8), "9.80 g/m³", "by hand"},
		{"dust in US units", us.Dust(9.8), "0.0098 oz/ft³", "9.8 ÷ 28.3495 ÷ 35.31467 = 0.00979"},
		{"a number", metricES.Number(-1.005, 1), "−1,0", "by hand"},
		{"not a number", metric.Number(math.NaN(), 1), "–", "our rule"},
		{"infinite", metric.Number(math.Inf(1), 1), "–", "our rule"},
		{"the zero style is metric and English", m.Style{}.Mass(12_345_678), "12.35 kg", "contract"},
		{"most mass", metric.Mass(m.MassMax - 1), "9\u202f007\u202f199\u202f255 kg", "2^53 mg"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.got != tt.want {
				t.Errorf("printed %q; want %q (%s)", tt.got, tt.want, tt.source)
			}
		})
	}
}

func TestRatio(t *testing.T) {
	tests := []struct {
		name            string
		virgin, reclaim m.Mass
		want            string
	}{
		{"seven to three", 7_000_000, 3_000_000, "70:30"},
		{"only virgin", 5, 0, "100:0"},
		{"only reclaim", 0, 5, "0:100"},
		{"a trace of reclaim shows", 9_999_999, 1, "99:1"},
		{"a trace of virgin shows", 1, 9_999_999, "1:99"},
		{"half a percent counts as reclaim", 695, 305, "69:31"},
		{"nothing has no ratio", 0, 0, "–"},
		{"most there is", m.MassMax - 1, m.MassMax - 1, "50:50"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := metric.Ratio(tt.virgin, tt.reclaim); got != tt.want {
				t.Errorf("Ratio(%d, %d) = %s; want %s", tt.virgin, tt.reclaim, got, tt.want)
			}
		})
	}
	rapid.Check(t, func(t *rapid.T) {
		mass := rapid.Int64Range(0, int64(m.MassMax)-1)
		v, r := m.Mass(mass.Draw(t, "virgin")), m.Mass(mass.Draw(t, "reclaim"))
		var a, b int
		if v+r == 0 {
			return
		}
		if _, err := fmt.Sscanf(metric.Ratio(v, r), "%d:%d", &a, &b); err != nil || a+b != 100 || (a == 0) != (v == 0) || (b == 0) != (r == 0) {
			t.Fatalf("Ratio(%d, %d) = %s", v, r, metric.Ratio(v, r))
		}
	})
}

func TestParseMass(t *testing.T) {
	tests := []struct {
		name  string
		style m.Style
		text  string
		want  m.Mass
		code  m.TextCode
	}{
		{"comma and unit", metric, "12,5 kg", 12_500_000, ""},
		{"plain number is kilograms in metric", metric, "12.5", 12_500_000, ""},
		{"plain number is pounds in US units", us, "1", 453_592, ""},
		{"grams", metric, "640 g", 640_000, ""},
		{"no blank before the unit", metric, "640g", 640_000, ""},
		{"capitals", metric, "12.5 KG", 12_500_000, ""},
		{"pounds and ounces", metric, "2 lb 3 oz", 992_233, ""}, // 35 oz × 28 349.523125 = 992 233.309
		{"pounds and ounces run together", us, "2lb3oz", 992_233, ""},
		{"ounces with decimals", us, "2 lb 3.5 oz", 1_006_408, ""}, // 35.5 × 28 349.523125 = 1 006 408.07
		{"kilograms and grams", metric, "1 kg 250 g", 1_250_000, ""},
		{"a scale's reading in English", metric, "12.345 kg", 12_345_000, ""},
		{"a scale's reading in Spanish", metricES, "12,345 kg", 12_345_000, ""},
		{"the other sign before three figures is not guessed", metric, "1,250 g", 0, m.TextAmbiguous},
		{"nor in Spanish", metricES, "1.250 g", 0, m.TextAmbiguous},
		{"a leading zero cannot be thousands", metric, "0,250 kg", 250_000, ""},
		{"four figures before the sign cannot be grouped", metric, "1234,567 g", 1_234_567, ""},
		{"both signs: the later is decimal", metric, "1.234,5 g", 1_234_500, ""},
		{"both signs, English way", metric, "1,234.5 g", 1_234_500, ""},
		{"a sign twice groups", metric, "1,234,567 g", 1_234_567_000, ""},
		{"blanks group", metric, "1 250 g", 1_250_000, ""},
		{"thin blanks group, as printed", metric, "12\u202f346 kg", 12_346_000_000, ""},
		{"apostrophe groups", metric, "1'250 g", 1_250_000, ""},
		{"groups must have three figures", metric, "1 25 g", 0, m.TextNumber},
		{"half a milligram rounds up", metric, "0.0000005 kg", 1, ""},
		{"less than half rounds down", metric, "0.0000004 kg", 0, ""},
		{"no floating-point surprise", metric, "8.1 kg", 8_100_000, ""},
		{"nothing before the decimal sign", metric, ".5 kg", 500_000, ""},
		{"nothing behind it", metric, "5. kg", 5_000_000, ""},
		{"plus is allowed", metric, "+5 kg", 5_000_000, ""},
		{"negative nothing is nothing", metric, "-0 kg", 0, ""},
		{"Spanish unit words", metricES, "3 libras", 1_360_777, ""}, // 3 × 453 592.37 = 1 360 777.11
		{"nothing typed", metric, "  ", 0, m.TextEmpty},
		{"a word", metric, "NaN", 0, m.TextNumber},
		{"infinity", metric, "Inf", 0, m.TextNumber},
		{"a sign alone", metric, ".", 0, m.TextNumber},
		{"two decimal signs", metric, "1.2.3 kg", 0, m.TextNumber},
		{"exponents are not read", metric, "1e3 kg", 0, m.TextUnit},
		{"unit of another quantity", metric, "5 µm", 0, m.TextUnit},
		{"units must fall", metric, "3 g 2 kg", 0, m.TextUnit},
		{"units of two systems", metric, "3 kg 2 oz", 0, m.TextUnit},
		{"decimals only in the last part", metric, "1.5 kg 3 g", 0, m.TextNumber},
		{"a second number without unit", metric, "2 lb 3", 0, m.TextUnit},
		{"negative", metric, "-1 kg", 0, m.TextNegative},
		{"negative with the printed minus", metric, "−1 kg", 0, m.TextNegative},
		{"largest that may be typed", metric, "9007199254.740991 kg", m.MassMax - 1, ""},
		{"one more", metric, "9007199254.740992 kg", 0, m.TextLarge},
		{"rounding up to the bound", metric, "9007199254740991.5 mg", 0, m.TextLarge},
		{"far too many figures", metric, strings.Repeat("9", 40), 0, m.TextLarge},
		{"more figures than any scale", metric, "1.1234567890123", 0, m.TextDigits},
		{"zeros behind do not count", metric, "1.50000000000000000000", 1_500_000, ""},
		{"tonnes with milligrams overflow", metric, "999999999 t 1.000000000001 mg", 0, m.TextLarge},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.style.ParseMass(tt.text)
			check(t, tt.text, int64(got), err, int64(tt.want), tt.code)
		})
	}
}

func check(t *testing.T, text string, got int64, err error, want int64, code m.TextCode) {
	t.Helper()
	var te *m.TextError
	switch {
	case code == "" && (err != nil || got != want):
		t.Errorf("%q read as %d, %v; want %d", text, got, err, want)
	case code != "" && (!errors.As(err, &te) || te.Code != code || got != 0):
		t.Errorf("%q read as %d, %v; want error %s", text, got, err, code)
	}
}

func TestParseFilmAreaTemp(t *testing.T) {
	film := func(s m.Style) func(string) (int64, error) {
		return func(x string) (int64, error) { v, err := s.ParseFilm(x); return int64(v), err }
	}
	area := func(s m.Style) func(string) (int64, error) {
		return func(x string) (int64, error) { v, err := s.ParseArea(x); return int64(v), err }
	}
	temp := func(s m.Style) func(string) (int64, error) {
		return func(x string) (int64, error) { v, err := s.ParseTemp(x); return int64(v), err }
	}
	tests := []struct {
		name  string
		parse func(string) (int64, error)
		text  string
		want  int64
		code  m.TextCode
	}{
		{"plain film is micrometres", film(metric), "65", 650, ""},
		{"film with a comma", film(metric), "65,5 µm", 655, ""},
		{"Greek mu", film(metric), "65 μm", 650, ""},
		{"plain film in US units is mils", film(us), "2.5", 635, ""},
		{"mils in metric", film(metric), "2.5 mils", 635, ""},
		{"film a gauge never shows", film(metric), "100 mm", 0, m.TextLarge},
		{"film below nil", film(metric), "-3", 0, m.TextNegative},
		{"film in kilograms", film(metric), "3 kg", 0, m.TextUnit},
		{"plain area", area(metric), "3.6", 36_000, ""},
		{"area with 2 for the square", area(metric), "3.6 m2", 36_000, ""},
		{"area in capitals run together", area(metric), "3.6M2", 36_000, ""},
		{"square feet", area(us), "38.75", 36_000, ""}, // × 929.0304 = 35 999.93
		{"sq ft", area(metric), "38.75 sq ft", 36_000, ""},
		{"square inch", area(metric), "1 in2", 6, ""},
		{"area of nothing typed", area(metric), "", 0, m.TextEmpty},
		{"area at the bound", area(metric), "900719925474.0992 m²", 0, m.TextLarge},
		{"plain temperature", temp(metric), "23.5", 235, ""},
		{"degree sign", temp(metric), "200 °C", 2000, ""},
		{"Fahrenheit", temp(metric), "400 °F", 2044, ""}, // (400−32)/1.8 = 204.44
		{"plain Fahrenheit", temp(us), "400", 2044, ""},
		{"Celsius in US units", temp(us), "200 C", 2000, ""},
		{"forty below", temp(us), "-40", -400, ""},
		{"half away from zero below freezing", temp(metric), "-0.05", -1, ""},
		{"absolute zero", temp(metric), "-273.1", -2731, ""},
		{"below it", temp(metric), "-273.2", 0, m.TextNegative},
		{"hotter than any oven", temp(metric), "2000", 0, m.TextLarge},
		{"very hot", temp(metric), "99999999999999999", 0, m.TextLarge},
		{"temperature in kilograms", temp(metric), "20 kg", 0, m.TextUnit},
		{"two temperatures", temp(metric), "20 C 3", 0, m.TextNumber},
		{"no temperature", temp(metric), "warm", 0, m.TextNumber},
		{"too many decimals", temp(metric), "20.1234567890123", 0, m.TextDigits},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.parse(tt.text)
			check(t, tt.text, got, err, tt.want, tt.code)
		})
	}
}

// Reading a decimal agrees with exact rational arithmetic, half up.
func TestParseMassIsExact(t *testing.T) {
	unit := map[string]*big.Rat{"kg": big.NewRat(1e6, 1), "g": big.NewRat(1000, 1), "lb": big.NewRat(45359237, 100), "oz": big.NewRat(45359237, 1600)}
	rapid.Check(t, func(t *rapid.T) {
		text := fmt.Sprintf("%d.%0*d", rapid.Int64Range(0, 99_999).Draw(t, "whole"), 12, rapid.Int64Range(0, 999_999_999_999).Draw(t, "decimals"))
		name := rapid.SampledFrom([]string{"kg", "g", "lb", "oz"}).Draw(t, "unit")
		exact, _ := new(big.Rat).SetString(text)
		exact.Mul(exact, unit[name]).Add(exact, big.NewRat(1, 2))
		want := new(big.Int).Div(exact.Num(), exact.Denom())
		got, err := metric.ParseMass(text + " " + name)
		if err != nil || int64(got) != want.Int64() {
			t.Fatalf("%s %s read as %d, %v; want %d", text, name, got, err, want)
		}
	})
}

// What is printed can be typed again and is then the same to the eye.
func TestPrintedIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]m.Style{metric, metricES, us, usES}).Draw(t, "style")
		bound := int64(1) << rapid.IntRange(1, 52).Draw(t, "bits")
		n := rapid.Int64Range(0, bound).Draw(t, "mass")
		if text := s.Mass(m.Mass(n)); !strings.HasPrefix(text, "<") {
			back, err := s.ParseMass(text)
			if err != nil || s.Mass(back) != text {
				t.Fatalf("%d printed %q, read %d, %v, printed %q", n, text, back, err, s.Mass(back))
			}
		}
		f := m.Film(n % int64(m.FilmMax-200))
		if back, err := s.ParseFilm(s.Film(f)); err != nil || s.Film(back) != s.Film(f) {
			t.Fatalf("film %d printed %q, read %d, %v", f, s.Film(f), back, err)
		}
		if back, err := s.ParseArea(s.Area(m.Area(n))); err != nil || s.Area(back) != s.Area(m.Area(n)) {
			t.Fatalf("area %d printed %q, read %d, %v", n, s.Area(m.Area(n)), back, err)
		}
		c := m.Temp(n%22_000) + m.TempMin
		if c >= m.TempMax {
			return
		}
		if back, err := s.ParseTemp(s.Temp(c)); err != nil || back != c {
			t.Fatalf("temperature %d printed %q, read %d, %v", c, s.Temp(c), back, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"12,5 kg", "2 lb 3 oz", "1'250 g", "-3", "1.234,5", "400 °F", "38 sq ft", "65 μm", "\xff", "9e9", "1 t 1 kg 1 g 1 mg"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, s := range []m.Style{metric, metricES, us, usES} {
			mass, err := s.ParseMass(text)
			sane(t, text, int64(mass), int64(m.MassMax), err)
			film, err := s.ParseFilm(text)
			sane(t, text, int64(film), int64(m.FilmMax), err)
			area, err := s.ParseArea(text)
			sane(t, text, int64(area), int64(m.AreaMax), err)
			temp, err := s.ParseTemp(text)
			sane(t, text, int64(temp-m.TempMin), int64(m.TempMax-m.TempMin), err)
		}
	})
}

func sane(t *testing.T, text string, got, bound int64, err error) {
	t.Helper()
	var te *m.TextError
	if err != nil && !errors.As(err, &te) {
		t.Fatalf("%q: error %v is not a *TextError", text, err)
	}
	if err == nil && (got < 0 || got >= bound) {
		t.Fatalf("%q read as %d, outside 0 to %d", text, got, bound)
	}
}

func ExampleStyle_Mass() {
	fmt.Println(m.Style{Units: "metric", Lang: "en"}.Mass(12_345_678))
	fmt.Println(m.Style{Units: "us", Lang: "es"}.Mass(12_345_678))
	fmt.Println(m.Style{}.Ratio(14_000_000, 6_000_000))
	// Output:
	// 12.35 kg
	// 27,22 lb
	// 70:30
}

func ExampleStyle_ParseMass() {
	en := m.Style{Lang: "en"}
	for _, typed := range []string{"12,5", "640 g", "2 lb 3 oz", "1,250 g"} {
		mass, err := en.ParseMass(typed)
		fmt.Println(int64(mass), err)
	}
	// Output:
	// 12500000 <nil>
	// 640000 <nil>
	// 992233 <nil>
	// 0 "1,250 g": text.ambiguous, want a mass such as 12.5 kg, 640 g or 2 lb 3 oz, below 2^53 mg
}

func TestPressureAndLength(t *testing.T) {
	metric, us := m.Style{Units: "metric", Lang: "en"}, m.Style{Units: "us", Lang: "en"}
	for _, tt := range []struct {
		text   string
		style  m.Style
		kPa    int64
		back   string
		source string
	}{
		{"100 psi", metric, 689, "689 kPa", "NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 kPa"},
		{"22", us, 152, "22 psi", "the same"},
		{"1.5 bar", metric, 150, "150 kPa", "NIST SP 811: 1 bar = 100 kPa exactly"},
		{"1,5 bar", us, 150, "22 psi", "the same"},
		{"150", metric, 150, "150 kPa", "as typed"},
	} {
		got, err := tt.style.ParsePressure(tt.text)
		if err != nil || got != tt.kPa || tt.style.Pressure(got) != tt.back {
			t.Errorf("%q: %d kPa %v, printed %q, want %d and %q (%s)", tt.text, got, err, tt.style.Pressure(got), tt.kPa, tt.back, tt.source)
		}
	}
	for _, tt := range []struct {
		text  string
		style m.Style
		mm    int64
		back  string
	}{{"8 in", metric, 203, "203 mm"}, {"8", us, 203, "8 in"}, {"20 cm", metric, 200, "200 mm"}, {"200 mm", us, 200, "7.9 in"}} { // 1 in = 25.4 mm exactly
		if got, err := tt.style.ParseLength(tt.text); err != nil || got != tt.mm || tt.style.Length(got) != tt.back {
			t.Errorf("%q: %d mm %v, printed %q", tt.text, got, err, tt.style.Length(got))
		}
	}
	for text, code := range map[string]m.TextCode{"": m.TextEmpty, "-3": m.TextNegative, "3 kg": m.TextUnit, "x": m.TextNumber} {
		var te *m.TextError
		if _, err := metric.ParsePressure(text); !errors.As(err, &te) || te.Code != code {
			t.Errorf("%q: %v, want %s", text, err, code)
		}
	}
	for n, want := range map[int64]string{0: "0 Ω", 950: "950 Ω", 47_000: "47 kΩ", 1_500_000: "1.5 MΩ"} {
		if got := metric.Ohm(n); got != want {
			t.Errorf("%d Ω prints %q, want %q", n, got, want)
		}
	}
}
