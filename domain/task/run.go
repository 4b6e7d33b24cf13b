package task

import (
	"strings"

	"hoppertally/domain/kind"
)

func (p *planner) parts() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	job, count := p.need("job"), p.number("count", 1, most(new(kind.PartsCoated), "count"), true)
	area := quantity(p, "area", true, p.r.Style.ParseArea)
	coats := p.number("coats", 0, most(new(kind.PartsCoated), "coats"), false)
	if run == nil || p.text("area") == "" {
		return
	}
	p.add("parts.coated", &kind.PartsCoated{Run: run.Run, Job: job, Count: count, AreaCM2: int64(area), Coats: max(coats, 1)})
}

func (p *planner) film() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	var spots []int64
	for _, word := range strings.Fields(strings.ReplaceAll(p.need("spots"), ";", " ")) {
		f, err := p.r.Style.ParseFilm(word)
		if p.badNumber("spots", word, err); err != nil {
			return
		}
		spots = append(spots, int64(f))
	}
	if run != nil && len(spots) > 0 {
		p.add("film.read", &kind.FilmRead{Run: run.Run, Spots: spots})
	}
}

func (p *planner) runClose() {
	if run := known(p, "run", p.s.Runs, "form.unknown_run"); run != nil {
		p.touch(run.Feed)
		p.add("run.closed", &kind.RunClosed{Run: run.Run})
	}
}
