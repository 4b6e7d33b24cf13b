package api

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"hoppertally/domain/view"

	"github.com/xuri/excelize/v2"
)

// cell is one field of a table: a number or words.
type cell struct {
	text     string
	isNumber bool
}

// sheet is a table: a row of names, and rows of as many cells.
type sheet struct {
	head []string
	rows [][]cell
}

func words(s string) cell          { return cell{text: s} }
func number64(n int64) cell        { return cell{strconv.FormatInt(n, 10), true} }
func mass(q view.Qty) cell         { return cell{kg(q.MG), true} }
func yes(b bool) cell              { return cell{text: map[bool]string{true: "yes", false: "no"}[b]} }
func share(pm int64) cell          { return blankBelowZero(pm, pm) }
func (t *sheet) add(cells ...cell) { t.rows = append(t.rows, cells) }

// blankBelowZero leaves a figure out that is not known.
func blankBelowZero(n, shown int64) cell {
	if n < 0 {
		return cell{}
	}
	return number64(shown)
}

// when prints a time with its offset; 0 is not yet.
func when(ms int64, zone *time.Location) cell {
	if ms == 0 {
		return cell{}
	}
	return words(time.UnixMilli(ms).In(zone).Format("2006-01-02T15:04:05-07:00"))
}

// xlsx is the table as a workbook of one sheet: numbers as numbers, words as
// words (never as formulas, so they need no apostrophe).
func (t *sheet) xlsx(name string) ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetSheetName("Sheet1", name); err != nil {
		return nil, fmt.Errorf("export %s: %w", name, err)
	}
	w, err := f.NewStreamWriter(name)
	if err != nil {
		return nil, fmt.Errorf("export %s: %w", name, err)
	}
	head := make([]any, len(t.head))
	for i, h := range t.head {
		head[i] = h
	}
	if err := w.SetRow("A1", head); err != nil {
		return nil, fmt.Errorf("export %s: %w", name, err)
	}
	for i, row := range t.rows {
		if err := w.SetRow("A"+strconv.Itoa(i+2), values(row)); err != nil {
			return nil, fmt.Errorf("export %s row %d: %w", name, i+2, err)
		}
	}
	if err := w.Flush(); err != nil {
		return nil, fmt.Errorf("export %s: %w", name, err)
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, fmt.Errorf("export %s: %w", name, err)
	}
	return b.Bytes(), nil
}

// values are a row's cells for a spreadsheet. A mass in kg to the milligram has at
// most 16 digits below 9 Tg, which its numbers hold.
func values(row []cell) []any {
	out := make([]any, len(row))
	for i, c := range row {
		if x, err := strconv.ParseFloat(c.text, 64); c.isNumber && err == nil {
			out[i] = x
		} else {
			out[i] = c.text
		}
	}
	return out
}

// tableOf says how a view becomes a table.
type tableOf struct {
	view string // the view it is made of
	head []string
	rows func(t *sheet, view any, zone *time.Location)
}

func tableNames() []string { return slices.Sorted(maps.Keys(tables)) }

