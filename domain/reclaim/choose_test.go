package reclaim_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	m "hoppertally/domain/measure"
	"hoppertally/domain/reclaim"

	"pgregory.net/rapid"
)

func lot(id string, mass m.Mass, useBy string) reclaim.Source {
	return reclaim.Source{ID: id, Powder: "p", Mass: mass, Fines: 0.04, UseBy: useBy}
}

func bin(id string, mass m.Mass, passes, fines float64) reclaim.Source {
	return reclaim.Source{ID: id, Powder: "p", Mass: mass, Reclaim: mass, Passes: passes, Fines: fines}
}

func TestChoose(t *testing.T) {
	wide := reclaim.Limits{Share: 300, Fines: 1, Passes: 99}
	tests := []struct {
		name    string
		want    m.Mass
		sources []reclaim.Source
		lim     reclaim.Limits
		taken   []reclaim.Taken
		binding []reclaim.Limit
		clash   []reclaim.Limit
		source  string
	}{
		{"share decides, lots in the order offered", 20 * kg,
			[]reclaim.Source{bin("bin", 10*kg, 1.5, 0.08), lot("old", 4*kg, ""), lot("new", 25*kg, "")}, wide,
			[]reclaim.Taken{{ID: "bin", Mass: 6 * kg}, {ID: "old", Mass: 4 * kg}, {ID: "new", Mass: 10 * kg}}, []reclaim.Limit{reclaim.LimitShare}, nil, "by hand: 0.3·20"},
		{"of two bins the one with fewer passes", 20 * kg,
			[]reclaim.Source{bin("tired", 10*kg, 4, 0.08), bin("fresh", 10*kg, 1, 0.08), lot("lot", 25*kg, "")}, wide,
			[]reclaim.Taken{{ID: "fresh", Mass: 6 * kg}, {ID: "lot", Mass: 14 * kg}}, []reclaim.Limit{reclaim.LimitShare}, nil, "our rule: most reclaim, then least passes"},
		{"of two bins alike the one offered first", 20 * kg,
			[]reclaim.Source{bin("older", 4*kg, 2, 0.08), bin("newer", 10*kg, 2, 0.08), lot("lot", 25*kg, "")}, wide,
			[]reclaim.Taken{{ID: "older", Mass: 4 * kg}, {ID: "newer", Mass: 2 * kg}, {ID: "lot", Mass: 14 * kg}}, []reclaim.Limit{reclaim.LimitShare}, nil, "our rule"},
		{"fines decide", 20 * kg,
			[]reclaim.Source{bin("bin", 10*kg, 1, 0.14), lot("lot", 25*kg, "")}, reclaim.Limits{Share: 300, Fines: 0.06, Passes: 99},
			[]reclaim.Taken{{ID: "bin", Mass: 4 * kg}, {ID: "lot", Mass: 16 * kg}}, []reclaim.Limit{reclaim.LimitFines}, nil, "by hand: (0.06−0.04)/(0.14−0.04) = 0.2"},
		{"passes decide", 20 * kg,
			[]reclaim.Source{bin("bin", 10*kg, 2, 0.08), lot("lot", 25*kg, "")}, reclaim.Limits{Share: 300, Fines: 1, Passes: 0.25},
			[]reclaim.Taken{{ID: "bin", Mass: 2500 * m.Gram}, {ID: "lot", Mass: 17500 * m.Gram}}, []reclaim.Limit{reclaim.LimitPasses}, nil, "by hand: 2·2.5/20 = 0.25"},
		{"little reclaim: the stock decides", 20 * kg,
			[]reclaim.Source{bin("bin", 2*kg, 1, 0.08), lot("lot", 25*kg, "")}, wide,
			[]reclaim.Taken{{ID: "bin", Mass: 2 * kg}, {ID: "lot", Mass: 18 * kg}}, []reclaim.Limit{reclaim.LimitStock}, nil, "by hand"},
		{"an expired lot is left alone", 10 * kg,
			[]reclaim.Source{lot("expired", 25*kg, "2026-03-31"), lot("good", 25*kg, "2026-04-01")}, reclaim.Limits{Share: 0, Fines: 1, Passes: 99, Day: "2026-04-01"},
			[]reclaim.Taken{{ID: "good", Mass: 10 * kg}}, []reclaim.Limit{reclaim.LimitShare}, nil, "use by that day, inclusive"},
		{"only an expired lot: the shelf life clashes with what there is", 10 * kg,
			[]reclaim.Source{lot("expired", 25*kg, "2026-03-31")}, reclaim.Limits{Share: 300, Fines: 1, Passes: 99, Day: "2026-04-01"},
			nil, nil, []reclaim.Limit{reclaim.LimitShelf}, "by hand"},
		{"too little of everything", 10 * kg, []reclaim.Source{lot("lot", 4*kg, "")}, wide,
			nil, nil, []reclaim.Limit{reclaim.LimitStock}, "by hand"},
		{"nothing offered", 10 * kg, nil, wide, nil, nil, []reclaim.Limit{reclaim.LimitStock}, "by hand"},
		{"reclaim enough but virgin is short", 10 * kg, []reclaim.Source{bin("bin", 20*kg, 1, 0.05), lot("lot", 4*kg, "")}, wide,
			nil, nil, []reclaim.Limit{reclaim.LimitShare, reclaim.LimitStock}, "by hand: 4 kg of virgin carry 5.7 kg"},
		{"a mixed bin counts with its reclaim only", 10 * kg,
			[]reclaim.Source{{ID: "hopper", Powder: "p", Mass: 10 * kg, Reclaim: 5 * kg, Passes: 0.6, Fines: 0.05}, lot("lot", 25*kg, "")}, wide,
			[]reclaim.Taken{{ID: "hopper", Mass: 6 * kg}, {ID: "lot", Mass: 4 * kg}}, []reclaim.Limit{reclaim.LimitShare}, nil, "by hand: 0.5·6 = 0.3·10"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := reclaim.Choose("p", tt.want, tt.sources, tt.lim)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Taken) != len(tt.taken) || !slices.Equal(got.Clash, tt.clash) || !slices.Equal(got.Binding, tt.binding) {
				t.Fatalf("%+v; want %v, binding %v, clash %v (%s)", got, tt.taken, tt.binding, tt.clash, tt.source)
			}
			for i, x := range got.Taken { // figures of the solver: to 2 mg
				if w := tt.taken[i]; x.ID != w.ID || max(x.Mass-w.Mass, w.Mass-x.Mass) > 2 {
					t.Errorf("take %v; want %v (%s)", got.Taken, tt.taken, tt.source)
				}
			}
		})
	}
}

