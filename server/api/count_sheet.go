package api

import (
	"time"

	"hoppertally/domain/stock"
	"hoppertally/domain/view"
)

// countSheet is the sheet for a stock count: each lot on each shelf and each vessel once,
// with room to write, and nothing of what the books say of their mass.
func countSheet(t *sheet, shown any, _ *time.Location) {
	var lines []stock.Counted
	about := map[string][]cell{"": {{}, {}}} // powder and batch of a lot; a vessel may hold several
	weighed := map[string]bool{}
	for _, v := range shown.([]view.StockView) {
		for _, l := range v.Lots {
			about[l.Lot] = []cell{words(v.Powder.Name), words(l.Batch)}
			for _, at := range l.At {
				switch place := at.Place.Name; {
				case at.Kind == "shelf":
					lines = append(lines, stock.Counted{Place: place, Lot: l.Lot})
				case at.Kind == "vessel" && !weighed[place]:
					weighed[place] = true
					lines = append(lines, stock.Counted{Place: place})
				}
			}
		}
	}
	for _, l := range stock.BlindSheet(lines) {
		t.add(words(l.Place), words(l.Lot), about[l.Lot][0], about[l.Lot][1], cell{}, cell{})
	}
}