// tables by name. Masses are in kg.
var tables = map[string]tableOf{
	"stock": {"stock", []string{"powder", "code", "finish", "total_kg", "shelf_kg", "vessels_kg", "reclaim_kg", "blocked_kg", "reclaim_limit_permille"},
		func(t *sheet, shown any, _ *time.Location) {
			for _, v := range shown.([]view.StockView) {
				t.add(words(v.Powder.Name), words(v.Powder.Code), words(v.Powder.Finish), mass(v.Total), mass(v.Shelf), mass(v.Vessels),
					mass(v.Reclaim), mass(v.Blocked), number64(v.LimitPM))
			}
		}},
	"lots": {"stock", []string{"powder", "lot", "batch", "state", "turn", "stock_kg", "received_kg", "received_at", "made", "use_by", "held_why", "where"},
		func(t *sheet, shown any, zone *time.Location) {
			for _, v := range shown.([]view.StockView) {
				for _, l := range v.Lots {
					t.add(words(v.Powder.Name), words(l.Lot), words(l.Batch), words(l.State), number64(int64(l.Turn)), mass(l.Stock), mass(l.Received),
						when(l.ReceivedMS, zone), words(l.Made), words(l.UseBy), words(l.HeldWhy), words(where(l.At)))
				}
			}
		}},
	"count-sheet": {"stock", []string{"place", "lot", "powder", "batch", "found_kg", "counted_by"}, countSheet},
	"runs": {"runs", []string{"run", "booth", "powder", "mode", "open", "opened_at", "closed_at", "gross_kg", "on_parts_kg", "recovered_kg", "scrapped_kg",
		"lost_kg", "transfer_permille", "use_permille", "estimated", "film_readings", "jobs"},
		func(t *sheet, shown any, zone *time.Location) {
			for _, v := range shown.([]view.RunView) {
				b := v.Balance
				t.add(words(v.Run), words(v.Booth.Name), words(v.Powder.Name), words(v.Mode), yes(v.Open), when(v.OpenedMS, zone), when(v.ClosedMS, zone),
					mass(b.Gross), mass(b.OnParts), mass(b.Recovered), mass(b.Scrapped), mass(b.Lost), share(b.TEPM), share(b.UsePM), yes(b.Estimated),
					number64(int64(v.Readings)), words(jobs(v.Jobs)))
			}
		}},
	"changes": {"changes", []string{"change", "booth", "from", "to", "level", "needed", "below_needed", "started_at", "finished_at", "minutes", "crew", "scrapped_kg", "by"},
		func(t *sheet, shown any, zone *time.Location) {
			for _, v := range shown.([]view.ChangeView) {
				from := ""
				if v.From != nil {
					from = v.From.Name
				}
				t.add(words(v.Change), words(v.Booth.Name), words(from), words(v.To.Name), words(v.Level), words(v.Needed), yes(v.Below),
					when(v.StartedMS, zone), when(v.FinishedMS, zone), number64(v.Minutes), number64(v.Crew), mass(v.Scrapped), words(v.By.Name))
			}
		}},
	"entries": {"entries", []string{"entry", "kind", "by", "at", "outcome", "reason", "late", "voided", "void_why", "facts"},
		func(t *sheet, shown any, zone *time.Location) {
			for _, v := range shown.([]view.EntryView) {
				t.add(words(v.ID), words(v.Kind), words(v.By.Name), when(v.AtMS, zone), words(v.Outcome), words(v.Reason), yes(v.Late), yes(v.Voided),
					words(v.VoidWhy), words(facts(v.Facts)))
			}
		}},
	"attention": {"attention", []string{"code", "entry", "kind", "by", "at", "place", "powder", "lot", "run", "mass_kg", "detail"},
		func(t *sheet, shown any, zone *time.Location) {
			for _, v := range shown.([]view.AttentionView) {
				amount := cell{}
				if v.Mass != nil {
					amount = mass(*v.Mass)
				}
				t.add(words(v.Code), words(v.Entry), words(v.Kind), words(v.By.Name), when(v.AtMS, zone), ref(v.Place), ref(v.Powder), ref(v.Lot),
					words(v.Run), amount, words(v.Detail))
			}
		}},
}

func ref(r *view.Ref) cell {
	if r == nil {
		return cell{}
	}
	return words(r.Name)
}

func where(at []view.LotAt) string {
	parts := make([]string, len(at))
	for i, a := range at {
		parts[i] = a.Place.Name + " " + kg(a.Mass.MG)
	}
	return strings.Join(parts, "; ")
}

func jobs(list []view.JobView) string {
	parts := make([]string, len(list))
	for i, j := range list {
		parts[i] = j.Job + " " + strconv.FormatInt(j.Count, 10)
	}
	return strings.Join(parts, "; ")
}

func facts(list []view.FactView) string {
	parts := make([]string, len(list))
	for i, f := range list {
		parts[i] = f.Label + ": " + f.Text
	}
	return strings.Join(parts, "; ")
}
