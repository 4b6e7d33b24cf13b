package view

import (
	"slices"

	"hoppertally/domain/booth"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// ChangeView is a colour change, open or finished.
type ChangeView struct {
	Change     string     `json:"change"` // id of the entry that started it
	Booth      Ref        `json:"booth"`
	From       *PowderRef `json:"from,omitempty"`
	To         PowderRef  `json:"to"`
	Level      string     `json:"level"`
	Needed     string     `json:"needed"`
	Below      bool       `json:"below"` // cleaned less than the rule asks
	StartedMS  int64      `json:"started_ms"`
	FinishedMS int64      `json:"finished_ms,omitempty"`
	Minutes    int64      `json:"minutes,omitempty"`
	Crew       int64      `json:"crew,omitempty"`
	Scrapped   Qty        `json:"scrapped"`
	By         Ref        `json:"by"`
}

// CleanView is a cleanout.
type CleanView struct {
	Level   string `json:"level"`
	AtMS    int64  `json:"at_ms"`
	By      Ref    `json:"by"`
	Minutes int64  `json:"minutes,omitempty"`
	Crew    int64  `json:"crew,omitempty"`
}

// NeedView is the cleaning level that a pair of powders needs, and why.
type NeedView struct {
	Level   string       `json:"level"`   // purge, blowdown, full, strip
	Minutes int64        `json:"minutes"` // by the rule
	People  int64        `json:"people"`
	Expect  int64        `json:"expect"`  // minutes: the rule and the shop's own changes of this pair
	Changes int64        `json:"changes"` // of them; 0 when it is the rule alone
	Reasons []ReasonView `json:"reasons"`
}

// ReasonView is one rule that spoke: its code has words in every language.
type ReasonView struct {
	Code  string `json:"code"`
	Level string `json:"level"`
	Text  string `json:"text,omitempty"` // figures to show with it, such as "ΔE00 74.0"
	From  string `json:"from,omitempty"` // chemistry or finish before, where that is the reason
	To    string `json:"to,omitempty"`   // and after
}

// changes are the newest colour changes, at most that many.
func (w *Viewer) changes(most int) []ChangeView {
	n := min(len(w.s.Changes), most)
	out := make([]ChangeView, 0, n)
	for _, c := range slices.Backward(w.s.Changes[len(w.s.Changes)-n:]) {
		out = append(out, w.change(c))
	}
	return out
}

func (w *Viewer) change(c *shop.Change) ChangeView {
	return ChangeView{Change: c.Entry, Booth: w.boothRef(c.Booth), From: w.powder(c.From), To: *w.powder(c.To), Level: c.Level,
		Needed: c.Needed, Below: kind.LevelRank(c.Level) < kind.LevelRank(c.Needed), StartedMS: c.StartedMS, FinishedMS: c.FinishedMS,
		Minutes: c.Minutes, Crew: c.Crew, Scrapped: w.Qty(c.Scrapped), By: w.person(c.By)}
}

func (w *Viewer) needFor(boothID, powder string) NeedView {
	s := w.s
	from, recovery := "", false
	if b := s.Booths[boothID]; b != nil {
		from = b.Powder
		if r := s.Runs[b.Run]; r != nil {
			recovery = r.Mode != "waste"
		}
	}
	return w.Need(from, powder, s.Need(from, powder, recovery))
}

func (w *Viewer) needAt(boothID, from, to string) NeedView {
	recovery := false
	if r := w.s.Run(w.s.Booths[boothID].Run); r != nil {
		recovery = r.Mode != "waste"
	}
	return w.Need(from, to, w.s.Need(from, to, recovery))
}

// Need is what a change from one powder to another asks for, and how long it is
// expected to take.
func (w *Viewer) Need(from, to string, n booth.Need) NeedView {
	e := w.s.ExpectedMinutes(from, to, n.Minutes, w.r.NowMS)
	v := NeedView{Expect: int64(e.Minutes + 0.5), Changes: e.Changes, Level: string(n.Level), Minutes: int64(n.Minutes + 0.5), People: n.People, Reasons: []ReasonView{}}
	for _, r := range n.Reasons {
		rv := ReasonView{Code: string(r.Code), Level: string(r.Level)}
		switch {
		case r.DeltaE != 0:
			rv.Text = "ΔE00 " + w.r.Style.Number(r.DeltaE, 1)
		case r.From != "" || r.To != "":
			rv.From, rv.To = r.From, r.To
		}
		v.Reasons = append(v.Reasons, rv)
	}
	return v
}
