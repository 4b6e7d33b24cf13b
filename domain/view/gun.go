package view

import (
	"cmp"
	"maps"
	"slices"
	"sort"

	"hoppertally/domain/gun"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// GunView is how the guns of a booth are set, what they give and whether the booth
// is grounded.
type GunView struct {
	Booth    Ref           `json:"booth"`
	Powder   *PowderRef    `json:"powder,omitempty"` // in the gun now; the tests are of it
	Run      string        `json:"run,omitempty"`    // the open run
	Setup    *SetupView    `json:"setup,omitempty"`  // the open run's
	Ground   *GroundView   `json:"ground,omitempty"`
	Setups   []SetupView   `json:"setups"`   // in the order to try them for this powder
	Outputs  []OutputView  `json:"outputs"`  // by main air
	Deposits []DepositView `json:"deposits"` // by output
	Cures    []CureView    `json:"cures"`    // of the open run, the latest first
}

// GroundView is a check of the grounding.
type GroundView struct {
	AtMS int64  `json:"at_ms"`
	By   Ref    `json:"by"`
	OK   bool   `json:"ok"` // said to be, and not above the highest resistance
	Ohm  string `json:"ohm,omitempty"`
}

// SetupView is a set-up of the gun.
type SetupView struct {
	Setup   string     `json:"setup"`
	Name    string     `json:"name"`
	Powder  *Ref       `json:"powder,omitempty"`
	Parts   string     `json:"parts,omitempty"`
	Figures []FactView `json:"figures"`
	Worked  bool       `json:"worked"`
	Runs    int64      `json:"runs"` // listed runs with it
	LastMS  int64      `json:"last_ms,omitempty"`
	Look    []string   `json:"look"` // codes: what is out of the usual, see gun.Look
}

// OutputView is one weigh test of the gun.
type OutputView struct {
	Main string `json:"main"`
	Flow string `json:"flow"`
	AtMS int64  `json:"at_ms"`
}

// DepositView is one weighed transfer efficiency.
type DepositView struct {
	Flow string `json:"flow"`
	TE   string `json:"te"`
	TEPM int64  `json:"te_pm"`
	AtMS int64  `json:"at_ms"`
}

func (w *Viewer) gun(id string) (GunView, error) {
	b := w.boothOr(id)
	if b == nil {
		return GunView{}, &Error{"unknown_booth", id}
	}
	v := GunView{Booth: w.boothRef(b.Booth), Powder: w.powder(b.Powder), Run: b.Run, Setups: w.setups(b),
		Outputs: []OutputView{}, Deposits: []DepositView{}, Cures: []CureView{}}
	if g := b.Ground; g.AtMS != 0 {
		v.Ground = w.ground(g)
	}
	if run := w.s.Run(b.Run); run != nil {
		v.Cures = w.cures(run)
		if s := w.s.Setups[run.Setup]; s != nil {
			x := w.setup(s)
			v.Setup = &x
		}
	}
	st := w.r.Style
	outputs, deposits := slices.Clone(b.Outputs), slices.Clone(b.Deposits)
	sort.Slice(outputs, func(i, j int) bool { return outputs[i].MainKPA < outputs[j].MainKPA })
	sort.Slice(deposits, func(i, j int) bool { return deposits[i].MGPerMin < deposits[j].MGPerMin })
	for _, p := range outputs {
		if p.Powder == b.Powder {
			v.Outputs = append(v.Outputs, OutputView{st.Pressure(p.MainKPA), st.Rate(measure.Mass(p.MGPerMin)), p.AtMS})
		}
	}
	for _, p := range deposits {
		if p.Powder == b.Powder {
			v.Deposits = append(v.Deposits, DepositView{st.Rate(measure.Mass(p.MGPerMin)), st.Share(measure.Share(p.TEPM)), p.TEPM, p.AtMS})
		}
	}
	return v, nil
}

func (w *Viewer) ground(g shop.Ground) *GroundView {
	v := GroundView{AtMS: g.AtMS, By: w.person(g.By), OK: g.Good()}
	if g.Ohm > 0 {
		v.Ohm = w.r.Style.Ohm(g.Ohm)
	}
	return &v
}

// setups are the set-ups to try for the powder in the gun, the best first.
func (w *Viewer) setups(b *shop.Booth) []SetupView {
	s := w.s
	out := []SetupView{}
	var list []gun.Setup
	for _, id := range slices.Sorted(maps.Keys(s.Setups)) {
		list = append(list, s.Setups[id].Gun())
	}
	var uses []gun.Used
	for _, r := range w.runsByTime() {
		if x := s.Setups[r.Setup]; x != nil {
			uses = append(uses, gun.Used{Setup: x.Setup, Booth: r.Booth, Powder: r.Powder, Parts: x.Parts, AtMS: r.OpenedMS, Worked: x.Worked})
		}
	}
	for _, x := range gun.Suggest(gun.Job{Booth: b.Booth, Powder: b.Powder}, list, uses) {
		v := w.setup(s.Setups[x.Setup.ID])
		v.Runs, v.LastMS = x.Worked+x.Failed, x.LastMS
		out = append(out, v)
	}
	return out
}

func (w *Viewer) setup(b *kind.SetupSet) SetupView {
	v := SetupView{Setup: b.Setup, Name: cmp.Or(b.Name, b.Parts, b.Setup), Parts: b.Parts, Worked: b.Worked, Figures: []FactView{}, Look: gun.Look(b.Gun())}
	if b.Powder != "" {
		v.Powder = &Ref{b.Powder, w.powder(b.Powder).Name}
	}
	if v.Look == nil {
		v.Look = []string{}
	}
	for _, f := range []struct {
		label, unit string
		n           int64
	}{{"kv", "kV", b.KV}, {"ua", "µA", b.UA}, {"main_kpa", "kPa", b.MainKPA}, {"extra_kpa", "kPa", b.ExtraKPA}, {"distance_mm", "mm", b.DistanceMM}} {
		if f.n != 0 {
			v.Figures = append(v.Figures, FactView{f.label, w.number(f.label, f.unit, f.n)})
		}
	}
	for _, f := range []FactView{{"charging", b.Charging}, {"nozzle", b.Nozzle}} {
		if f.Text != "" {
			v.Figures = append(v.Figures, f)
		}
	}
	return v
}

// setupForms lists the set-ups as the form that sets them holds them.
func (w *Viewer) setupForms() []map[string]string {
	out := []map[string]string{}
	st := w.r.Style
	for _, id := range slices.Sorted(maps.Keys(w.s.Setups)) {
		b := w.s.Setups[id]
		m := map[string]string{"setup": id}
		for field, text := range map[string]string{"name": b.Name, "booth": b.Booth, "powder": b.Powder, "parts": b.Parts, "charging": b.Charging, "nozzle": b.Nozzle} {
			if text != "" {
				m[field] = text
			}
		}
		putInt(m, "kv", b.KV)
		putInt(m, "ua", b.UA)
		for field, kPa := range map[string]int64{"main": b.MainKPA, "extra": b.ExtraKPA} {
			if kPa != 0 {
				m[field] = st.Pressure(kPa)
			}
		}
		if b.DistanceMM != 0 {
			m["distance"] = st.Length(b.DistanceMM)
		}
		if b.Worked {
			m["worked"] = "yes"
		}
		out = append(out, m)
	}
	return out
}