func TestChooseRefuses(t *testing.T) {
	ok := reclaim.Limits{Share: 300, Fines: 1, Passes: 9}
	with := func(change func(*reclaim.Source)) []reclaim.Source {
		s := lot("lot", kg, "")
		change(&s)
		return []reclaim.Source{s}
	}
	tests := []struct {
		name    string
		want    m.Mass
		sources []reclaim.Source
		lim     reclaim.Limits
		field   string
	}{
		{"no charge at all", 0, nil, ok, "want_mg"},
		{"another powder", kg, with(func(s *reclaim.Source) { s.Powder = "other" }), ok, "sources[0].powder"},
		{"negative mass", kg, with(func(s *reclaim.Source) { s.Mass = -1 }), ok, "sources[0].mass_mg"},
		{"more reclaim than mass", kg, with(func(s *reclaim.Source) { s.Reclaim = 2 * kg }), ok, "sources[0].reclaim_mg"},
		{"passes not a number", kg, with(func(s *reclaim.Source) { s.Passes = math.NaN() }), ok, "sources[0].passes"},
		{"fines above all", kg, with(func(s *reclaim.Source) { s.Fines = 1.01 }), ok, "sources[0].fines"},
		{"share above all", kg, nil, reclaim.Limits{Share: 1001}, "share_pm"},
		{"limit on fines not a number", kg, nil, reclaim.Limits{Fines: math.NaN()}, "fines_max"},
		{"infinite passes", kg, nil, reclaim.Limits{Passes: math.Inf(1)}, "passes_max"},
		{"more sources than a shop has", kg, make([]reclaim.Source, reclaim.SourcesMax+1), ok, "sources"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := reclaim.Choose("p", tt.want, tt.sources, tt.lim)
			var f *m.Fault
			if !errors.As(err, &f) || f.What != tt.field {
				t.Errorf("error %v; want a fault of %s", err, tt.field)
			}
		})
	}
}

