package ledger

import (
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

// A book whose masses come near all that an int64 holds never wraps: it says what it
// cannot hold, and what it holds adds up to zero.
func TestTheBookSaysWhatItCannotHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := NewBook()
		b.Open("rack", Shelf)
		b.Open("hopper", Vessel)
		b.Open("drum", Scrap)
		place := rapid.SampledFrom([]string{"rack", "hopper", "drum"})
		lots := rapid.SampledFrom([]string{"A", "B", "C"})
		masses := rapid.OneOf(rapid.Int64Range(int64(BookMax)-9, int64(BookMax)), rapid.Int64Range(0, 9), rapid.Int64Range(0, int64(BookMax)))
		var sprayed Content
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			p, lot, m := b.Places[place.Draw(t, "place")], lots.Draw(t, "lot"), measure.Mass(masses.Draw(t, "mass"))
			switch rapid.IntRange(0, 4).Draw(t, "what") {
			case 0:
				before := p.Content.Total()
				if beyond := b.Receive(p, lot, m); beyond < 0 || p.Content.Total()-before != m-beyond {
					t.Fatalf("%d received, %d beyond: the place holds %d more", m, beyond, p.Content.Total()-before)
				}
			case 1:
				before := p.Content.Total()
				if beyond := b.Found(p, lot, m); beyond < 0 || p.Content.Total()-before != m-beyond {
					t.Fatalf("%d found, %d beyond: the place holds %d more", m, beyond, p.Content.Total()-before)
				}
			case 2:
				drawn, lacking := b.Draw(p, lot, m)
				if lacking < 0 || drawn.Total() < m-lacking || drawn.Total() > m {
					t.Fatalf("%d drawn as %d, %d lacking", m, drawn.Total(), lacking)
				}
				b.Put(b.Places[place.Draw(t, "to")], drawn)
			case 3:
				drawn, _ := b.Draw(p, lot, min(m, p.Content.Total()))
				b.Missing(drawn)
			case 4:
				drawn, _ := b.Draw(p, "", min(m, p.Content.Total()))
				sprayed = sprayed.PutAll(drawn)
			}
			if err := b.Check(sprayed); err != nil {
				t.Fatal(err)
			}
			came, there := b.came, b.there
			if b.Recount(); came != b.came || there != b.there || came > BookMax || there > BookMax || there < 0 {
				t.Fatalf("the book says %d came and %d is there, its accounts %d and %d", came, there, b.came, b.there)
			}
			for _, e := range append(b.Received.clone(), b.Variance...) {
				if e.Mass > BookMax || e.Mass < -BookMax {
					t.Fatalf("an account holds %d of lot %s", e.Mass, e.Lot)
				}
			}
		}
	})
}

func (a Account) clone() Account { return append(Account(nil), a...) }
