package reclaim_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	m "hoppertally/domain/measure"
	"hoppertally/domain/reclaim"

	"pgregory.net/rapid"
)

var (
	virgin = reclaim.Curve{{UM: 2, Under: 0}, {UM: 10, Under: 0.04}, {UM: 32, Under: 0.5}, {UM: 64, Under: 0.9}, {UM: 125, Under: 1}}
	fine   = reclaim.Curve{{UM: 1, Under: 0}, {UM: 10, Under: 0.14}, {UM: 24, Under: 0.5}, {UM: 50, Under: 0.9}, {UM: 100, Under: 1}}
)

func TestCurve(t *testing.T) {
	tests := []struct {
		name      string
		got, want float64
		source    string
	}{
		{"at a point", first(virgin.Under(32)), 0.5, "given"},
		{"half way on the logarithm", first(virgin.Under(math.Sqrt(32 * 64))), 0.7, "by hand: (0.5+0.9)/2"},
		{"below the first point of nil", first(virgin.Under(1)), 0, "contract"},
		{"above the last point of all", first(virgin.Under(500)), 1, "contract"},
		{"d50 at a point", first(virgin.D(0.5)), 32, "given"},
		{"d between points", first(virgin.D(0.7)), math.Sqrt(32 * 64), "by hand: the geometric mean"},
		{"d90", first(virgin.D(0.9)), 64, "given"},
		{"fines", first(virgin.Under(reclaim.FinesUM)), 0.04, "given"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if !near(tt.got, tt.want) {
				t.Errorf("%v; want %v (%s)", tt.got, tt.want, tt.source)
			}
		})
	}
}

func first(x float64, err error) float64 {
	if err != nil {
		return math.NaN()
	}
	return x
}

func TestBlendSizes(t *testing.T) {
	c, err := reclaim.BlendSizes([]reclaim.Sized{{Mass: 7 * kg, Curve: virgin}, {Mass: 3 * kg, Curve: fine}})
	if err != nil {
		t.Fatal(err)
	}
	under, err := c.Under(10)
	if err != nil || !near(under, 0.07) {
		t.Errorf("fines %v, %v; want 0.07 (by hand: 0.7·0.04 + 0.3·0.14)", under, err)
	}
	if c[0] != (reclaim.SizePoint{UM: 1}) || c[len(c)-1] != (reclaim.SizePoint{UM: 125, Under: 1}) {
		t.Errorf("the blend runs from %v to %v; want 0 at 1 µm and 1 at 125 µm", c[0], c[len(c)-1])
	}
}

// A blend lies between its parts at every size, is a curve again, and does not
// depend on the order.
func TestBlendSizesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawCurve(t), drawCurve(t)
		ma, mb := m.Mass(rapid.Int64Range(1, 1e9).Draw(t, "mass")), m.Mass(rapid.Int64Range(0, 1e9).Draw(t, "mass"))
		c, err := reclaim.BlendSizes([]reclaim.Sized{{Mass: ma, Curve: a}, {Mass: mb, Curve: b}})
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Check("blend"); err != nil {
			t.Fatal(err)
		}
		d, err := reclaim.BlendSizes([]reclaim.Sized{{Mass: mb, Curve: b}, {Mass: ma, Curve: a}})
		if err != nil || len(c) != len(d) {
			t.Fatal(err, c, d)
		}
		for i, p := range c {
			fa, _ := a.Under(p.UM)
			fb, _ := b.Under(p.UM)
			if p.Under < min(fa, fb)-1e-12 || p.Under > max(fa, fb)+1e-12 || !near(d[i].Under, p.Under) {
				t.Fatalf("at %v µm %v lies outside %v and %v", p.UM, p.Under, fa, fb)
			}
		}
		q := rapid.Float64Range(0.001, 0.999).Draw(t, "fraction")
		um, err := c.D(q)
		back, err2 := c.Under(um)
		if err != nil || err2 != nil || math.Abs(back-q) > 1e-6 {
			t.Fatalf("D(%v) = %v, below which lies %v (%v %v)", q, um, back, err, err2)
		}
	})
}

func drawCurve(t *rapid.T) reclaim.Curve {
	n := rapid.IntRange(1, 6).Draw(t, "points")
	c := reclaim.Curve{{UM: rapid.Float64Range(0.5, 5).Draw(t, "um")}}
	for range n {
		last := c[len(c)-1]
		c = append(c, reclaim.SizePoint{UM: last.UM * rapid.Float64Range(1.1, 3).Draw(t, "step"), Under: last.Under + (1-last.Under)*rapid.Float64Range(0.05, 0.9).Draw(t, "rise")})
	}
	c[len(c)-1].Under = 1
	return c
}

func TestSizesRefuse(t *testing.T) {
	blend := func(p ...reclaim.Sized) error { _, err := reclaim.BlendSizes(p); return err }
	open := reclaim.Curve{{UM: 10, Under: 0.1}, {UM: 50, Under: 0.9}}
	_, below := open.Under(5)
	_, above := open.Under(60)
	_, early := open.D(0.05)
	_, late := open.D(0.95)
	tests := []struct {
		name  string
		err   error
		field string
	}{
		{"no parts", blend(), "parts"},
		{"no mass", blend(reclaim.Sized{Curve: virgin}), "parts"},
		{"one point", blend(reclaim.Sized{Mass: 1, Curve: virgin[:1]}), "parts[0].curve"},
		{"sizes fall", blend(reclaim.Sized{Mass: 1, Curve: reclaim.Curve{{UM: 10, Under: 0}, {UM: 9, Under: 1}}}), "parts[0].curve[1]"},
		{"fractions fall", blend(reclaim.Sized{Mass: 1, Curve: reclaim.Curve{{UM: 10, Under: 1}, {UM: 11, Under: 0}}}), "parts[0].curve[1]"},
		{"a size of nil", blend(reclaim.Sized{Mass: 1, Curve: reclaim.Curve{{UM: 0, Under: 0}, {UM: 1, Under: 1}}}), "parts[0].curve[0]"},
		{"a fraction above all", blend(reclaim.Sized{Mass: 1, Curve: reclaim.Curve{{UM: 1, Under: 0}, {UM: 2, Under: 1.1}}}), "parts[0].curve[1]"},
		{"negative mass", blend(reclaim.Sized{Mass: -1, Curve: virgin}), "parts[0].mass_mg"},
		{"curves that do not meet", blend(reclaim.Sized{Mass: 1, Curve: open}, reclaim.Sized{Mass: 1, Curve: reclaim.Curve{{UM: 60, Under: 0.2}, {UM: 90, Under: 0.3}}}), "parts"},
		{"size below an open curve", below, "curve"},
		{"size above an open curve", above, "curve"},
		{"fraction below an open curve", early, "curve"},
		{"fraction above an open curve", late, "curve"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var f *m.Fault
			if !errors.As(tt.err, &f) || f.What != tt.field {
				t.Errorf("error %v; want a fault of %s", tt.err, tt.field)
			}
		})
	}
}

func ExampleBlendSizes() {
	c, _ := reclaim.BlendSizes([]reclaim.Sized{{Mass: 7 * kg, Curve: virgin}, {Mass: 3 * kg, Curve: fine}})
	d50, _ := c.D(0.5)
	under, _ := c.Under(reclaim.FinesUM)
	fmt.Printf("d50 %.1f µm, %.1f %% below 10 µm\n", d50, 100*under)
	// By hand: 0.4204 below 24 µm, 0.5470 below 32 µm, so 24·(32/24)^0.629 = 28.8.
	// Output: d50 28.8 µm, 7.0 % below 10 µm
}