// The choice keeps every limit and is no worse than any mixture in steps of a
// twentieth of the charge.
func TestChooseAgainstAllMixtures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const want, steps = m.Mass(2_000_000), 20
		n := rapid.IntRange(1, 4).Draw(t, "sources")
		tenth := func(hi int, what string) float64 { return float64(rapid.IntRange(0, hi).Draw(t, what)) / 10 }
		sources := make([]reclaim.Source, n)
		for i := range sources {
			mass := m.Mass(rapid.IntRange(0, 30).Draw(t, "mass")) * want / steps
			s := reclaim.Source{ID: fmt.Sprint(i), Powder: "p", Mass: mass, Fines: tenth(4, "fines")}
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 1:
				s.Reclaim, s.Passes = mass, 1+tenth(40, "passes")
			case 2:
				s.Reclaim, s.Passes = mass/2, tenth(20, "passes")
			}
			sources[i] = s
		}
		lim := reclaim.Limits{Share: m.Share(100 * rapid.IntRange(0, 10).Draw(t, "share")), Fines: tenth(4, "fines max"), Passes: tenth(30, "passes max")}
		got, err := reclaim.Choose("p", want, sources, lim)
		if err != nil {
			t.Fatal(err)
		}
		reclaimBest, passesBest := bestMixture(want, steps, sources, lim)
		if got.Taken == nil {
			if reclaimBest >= 0 {
				t.Fatalf("no choice (%v), but a mixture with %v reclaim keeps all limits", got.Clash, reclaimBest)
			}
			return
		}
		sum := got.Short
		for _, x := range got.Taken {
			sum += x.Mass
		}
		const eps = 1e-5
		if sum != want || got.Short > 4 || 1000*got.Reclaim > m.Mass(lim.Share)*want || got.Fines > lim.Fines+eps || got.Passes > lim.Passes+eps {
			t.Fatalf("%+v breaks %+v", got, lim)
		}
		if float64(got.Reclaim) < reclaimBest-float64(want)*eps {
			t.Fatalf("%+v uses less reclaim than the mixture with %v", got, reclaimBest)
		}
		if math.Abs(float64(got.Reclaim)-reclaimBest) < 10 && got.Passes > passesBest+eps {
			t.Fatalf("%+v has more passes than the mixture with %v", got, passesBest)
		}
	})
}

func bestMixture(want m.Mass, steps int, sources []reclaim.Source, lim reclaim.Limits) (best, bestPasses float64) {
	best = -1
	var walk func(i, left int, rec, passes, fines float64)
	walk = func(i, left int, rec, passes, fines float64) {
		if i == len(sources) {
			if left > 0 || rec*1000 > float64(lim.Share)*float64(steps)+1e-9 || fines > lim.Fines*float64(steps)+1e-9 || passes > lim.Passes*float64(steps)+1e-9 {
				return
			}
			rec *= float64(want) / float64(steps)
			passes /= float64(steps)
			if rec > best+0.5 || rec > best-0.5 && passes < bestPasses {
				best, bestPasses = rec, passes
			}
			return
		}
		s := sources[i]
		for k := 0; k <= left && m.Mass(k)*want/m.Mass(steps) <= s.Mass; k++ {
			share := 0.0
			if s.Mass > 0 {
				share = float64(s.Reclaim) / float64(s.Mass)
			}
			f := float64(k)
			walk(i+1, left-k, rec+f*share, passes+f*s.Passes, fines+f*s.Fines)
		}
	}
	walk(0, steps, 0, 0, 0)
	return best, bestPasses
}

