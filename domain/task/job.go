package task

import "hoppertally/domain/kind"

// plan records work to come; a job of the same name is planned anew.
func (p *planner) planJob() {
	job, w := p.need("job"), known(p, "powder", p.s.Powders, "form.unknown_powder")
	count := p.number("count", 1, most(new(kind.JobPlanned), "count"), true)
	area := quantity(p, "area", true, p.r.Style.ParseArea)
	due := p.date("due")
	if w != nil {
		p.addIfGood("job.planned", &kind.JobPlanned{Job: job, Powder: w.Powder, Count: count, AreaCM2: int64(area), Due: due})
	}
}
