package view

import (
	"cmp"
	"maps"
	"slices"
	"strings"
)

// JobsView is which jobs a person may mean by what was typed. It tells of jobs whose
// parts were coated: a job that is only planned has no powder on it.
type JobsView struct {
	Asked string   `json:"asked"`
	Found []string `json:"found"`            // names that hold what was asked for, in any case, in order; a name that is exactly it stands alone
	More  int      `json:"more"`             // found beside those listed
	Near  []string `json:"near"`             // when none was found: the most alike, the nearest first
	CutMS int64    `json:"cut_ms,omitempty"` // jobs of runs closed earlier may be known at the server only; 0: none is missing
}

const (
	jobsMost = 20
	nearMost = 5
)

// jobs looks jobs up by a part of the name.
func (w *Viewer) jobs(asked string) JobsView {
	v := JobsView{Asked: asked, Found: []string{}, Near: []string{}}
	if past := w.s.Past; past != nil && past.Runs > 0 {
		v.CutMS = past.CutMS
	}
	all := map[string]bool{}
	for _, r := range w.s.Runs {
		for _, j := range r.Jobs {
			all[j.Job] = true
		}
	}
	if all[asked] {
		v.Found = append(v.Found, asked)
		return v
	}
	names := slices.Sorted(maps.Keys(all))
	part := strings.ToLower(strings.TrimSpace(asked))
	for _, name := range names {
		if strings.Contains(strings.ToLower(name), part) {
			v.Found = append(v.Found, name)
		}
	}
	if len(v.Found) == 0 {
		v.Near = nearest(names, part)
	}
	v.More = max(len(v.Found)-jobsMost, 0)
	v.Found = v.Found[:len(v.Found)-v.More]
	return v
}

// nearest orders names by how many pairs of neighbouring letters they share with a
// text, and leaves out those that share none.
func nearest(names []string, text string) []string {
	alike := map[string]float64{}
	want := letterPairs(text)
	for _, name := range names {
		have, shared := letterPairs(strings.ToLower(name)), 0
		for pair := range want {
			if have[pair] {
				shared++
			}
		}
		if shared > 0 {
			alike[name] = 2 * float64(shared) / float64(len(have)+len(want)) // Dice's coefficient
		}
	}
	list := slices.Collect(maps.Keys(alike))
	slices.SortFunc(list, func(a, b string) int { return cmp.Or(cmp.Compare(alike[b], alike[a]), cmp.Compare(a, b)) })
	return append([]string{}, list[:min(nearMost, len(list))]...)
}

func letterPairs(text string) map[string]bool {
	pairs, letters := map[string]bool{}, []rune(text)
	for i := 1; i < len(letters); i++ {
		pairs[string(letters[i-1:i+1])] = true
	}
	return pairs
}
