package phone

import (
	"fmt"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/sync/entry"
)

// A curve of more points than an entry holds is refused in its form. What a form takes
// can be recorded.
func TestACurveThatDoesNotFitInAnEntryIsRefusedInItsForm(t *testing.T) {
	g := newRig(t, 1)
	g.setUp()
	g.receive()
	l := g.lists()
	g.must(g.record("move", map[string]string{"from": g.place("shelf"), "to": g.place("vessel"), "mass": "5 kg"}))
	g.must(g.record("change.start", map[string]string{"booth": l.Booths[0].ID, "powder": l.Powders[0].ID, "level": "full"}))
	g.must(g.record("change.finish", map[string]string{"booth": l.Booths[0].ID, "minutes": "10", "mode": "waste", "feed": g.place("vessel")}))
	var run string
	for id := range g.p.fold.State().Runs {
		run = id
	}
	curve := func(n int) map[string]string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "%.3f 180\n", float64(i)/20)
		}
		return map[string]string{"run": run, "points": b.String()}
	}
	g.must(g.record("cure", curve(2200)))
	g.ms += 1000
	token, err := g.p.Prepare(g.now(), "cure", curve(3000), "")
	if err == nil {
		_, err = g.p.Seal(g.now(), token, g.n+1)
	}
	if err == nil || ProblemOf(err).Code != "form.points_many" || ProblemOf(err).Detail != "points" {
		t.Errorf("3000 points: %v", err)
	}
	if form.BodyMax+2000 > entry.EntryMax { // an envelope has names and texts of at most some hundred bytes
		t.Error("a body leaves no room for its envelope")
	}
}
