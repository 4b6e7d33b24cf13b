package measure_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"

	m "hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func TestSplit(t *testing.T) {
	tests := []struct {
		name    string
		mass    m.Mass
		weights []m.Mass
		want    []m.Mass
		source  string
	}{
		{"leftover goes to the largest remainder", 10, []m.Mass{1, 2}, []m.Mass{3, 7}, "by hand: 3⅓ + 6⅔"},
		{"a tie goes to the lower index", 1, []m.Mass{5, 5}, []m.Mass{1, 0}, "by hand: ½ + ½"},
		{"two left over among three equal", 5, []m.Mass{1, 1, 1}, []m.Mass{2, 2, 1}, "by hand: 1⅔ each"},
		{"nothing to split", 0, []m.Mass{3, 4}, []m.Mass{0, 0}, "by hand"},
		{"a weight of nil gets nothing", 7, []m.Mass{0, 1, 0}, []m.Mass{0, 7, 0}, "by hand"},
		{"products pass 64 bits", math.MaxInt64, []m.Mass{math.MaxInt64 / 2, math.MaxInt64 / 2}, []m.Mass{4611686018427387904, 4611686018427387903}, "by hand: (2^63−1)/2 = 2^62 − ½, tie"},
		{"largest weight takes all of the largest mass", math.MaxInt64, []m.Mass{math.MaxInt64}, []m.Mass{math.MaxInt64}, "by hand"},
		{"more than 16 weights", 17, slices.Repeat([]m.Mass{1}, 17), slices.Repeat([]m.Mass{1}, 17), "by hand"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.mass.Split(tt.weights)
			if err != nil || !slices.Equal(got, tt.want) {
				t.Errorf("Mass(%d).Split(%d) = %d, %v; want %d (%s)", tt.mass, tt.weights, got, err, tt.want, tt.source)
			}
		})
	}
}

// Among hundreds of weights each gets its share rounded down or one more, the
// larger remainder first.
func TestSplitOverHundredsOfWeights(t *testing.T) {
	weights := make([]m.Mass, 301)
	for i := range weights {
		weights[i] = m.Mass(1 + i*i%97)
	}
	parts, err := m.Mass(1_000_003).Split(weights)
	if err != nil {
		t.Fatal(err)
	}
	var sum, total m.Mass
	for _, w := range weights {
		total += w
	}
	least, most := total, m.Mass(-1) // remainders of those that got one more, and of those that did not
	for i, p := range parts {
		sum += p
		down, rem := 1_000_003*weights[i]/total, 1_000_003*weights[i]%total
		switch p {
		case down:
			most = max(most, rem)
		case down + 1:
			least = min(least, rem)
		default:
			t.Fatalf("part %d is %d; its share rounds down to %d", i, p, down)
		}
	}
	if sum != 1_000_003 || most > least {
		t.Errorf("parts add up to %d; remainder %d got nothing, %d got one", sum, most, least)
	}
}

func TestSplitRefuses(t *testing.T) {
	for name, weights := range map[string][]m.Mass{
		"no weights": nil, "all nil": {0, 0}, "a negative one": {5, -1},
		"a sum past 2^63": {math.MaxInt64, 1}, "a sum that wraps twice": {math.MaxInt64, math.MaxInt64, 3},
	} {
		if parts, err := m.Mass(1).Split(weights); !errors.Is(err, m.ErrWeights) || parts != nil {
			t.Errorf("%s: Split gives %d, %v; want ErrWeights", name, parts, err)
		}
	}
	mustPanic(t, "split of a negative mass", func() { m.Mass(-1).Split([]m.Mass{1}) })
}

func mustPanic(t *testing.T, what string, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Errorf("%s did not panic", what)
		}
	}()
	f()
}

// The parts add up, each is its exact share rounded down or up, and a larger
// weight never gets less.
func TestSplitProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		top := int64(1) << rapid.IntRange(1, 58).Draw(t, "bits")
		weights := rapid.SliceOfN(rapid.Map(rapid.Int64Range(0, top), func(n int64) m.Mass { return m.Mass(n) }), 1, 24).Draw(t, "weights")
		mass := m.Mass(rapid.Int64Range(0, math.MaxInt64).Draw(t, "mass"))
		var total m.Mass
		for _, w := range weights {
			total += w
		}
		parts, err := mass.Split(weights)
		if total == 0 {
			if !errors.Is(err, m.ErrWeights) {
				t.Fatalf("error %v; want ErrWeights", err)
			}
			return
		}
		var sum m.Mass
		for i, p := range parts {
			sum += p
			exact := new(big.Int).Mul(big.NewInt(int64(mass)), big.NewInt(int64(weights[i])))
			down, rem := exact.DivMod(exact, big.NewInt(int64(total)), new(big.Int))
			if over := int64(p) - down.Int64(); over != 0 && (over != 1 || rem.Sign() == 0) {
				t.Fatalf("part %d is %d; its exact share rounds down to %d", i, p, down)
			}
			for j := range parts {
				if weights[i] > weights[j] && p < parts[j] || weights[i] == weights[j] && i < j && p < parts[j] {
					t.Fatalf("weight %d gets %d, weight %d gets %d", weights[i], p, weights[j], parts[j])
				}
			}
		}
		if err != nil || sum != mass {
			t.Fatalf("parts %d add up to %d, not %d (%v)", parts, sum, mass, err)
		}
		again := make([]m.Mass, len(weights))
		if err := mass.SplitInto(again, weights); err != nil || !slices.Equal(again, parts) {
			t.Fatalf("SplitInto gives %d, Split %d", again, parts)
		}
	})
}

func TestSplitIntoAllocatesNothing(t *testing.T) {
	weights, parts := slices.Repeat([]m.Mass{7}, 16), make([]m.Mass, 16)
	if n := testing.AllocsPerRun(100, func() { _ = m.Mass(1000).SplitInto(parts, weights) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestMulDiv(t *testing.T) {
	tests := []struct {
		name     string
		mass     m.Mass
		num, den int64
		want     m.Mass
	}{
		{"half rounds up", 5, 1, 2, 3},
		{"just below half rounds down", 4, 1, 9, 0},
		{"odd divisor just above half", 5, 1, 9, 1},
		{"through 128 bits", math.MaxInt64, math.MaxInt64, math.MaxInt64, math.MaxInt64},
		{"times nil", 5, 0, 7, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.mass.MulDiv(tt.num, tt.den); got != tt.want {
				t.Errorf("Mass(%d).MulDiv(%d, %d) = %d; want %d", tt.mass, tt.num, tt.den, got, tt.want)
			}
		})
	}
	for what, f := range map[string]func(){
		"a negative mass":         func() { m.Mass(-1).MulDiv(1, 1) },
		"a negative factor":       func() { m.Mass(1).MulDiv(-1, 1) },
		"division by zero":        func() { m.Mass(1).MulDiv(1, 0) },
		"a result of 2^63":        func() { m.Mass(1<<62).MulDiv(2, 1) },
		"a result far above 2^64": func() { m.Mass(1<<62).MulDiv(1<<62, 1) },
	} {
		mustPanic(t, what, f)
	}
}

func ExampleMass_Split() {
	parts, err := m.Mass(10).Split([]m.Mass{1, 2})
	fmt.Println(parts, err)
	// Output: [3 7] <nil>
}
