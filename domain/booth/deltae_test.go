package booth

import (
	"math"
	"testing"

	"hoppertally/domain/internal/reference"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"
)

func labs(t testing.TB, r reference.Row) (x, y [3]float64) {
	for i, n := range []string{"L", "a", "b"} {
		x[i], y[i] = reference.Number(t, r[n+"1"]), reference.Number(t, r[n+"2"])
	}
	return x, y
}

// Half a unit in the last published digit.
const deltaETol = 0.5e-4

func TestDeltaEMatchesThePublishedPairs(t *testing.T) {
	check := func(t testing.TB, r reference.Row, column string) {
		x, y := labs(t, r)
		want := reference.Number(t, r[column])
		for _, got := range []float64{DeltaE(x, y), DeltaE(y, x)} {
			if math.Abs(got-want) > deltaETol {
				t.Errorf("pair %s%s: ΔE00 %.6f, published %.4f", r["pair"], r["row"], got, want)
			}
		}
		if plain, ok := r["dE76_derived"]; ok && !reference.Printed(math.Hypot(math.Hypot(x[0]-y[0], x[1]-y[1]), x[2]-y[2]), plain) {
			t.Errorf("pair %s: the plain distance is not %s", r["pair"], plain)
		}
		if again, ok := r["dE00_recomputed"]; ok && !reference.Printed(DeltaE(x, y), again) {
			t.Errorf("pair %s: recomputed as %s", r["row"], again)
		}
	}
	// 34 pairs of Sharma, Wu, Dalal 2005
	// A thousandth decides on which side of opposite hues a pair lies, and else shows nowhere.
	hue := func(f reference.Figure) bool { return f.Column[0] != 'd' && "0.0000" < f.Text && f.Text < "0.002" }
	reference.Each(t, "ciede2000.csv", 34, reference.Any(hue, reference.Columns("pair")), func(t testing.TB, r reference.Row) { check(t, r, "dE00_published") }, "L1", "a1", "b1", "L2", "a2", "b2")
	reference.Each(t, "ciede2000-extra.csv", 6, reference.Columns("row"), func(t testing.TB, r reference.Row) { check(t, r, "dE00_published_icc_hdr") }, "L1", "a1", "b1", "L2", "a2", "b2")
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
