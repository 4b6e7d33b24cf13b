package gun

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestSaltationOfTheTextbookExample(t *testing.T) {
	// Rhodes, Introduction to Particle Technology, worked example on horizontal
	// conveying: 0.25 kg/s of 100 µm powder in air of 1.2 kg/m³ through a pipe of
	// 78 mm settles at 9.88 m/s. Found as the example of a public library of
	// correlations that quotes the book and gives 9.8833093.
	if got := saltation(0.25, 0.078, 0.1, 1.2); !near(got, 9.88, 0.005) || !near(got, 9.8833092829357, 1e-9) {
		t.Errorf("saltation at %.10f m/s, want 9.8833092829", got)
	}
}

func TestHoseOfTheTextbookExample(t *testing.T) {
	// The same pipe as a hose, with just the air that gives 9.8833 m/s.
	air := 9.8833092829357 * math.Pi / 4 * 0.078 * 0.078 * 60_000
	h := Hose{AirLMin: air, BoreMM: 78, MGPerMin: 0.25 * 60e6, SizeUM: 100}
	got, err := h.Carry()
	if err != nil || !near(got.Margin, 1, 1e-4) || !near(got.MostMG, h.MGPerMin, 10) || !near(got.Saltation, 9.883309, 1e-6) {
		t.Errorf("%+v, %v", got, err)
	}
	// By hand: 0.25 kg/s over 1.2 kg/m³ × air.
	if want := 0.25 / (1.2 * air / 60_000); !near(got.Loading, want, 1e-9) {
		t.Errorf("loading %g, want %g", got.Loading, want)
	}
}

func TestVerdictFollowsTheMargin(t *testing.T) {
	h := Hose{AirLMin: 75, BoreMM: 12, MGPerMin: 150_000, SizeUM: 35}
	seen := map[Verdict]bool{}
	for air := 5.0; air < 200; air += 2.5 {
		h.AirLMin = air
		c, err := h.Carry()
		if err != nil {
			t.Fatal(err)
		}
		want := Carries
		if c.Margin < CloseBelow {
			want = Close
		}
		if c.Margin < 1 {
			want = Settles
		}
		if c.Verdict != want {
			t.Errorf("margin %g: %s, want %s", c.Margin, c.Verdict, want)
		}
		seen[c.Verdict] = true
	}
	if len(seen) != 3 {
		t.Errorf("only %v were seen", seen)
	}
}

func TestTheMostAHoseCarriesHasMarginOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Hose{
			AirLMin: rapid.Float64Range(20, 200).Draw(t, "air"), BoreMM: rapid.Float64Range(8, 20).Draw(t, "bore"),
			MGPerMin: rapid.Float64Range(1000, 500_000).Draw(t, "powder"), SizeUM: rapid.Float64Range(10, 100).Draw(t, "size"),
		}
		c, err := h.Carry()
		if err != nil {
			t.Fatal(err)
		}
		if more := c.MostMG > h.MGPerMin; more != (c.Margin > 1) && !near(c.Margin, 1, 1e-3) {
			t.Fatalf("carries at most %g of %g with margin %g", c.MostMG, h.MGPerMin, c.Margin)
		}
		if c.MostMG < 100_000 || c.MostMG > HoseFlowMax {
			return // too little for MostMG, whole milligrams, to fix the margin
		}
		h.MGPerMin = c.MostMG
		if at, _ := h.Carry(); !near(at.Margin, 1, 2e-4) {
			t.Fatalf("at the most the margin is %g", at.Margin)
		}
	})
}

func TestHoseErrorsNameTheField(t *testing.T) {
	good := Hose{75, 12, 150_000, 35}
	for what, spoil := range map[string]func(*Hose){
		"air_l_min":  func(h *Hose) { h.AirLMin = 0 },
		"bore_mm":    func(h *Hose) { h.BoreMM = 501 },
		"mg_per_min": func(h *Hose) { h.MGPerMin = math.NaN() },
		"size_um":    func(h *Hose) { h.SizeUM = 0.5 },
	} {
		h := good
		spoil(&h)
		_, err := h.Carry()
		fault(t, err, what)
	}
}

func ExampleHose_Carry() {
	c, _ := Hose{AirLMin: 75, BoreMM: 11, MGPerMin: 180_000, SizeUM: 35}.Carry()
	fmt.Printf("%.1f m/s, settles below %.1f m/s, margin %.2f: %s\n", c.Speed, c.Saltation, c.Margin, c.Verdict)
	// Output:
	// 13.2 m/s, settles below 4.2 m/s, margin 3.14: hose.carries
}
