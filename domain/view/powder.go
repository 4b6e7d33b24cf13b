package view

import (
	"fmt"
	"maps"
	"slices"
	"sort"

	"hoppertally/domain/measure"
)

func (w *Viewer) powderIDs() []string {
	ids := slices.Sorted(maps.Keys(w.s.Powders))
	sort.SliceStable(ids, func(i, j int) bool { return w.s.Powders[ids[i]].Name < w.s.Powders[ids[j]].Name })
	return ids
}

// powderForms lists every powder as the form that sets it holds it.
func (w *Viewer) powderForms() []map[string]string {
	out := []map[string]string{}
	for _, id := range w.powderIDs() {
		p := w.s.Powders[id]
		m := map[string]string{"powder": id, "name": p.Name, "chemistry": p.Chemistry,
			"sg": w.r.Style.Number(float64(p.SGMilli)/1000, 3), "film_min": w.r.Style.Film(measure.Film(p.FilmMin)),
			"film_target": w.r.Style.Film(measure.Film(p.FilmTarget)), "film_max": w.r.Style.Film(measure.Film(p.FilmMax)),
			"reclaim_max": w.r.Style.Share(measure.Share(p.ReclaimMaxPM))}
		for field, text := range map[string]string{"code": p.Code, "maker": p.Maker, "finish": p.Finish} {
			if text != "" {
				m[field] = text
			}
		}
		putInt(m, "passes_max", p.PassesMax)
		putInt(m, "shelf_months", p.ShelfMonths)
		if p.StoreMaxDC != 0 {
			m["store_max"] = w.r.Style.Temp(measure.Temp(p.StoreMaxDC))
		}
		putInt(m, "lead_days", p.LeadDays)
		if p.Box != 0 {
			m["box"] = w.r.Style.Mass(p.Box)
		}
		if p.MECMGM3 != 0 {
			m["mec"] = w.r.Style.Number(float64(p.MECMGM3)/1000, 3)
		}
		if p.CureDC != 0 {
			m["cure_temp"] = w.r.Style.Temp(measure.Temp(p.CureDC))
		}
		for field, s := range map[string]int64{"cure_min": p.CureS, "cure_max": p.CureMaxS} {
			if s != 0 {
				m[field] = w.r.Style.Number(float64(s)/60, 2)
			}
		}
		if len(p.Lab) == 3 {
			m["lab"] = fmt.Sprintf("%g %g %g", p.Lab[0], p.Lab[1], p.Lab[2])
		}
		out = append(out, m)
	}
	return out
}

func putInt(m map[string]string, key string, n int64) {
	if n != 0 {
		m[key] = fmt.Sprint(n)
	}
}
