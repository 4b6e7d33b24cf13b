package view

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"hoppertally/domain/coating"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// RunView is one run: a powder on a booth from change to change.
type RunView struct {
	Run      string          `json:"run"`
	Booth    Ref             `json:"booth"`
	Powder   PowderRef       `json:"powder"`
	Feed     Ref             `json:"feed"`
	Mode     string          `json:"mode"` // waste, collect, loop
	Open     bool            `json:"open"`
	OpenedMS int64           `json:"opened_ms"`
	ClosedMS int64           `json:"closed_ms,omitempty"`
	Balance  Balance         `json:"balance"`
	Jobs     []JobView       `json:"jobs"`
	Lots     []LotShareView  `json:"lots"` // what is on the parts, by mass fraction
	Readings int             `json:"readings"`
	Setup    *SetupView      `json:"setup,omitempty"`
	Cures    []CureView      `json:"cures"` // the latest first
	FilmMean string          `json:"film_mean,omitempty"`
	FilmMin  string          `json:"film_min,omitempty"`
	FilmMax  string          `json:"film_max,omitempty"`
	Capable  *CapabilityView `json:"capable,omitempty"` // nil with fewer than two readings that vary
	Weighed  bool            `json:"weighed"`           // the feed was weighed during the run
}

// JobView is the parts of one job in a run.
type JobView struct {
	Job     string `json:"job"`
	Count   int64  `json:"count"`
	Area    string `json:"area"` // of all parts together
	OnParts Qty    `json:"on_parts"`
}

// Balance says where the powder of a run or a month went. Gross = on parts +
// recovered + scrapped + lost, to the milligram.
type Balance struct {
	Gross     Qty    `json:"gross"` // out of the gun
	Net       Qty    `json:"net"`   // left the feed for good
	OnParts   Qty    `json:"on_parts"`
	Recovered Qty    `json:"recovered"`
	Scrapped  Qty    `json:"scrapped"`
	Lost      Qty    `json:"lost"`
	LostSD    *Qty   `json:"lost_sd,omitempty"` // standard uncertainty of lost
	TEPM      int64  `json:"te_pm"`             // first-pass transfer efficiency; -1 when unknown
	TE        string `json:"te"`                // "62 %" or ""
	TESDPM    int64  `json:"te_sd_pm"`          // its standard uncertainty; -1 when unknown
	UsePM     int64  `json:"use_pm"`            // utilisation: on parts / net of recovered; -1 when unknown
	Use       string `json:"use"`
	Estimated bool   `json:"estimated"`     // on parts rests on target film, not on readings
	Why       string `json:"why,omitempty"` // code: what is missing for a full balance
}

// CapabilityView is how the film of a run stays within its powder's limits.
type CapabilityView struct {
	Cp   string `json:"cp,omitempty"`
	Cpk  string `json:"cpk"`
	Low  string `json:"low"` // 95 % interval of Cpk
	High string `json:"high"`
	SD   string `json:"sd"` // standard deviation of the film
}

func (w *Viewer) oneRun(id string) (RunView, error) {
	r := w.s.Runs[id]
	if r == nil {
		return RunView{}, &Error{"unknown_run", id}
	}
	return w.run(r), nil
}

// runs are the newest runs, at most that many.
func (w *Viewer) runs(most int) []RunView {
	rs := w.runsByTime()
	rs = rs[:min(len(rs), most)]
	out := make([]RunView, 0, len(rs))
	for _, r := range rs {
		out = append(out, w.run(r))
	}
	return out
}

// runsByTime lists the runs, newest first.
func (w *Viewer) runsByTime() []*shop.Run {
	rs := slices.Collect(maps.Values(w.s.Runs))
	slices.SortFunc(rs, func(a, b *shop.Run) int {
		return cmp.Or(cmp.Compare(b.OpenedMS, a.OpenedMS), cmp.Compare(a.Run, b.Run))
	})
	return rs
}

