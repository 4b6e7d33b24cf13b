package gun

import (
	"cmp"
	"fmt"
	"sort"

	"hoppertally/domain/measure"
)

// Setup is a way to set the gun. A zero number is not given. Charging, Parts and
// Nozzle are the shop's own words.
type Setup struct {
	ID, Name   string
	Booth      string // "" for any
	Powder     string // "" for any
	Parts      string // kind of part: open faces, inside corners, ...; "" for any
	Charging   string
	KV         int64 // 0 to 120
	UA         int64 // limit of the current, 0 to 200 µA
	MainKPA    int64 // main air, 0 to 1000 kPa
	ExtraKPA   int64 // extra air, 0 to 1000 kPa
	Nozzle     string
	DistanceMM int64 // 0 to 2000
}

// Check refuses numbers outside their range by a *measure.Fault.
func (s Setup) Check() error {
	for _, f := range []struct {
		what   string
		x, max int64
		unit   string
	}{{"kv", s.KV, 120, "kV"}, {"ua", s.UA, 200, "µA"}, {"main_kpa", s.MainKPA, 1000, "kPa"},
		{"extra_kpa", s.ExtraKPA, 1000, "kPa"}, {"distance_mm", s.DistanceMM, 2000, "mm"}} {
		if f.x < 0 || f.x > f.max {
			return measure.Refuse(f.what, f.x, fmt.Sprintf("0 to %d %s", f.max, f.unit))
		}
	}
	return nil
}

// Used is one time a set-up was used, and whether it worked.
type Used struct {
	Setup  string // id
	Booth  string
	Powder string
	Parts  string
	AtMS   int64
	Worked bool
}

// Job is what a set-up is wanted for; "" fits anything.
type Job struct{ Booth, Powder, Parts string }

// Suggestion is a set-up with what speaks for it.
type Suggestion struct {
	Setup  Setup
	Match  int   // 4 the same powder, 2 the same kind of part, 1 the same booth, added up: of the last success, else of the set-up's own words
	LastMS int64 // when it last worked for such a job; 0 when it never did
	Worked int64 // times it worked
	Failed int64 // times it did not
	Latest bool  // false when its latest use did not work
}

// Suggest puts the set-ups in the order to try them: those that worked for the
// nearest job first (the same powder counts most, then the kind of part, then the
// booth), the one that worked last before the others; then those that were never
// used, by their own words; a set-up whose latest use failed comes after those of
// the same match that did not fail; last the ones that only ever failed. A set-up made for another
// powder, kind of part or booth is not suggested unless it worked for this one.
//
// setups and uses may come in any order; uses of unknown set-ups are left out.
func Suggest(job Job, setups []Setup, uses []Used) []Suggestion {
	var list []Suggestion
	for _, s := range setups {
		g := Suggestion{Setup: s, Latest: true}
		g.Match = job.match(s.Booth, s.Powder, s.Parts)
		own := job.allows(s)
		latest, success := int64(-1), -1
		for _, u := range uses {
			if u.Setup != s.ID {
				continue
			}
			m := job.match(u.Booth, u.Powder, u.Parts)
			if u.Worked {
				g.Worked++
				if m > success || m == success && u.AtMS > g.LastMS {
					success, g.LastMS = m, u.AtMS
				}
			} else {
				g.Failed++
			}
			if u.AtMS > latest || u.AtMS == latest && !u.Worked {
				latest, g.Latest = u.AtMS, u.Worked
			}
		}
		if success >= 0 {
			g.Match = success
		}
		if own || success >= 6 { // worked for this powder and kind of part
			list = append(list, g)
		}
	}
	sort.Slice(list, func(i, j int) bool { return better(list[i], list[j]) < 0 })
	return list
}

// match adds up what is the same. A use or set-up without a word is no match.
func (j Job) match(booth, powder, parts string) (m int) {
	if powder != "" && powder == j.Powder {
		m += 4
	}
	if parts != "" && parts == j.Parts {
		m += 2
	}
	if booth != "" && booth == j.Booth {
		m++
	}
	return m
}

// allows tells whether none of the set-up's own words speaks against the job.
func (j Job) allows(s Setup) bool {
	fits := func(want, own string) bool { return want == "" || own == "" || want == own }
	return fits(j.Powder, s.Powder) && fits(j.Parts, s.Parts) && fits(j.Booth, s.Booth)
}

// rank: 2 has worked, 1 never used, 0 only failed.
func (g Suggestion) rank() int {
	switch {
	case g.Worked > 0:
		return 2
	case g.Failed == 0:
		return 1
	}
	return 0
}

func better(a, b Suggestion) int {
	latest := func(g Suggestion) int {
		if g.Latest {
			return 1
		}
		return 0
	}
	return cmp.Or(
		cmp.Compare(b.rank(), a.rank()),
		cmp.Compare(b.Match, a.Match),
		cmp.Compare(latest(b), latest(a)),
		cmp.Compare(b.LastMS, a.LastMS),
		cmp.Compare(b.Worked-b.Failed, a.Worked-a.Failed),
		cmp.Compare(a.Setup.ID, b.Setup.ID),
	)
}
