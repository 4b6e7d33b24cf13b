package view

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

func TestAPictureInAListHasFewLayersAndLosesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for range 200 {
		var c ledger.Content
		for i := range r.IntN(150) {
			c = append(c, ledger.Part{Lot: fmt.Sprintf("l%03d", i), Passes: uint8(r.IntN(4)), Mass: measure.Mass(1 + r.Int64N(1_000_000))})
		}
		out := coarser(c, tileLayers)
		if len(out) > tileLayers || out.Total() != c.Total() {
			t.Fatalf("%d parts with %d become %d with %d", len(c), c.Total(), len(out), out.Total())
		}
		if len(c) <= tileLayers {
			continue
		}
		least := out[0].Mass
		for _, p := range out[:len(out)-1] {
			least = min(least, p.Mass)
		}
		for _, p := range c {
			if !slices.Contains(out, p) && p.Mass > least {
				t.Fatalf("%+v is gathered though larger than one that is shown", p)
			}
		}
	}
}