func (w *Viewer) run(r *shop.Run) RunView {
	c := w.s.Closing(r)
	v := RunView{Run: r.Run, Booth: w.boothRef(r.Booth), Powder: *w.powder(r.Powder), Feed: w.placeRef(r.Feed), Mode: r.Mode,
		Open: r.ClosedMS == 0, OpenedMS: r.OpenedMS, ClosedMS: r.ClosedMS, Balance: w.balance(r, c), Jobs: []JobView{},
		Lots: w.lotShares(c.Parts), Cures: w.cures(r), Readings: int(r.FilmN), Weighed: r.Weighings > 0, Capable: w.capability(r)}
	shares := w.s.JobShares(r, c)
	for i, j := range r.Jobs {
		v.Jobs = append(v.Jobs, JobView{j.Job, j.Count, w.r.Style.Area(measure.Area(j.Count * j.AreaCM2)), w.Qty(shares[i])})
	}
	if b := w.s.Setups[r.Setup]; b != nil {
		x := w.setup(b)
		v.Setup = &x
	}
	if r.FilmN > 0 {
		film := func(um10 int64) string { return w.r.Style.Film(measure.Film(um10)) }
		v.FilmMean, v.FilmMin, v.FilmMax = film((r.FilmSum+r.FilmN/2)/r.FilmN), film(r.FilmMin), film(r.FilmMax)
	}
	return v
}

func (w *Viewer) balance(r *shop.Run, c shop.Closing) Balance {
	b := Balance{Gross: w.Qty(c.Gross), Net: w.Qty(c.Net), OnParts: w.Qty(c.OnParts), Recovered: w.Qty(c.Recovered),
		Scrapped: w.Qty(c.Scrapped), Lost: w.Qty(c.Lost), TEPM: -1, TESDPM: -1, UsePM: -1, Estimated: c.Estimated}
	if c.LostSD > 0 {
		q := w.Qty(c.LostSD)
		b.LostSD = &q
	}
	switch {
	case r.Weighings == 0:
		b.Why = "not_weighed"
	case len(r.Jobs) == 0:
		b.Why = "no_parts"
	case c.Capped:
		b.Why = "more_than_sprayed"
	case c.Estimated:
		b.Why = "target_film"
	}
	if c.Gross > 0 && c.OnParts > 0 {
		b.TEPM, b.UsePM = measure.Permille(c.OnParts, c.Gross), measure.Permille(c.OnParts, c.Net+c.Scrapped)
		b.TE, b.Use = w.r.Style.Share(measure.Share(b.TEPM)), w.r.Style.Share(measure.Share(b.UsePM))
		if c.TESD > 0 {
			b.TESDPM = int64(c.TESD*1000 + 0.5)
		}
	}
	return b
}

// capability is how the film readings of a run stay within the limits of its
// powder; nil with fewer than two readings, or when they do not vary.
func (w *Viewer) capability(r *shop.Run) *CapabilityView {
	p := w.s.Powders[r.Powder]
	if p == nil || r.FilmN < 2 {
		return nil
	}
	n, sum := float64(r.FilmN), float64(r.FilmSum)
	variance := (float64(r.FilmSq) - sum*sum/n) / (n - 1)
	lim := coating.Limits{Lower: float64(p.FilmMin), Upper: float64(p.FilmMax), HasLower: true, HasUpper: p.FilmMax > p.FilmMin}
	c, err := coating.Index(int(r.FilmN), sum/n, math.Sqrt(max(variance, 0)), lim, 0.95)
	if err != nil {
		return nil
	}
	v := CapabilityView{Cpk: w.r.Style.Number(c.Cpk, 2), Low: w.r.Style.Number(c.CpkLow, 2), High: w.r.Style.Number(c.CpkHigh, 2), SD: w.r.Style.Film(measure.Film(math.Round(c.SD)))}
	if lim.HasUpper {
		v.Cp = w.r.Style.Number(c.Cp, 2)
	}
	return &v
}
