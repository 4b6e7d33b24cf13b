package shop

import (
	"math"
	"math/bits"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Closing is where the powder of a run went:
// Gross = OnParts + Recovered + Scrapped + Lost, to the milligram.
type Closing struct {
	Gross, Net, OnParts, Recovered, Scrapped, Lost measure.Mass
	Parts                                          ledger.Content // OnParts by lot and passes
	Estimated                                      bool           // rests on the powder's target film, not on readings
	Capped                                         bool           // area and film ask for more than was sprayed
	LostSD                                         measure.Mass   // standard uncertainty of Lost; 0 where nothing is stated
	TESD                                           float64        // standard uncertainty of transfer efficiency, as a share
}

// PartsMass is the powder on parts by area and film, in mg:
//
//	round(count × area_cm2 × film × sg_milli / 100 000), half up
//
// with the film given as a sum over n readings in µm·10. It saturates at the
// largest mass.
func PartsMass(count, areaCM2, filmSum, n, sgMilli int64) measure.Mass {
	if n <= 0 {
		return 0
	}
	num := [...]int64{count, areaCM2, filmSum, sgMilli}
	hi, lo := uint64(0), uint64(1)
	for _, f := range num {
		h, l := bits.Mul64(lo, uint64(f))
		h2, l2 := bits.Mul64(hi, uint64(f))
		var carry uint64
		hi, carry = bits.Add64(h, l2, 0)
		if lo = l; h2 != 0 || carry != 0 {
			return math.MaxInt64
		}
	}
	den := uint64(n) * 100_000
	if hi >= den {
		return math.MaxInt64
	}
	q, r := bits.Div64(hi, lo, den)
	if r >= den-r {
		q++
	}
	if q > math.MaxInt64 {
		return math.MaxInt64
	}
	return measure.Mass(q)
}

// Closing splits what a run sprayed. It may be asked at any time; for an open
// run it says what is known so far.
func (s *State) Closing(r *Run) Closing {
	c := Closing{Net: r.Net.Total(), Recovered: r.Recovered, Scrapped: r.Scrapped}
	c.Gross = c.Net + c.Recovered + c.Scrapped
	var on measure.Mass
	for _, m := range s.jobMasses(r) {
		on = on.Plus(m)
	}
	c.Estimated = r.FilmN == 0 && on > 0
	c.Capped = on > c.Net
	c.OnParts = min(on, c.Net)
	c.Parts, _ = r.Net.Clone().Take(c.OnParts)
	c.Lost = c.Net - c.OnParts
	c.uncertainty(r)
	return c
}

// jobMasses is the powder on the parts of each of the run's jobs, in their order.
func (s *State) jobMasses(r *Run) []measure.Mass {
	film, n := r.FilmSum, r.FilmN
	sg := int64(0)
	if w := s.Powders[r.Powder]; w != nil {
		sg = w.SGMilli
		if n == 0 {
			film, n = w.FilmTarget, 1
		}
	}
	out := make([]measure.Mass, len(r.Jobs))
	for i, j := range r.Jobs {
		out[i] = PartsMass(j.Count, j.AreaCM2, film, n, sg)
	}
	return out
}

// uncertainty combines what is stated: the weighings before and at the end of
// the run, and the standard error of the mean film. Root sum of squares of
// independent inputs (JCGM 100:2008, 5.1.2).
func (c *Closing) uncertainty(r *Run) {
	if r.SDLast == 0 && r.SDOpen == 0 {
		return
	}
	weigh := math.Hypot(float64(r.SDOpen), float64(r.SDLast))
	film := 0.0
	if r.FilmN > 1 && r.FilmSum > 0 {
		n, sum := float64(r.FilmN), float64(r.FilmSum)
		variance := (float64(r.FilmSq) - sum*sum/n) / (n - 1)
		film = math.Sqrt(max(variance, 0)/n) / (sum / n) * float64(c.OnParts)
	}
	c.LostSD = measure.Mass(math.Round(math.Hypot(weigh, film)))
	if c.Gross > 0 && c.OnParts > 0 {
		te := float64(c.OnParts) / float64(c.Gross)
		c.TESD = math.Hypot(film/float64(c.Gross), te*weigh/float64(c.Gross))
	}
}

// JobContent is the powder on the parts of one job of a run, by lot and passes.
type JobContent struct {
	Job     string
	Count   int64
	Content ledger.Content
}

// JobContents splits the powder on a run's parts over its jobs, exactly, in the
// order in which they were first coated.
func (s *State) JobContents(r *Run, c Closing) (out []JobContent) {
	rest := c.Parts.Clone()
	shares := s.JobShares(r, c)
	for i, j := range r.Jobs {
		var mine ledger.Content
		mine, rest = rest.Take(shares[i])
		at := slices.IndexFunc(out, func(x JobContent) bool { return x.Job == j.Job })
		if at < 0 {
			out = append(out, JobContent{j.Job, j.Count, mine})
			continue
		}
		out[at].Count += j.Count
		out[at].Content = out[at].Content.PutAll(mine)
	}
	return out
}

// JobShares splits the powder on a run's parts over its jobs, exactly.
func (s *State) JobShares(r *Run, c Closing) []measure.Mass {
	masses := s.jobMasses(r)
	most := min(c.Net, math.MaxInt64/measure.Mass(max(len(masses), 1)))
	for i := range masses {
		masses[i] = min(masses[i], most) // keeps the sum in range; only ever binds when the whole is capped
	}
	shares, err := c.OnParts.Split(masses)
	if err != nil {
		return make([]measure.Mass, len(masses)) // no job has an area
	}
	return shares
}
