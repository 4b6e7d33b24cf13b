package booth

import (
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"

	"hoppertally/testdata/reference"
)

func labs(t *testing.T, r map[string]string) (x, y [3]float64) {
	for i, n := range []string{"L", "a", "b"} {
		x[i], y[i] = reference.Number(t, r[n+"1"]), reference.Number(t, r[n+"2"])
	}
	return x, y
}

// Half a unit in the last published digit.
const deltaETol = 0.5e-4

func TestDeltaEMatchesThePublishedPairs(t *testing.T) {
	pairs := reference.Table(t, "ciede2000.csv")
	if len(pairs) != 34 {
		t.Fatalf("%d pairs, want the 34 of Sharma, Wu, Dalal 2005", len(pairs))
	}
	for _, r := range pairs {
		x, y := labs(t, r)
		want := reference.Number(t, r["dE00_published"])
		for _, got := range []float64{DeltaE(x, y), DeltaE(y, x)} {
			if math.Abs(got-want) > deltaETol {
				t.Errorf("pair %s: ΔE00 %.6f, published %.4f", r["pair"], got, want)
			}
		}
	}
	extra := reference.Table(t, "ciede2000-extra.csv")
	if len(extra) != 6 {
		t.Fatalf("%d further pairs, want 6", len(extra))
	}
	for _, r := range extra {
		x, y := labs(t, r)
		if got, want := DeltaE(x, y), reference.Number(t, r["dE00_published_icc_hdr"]); math.Abs(got-want) > deltaETol {
			t.Errorf("further pair %s: ΔE00 %.6f, published %.4f", r["row"], got, want)
		}
	}
}

func TestDeltaEAgreesWithGoColorfulAwayFromOppositeHues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var x, y [3]float64
		for i, max := range []int{1000, 1200, 1200} {
			min := -max
			if i == 0 {
				min = 0
			}
			x[i] = float64(rapid.IntRange(min, max).Draw(t, "x")) / 10
			y[i] = float64(rapid.IntRange(min, max).Draw(t, "y")) / 10
		}
		if cross := x[1]*y[2] - x[2]*y[1]; math.Abs(cross) < 1e-3 {
			return // hues equal or opposite: there the jump is, see DeltaE
		}
		want := 100 * colorful.Lab(x[0]/100, x[1]/100, x[2]/100).
			DistanceCIEDE2000(colorful.Lab(y[0]/100, y[1]/100, y[2]/100))
		got := DeltaE(x, y)
		if math.Abs(got-want) > 1e-6 {
			t.Fatalf("ΔE00 of %v and %v: %.9f, go-colorful %.9f", x, y, got, want)
		}
		if back := DeltaE(y, x); math.Abs(back-got) > 1e-9 {
			t.Fatalf("ΔE00 of %v and %v is %.9f one way and %.9f the other", x, y, got, back)
		}
		if self := DeltaE(x, x); self != 0 {
			t.Fatalf("ΔE00 of %v with itself is %g", x, self)
		}
	})
}