// With one bin and one lot and the share the only limit, Choose and Charge agree.
func TestChooseAgreesWithCharge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mass := rapid.Int64Range(1, 2_000*int64(kg))
		want, rec := m.Mass(mass.Draw(t, "want")), m.Mass(mass.Draw(t, "reclaim"))
		share := m.Share(rapid.Int64Range(0, 1000).Draw(t, "share"))
		c, err := reclaim.Charge(want, share, rec, m.MassMax-1)
		if err != nil {
			t.Fatal(err)
		}
		got, err := reclaim.Choose("p", want, []reclaim.Source{bin("bin", rec, 1, 0), lot("lot", m.MassMax-1, "")}, reclaim.Limits{Share: share, Fines: 1, Passes: 99})
		if err != nil || got.Reclaim != c.Reclaim || got.Short != 0 {
			t.Fatalf("Choose %+v, %v; Charge %+v", got, err, c)
		}
	})
}

// Many sources, as many as a shop may offer, are solved too.
func TestChooseFromManySources(t *testing.T) {
	var sources []reclaim.Source
	for i := range reclaim.SourcesMax {
		if i%2 == 0 {
			sources = append(sources, bin(fmt.Sprint(i), kg, 1+float64(i)/10, 0.1))
		} else {
			sources = append(sources, lot(fmt.Sprint(i), kg, ""))
		}
	}
	got, err := reclaim.Choose("p", 25*kg, sources, reclaim.Limits{Share: 400, Fines: 0.2, Passes: 10})
	if err != nil || got.Reclaim != 10*kg || got.Short != 0 {
		t.Fatalf("%+v, %v; want 10 kg of reclaim", got, err)
	}
	for i, x := range got.Taken { // the ten bins with the fewest passes and the first fifteen lots
		if x.Mass != kg || i < 20 && x.ID != fmt.Sprint(i) {
			t.Errorf("taken %v", got.Taken)
		}
	}
}

// The solver answers for any figures, and what it gives keeps the limits.
func TestChooseNeverGivesUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := m.Mass(rapid.Int64Range(1, int64(1)<<rapid.IntRange(1, 45).Draw(t, "bits")).Draw(t, "want"))
		sources := make([]reclaim.Source, rapid.IntRange(0, 12).Draw(t, "sources"))
		for i := range sources {
			s := reclaim.Source{ID: fmt.Sprint(i), Powder: "p", Mass: m.Mass(rapid.Int64Range(0, 2*int64(want)).Draw(t, "mass")),
				Passes: rapid.Float64Range(0, 99).Draw(t, "passes"), Fines: rapid.Float64Range(0, 1).Draw(t, "fines")}
			s.Reclaim = m.Mass(rapid.Int64Range(0, int64(s.Mass)).Draw(t, "reclaim"))
			sources[i] = s
		}
		lim := reclaim.Limits{Share: m.Share(rapid.Int64Range(0, 1000).Draw(t, "share")), Fines: rapid.Float64Range(0, 1).Draw(t, "fines max"), Passes: rapid.Float64Range(0, 99).Draw(t, "passes max")}
		got, err := reclaim.Choose("p", want, sources, lim)
		if err != nil {
			t.Fatal(err)
		}
		sum := got.Short
		for _, x := range got.Taken {
			sum += x.Mass
		}
		if got.Clash == nil && (sum != want || 1000*got.Reclaim > m.Mass(lim.Share)*want && got.Reclaim > 0) {
			t.Fatalf("%+v does not add up to %d or passes the share %d", got, want, lim.Share)
		}
		if step := float64(len(sources)+1) / float64(want); got.Clash == nil && sum > got.Short &&
			(got.Fines > lim.Fines+1e-6+step || got.Passes > lim.Passes+1e-4+99*step) {
			t.Fatalf("%+v passes %+v", got, lim)
		}
	})
}
