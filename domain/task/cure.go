package task

import (
	"strconv"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
)

// cure records a curve of the part's temperature: minutes and degrees, line by line.
func (p *planner) cure() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	text := p.need("points")
	var b kind.CureRead
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\n' || r == ';' }) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		if len(words) < 2 {
			p.fail("points", "form.points", line, "")
			return
		}
		minute, err := parseSigned(words[0])
		temp, tempErr := p.r.Style.ParseTemp(strings.Join(words[1:], " "))
		at := kind.CurePoint{Sec: int64(minute*60 + 0.5), TempDC: int64(temp)}
		if err != nil || tempErr != nil || !(minute >= 0 && minute <= 1440) {
			p.fail("points", "form.points", line, "")
			return
		}
		if n := len(b.Points); n > 0 && at.Sec <= b.Points[n-1].Sec {
			p.fail("points", "form.points_order", line, "")
			return
		}
		b.Points = append(b.Points, at)
	}
	if text != "" && len(b.Points) < 2 {
		p.fail("points", "form.points", text, "")
	}
	if run != nil && len(p.plan.Errors) == 0 {
		b.Run = run.Run
		if len(form.Encode(&b)) > form.BodyMax {
			p.fail("points", "form.points_many", strconv.Itoa(len(b.Points)), "")
			return
		}
		p.add("cure.read", &b)
	}
}
