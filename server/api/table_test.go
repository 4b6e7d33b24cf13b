package api_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"hoppertally/domain/measure"
	"hoppertally/domain/view"
	"hoppertally/server/api"

	"github.com/xuri/excelize/v2"
)

func TestTheJSONExportIsThePhonesViewToTheByte(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	ana.push(ana.entry("powder.moved", moved), ana.entry("place.weighed", `{"place":"hopper-1","mass_mg":600}`))
	params := map[string]string{"run": "", "trace": `{"lot":"lot-1","min_pm":0}`, "place": `{"place":"hopper-1"}`, "need": `{"powder":"pw-1"}`, "entries": `{"place":"hopper-1","max":3}`}
	for _, lang := range []string{"en", "es"} {
		r := view.Reader{Person: "p-ana", Role: "coater", Style: measure.Style{Units: "us", Lang: lang}, NowMS: 1_800_000_000_000, OffsetMin: -300}
		for _, name := range view.Names() {
			want, err := p.house.Books.View(r, name, []byte(params[name]))
			if err != nil {
				continue // run, booth: there are none
			}
			query := "units=us&lang=" + lang + "&now_ms=1800000000000&offset_min=-300"
			for _, kv := range strings.Split(strings.Trim(params[name], "{}"), ",") {
				if k, v, ok := strings.Cut(strings.ReplaceAll(kv, `"`, ""), ":"); ok {
					query += "&" + k + "=" + v
				}
			}
			got := ana.do("GET", "/api/v1/export/"+name+".json?"+query, nil).want(200).body
			if !bytes.Equal(got, want) {
				t.Errorf("%s in %s:\n%s\nwant\n%s", name, lang, got, want)
			}
		}
	}
}

// A query is text. What a view declares as a number must be read as one, or whoever
// asks with it gets a refusal in place of an answer.
func TestEveryParameterOfAViewIsReadByItsTypeAndDescribed(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	type schema struct {
		Type             string
		Minimum, Maximum *float64
	}
	type parameter struct {
		Name   string
		Schema schema
	}
	var document struct {
		Paths map[string]map[string]struct{ Parameters []parameter }
	}
	if err := json.Unmarshal(api.Document(), &document); err != nil {
		t.Fatal(err)
	}
	described := map[string]schema{}
	for _, d := range document.Paths["/api/v1/export/{file}"]["get"].Parameters {
		described[d.Name] = d.Schema
	}
	for _, f := range view.Params() {
		s := described[f.Name]
		ask := "/api/v1/export/stock.json?" + f.Name + "="
		switch f.Type {
		case "int":
			if s.Type != "integer" || s.Minimum == nil || *s.Minimum != *f.Min || s.Maximum == nil || *s.Maximum != *f.Max {
				t.Errorf("%s is described as %+v; it is a whole number from %v to %v", f.Name, s, *f.Min, *f.Max)
			}
			for _, n := range []float64{*f.Min, *f.Max} {
				ana.do("GET", fmt.Sprintf("%s%.0f", ask, n), nil).want(200)
			}
			for _, n := range []float64{*f.Min - 1, *f.Max + 1, 0.5} {
				ana.do("GET", fmt.Sprint(ask, n), nil).refused("request.field")
			}
			ana.do("GET", ask+"few", nil).refused("request.field")
		case "id":
			if s.Type != "string" {
				t.Errorf("%s is described as %+v; it is an id", f.Name, s)
			}
			ana.do("GET", ask+"12", nil).want(200) // an id may be made of digits
		default:
			t.Errorf("%s is a %s: say in server/api/export.go how a query spells it", f.Name, f.Type)
		}
	}
}

func TestATableHoldsTheFiguresOfTheView(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	a := mia.do("GET", "/api/v1/export/stock.csv", nil).want(200)
	rows, err := csv.NewReader(bytes.NewReader(a.body)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// by hand: 20 000 001 mg received, nothing moved
	want := []string{`'=cmd|'x'`, "", "gloss", "20.000001", "20.000001", "0.000000", "0.000000", "0.000000", "300"}
	if len(rows) != 2 || fmt.Sprint(rows[1]) != fmt.Sprint(want) {
		t.Errorf("stock.csv\n%q\nwant\n%q", rows, want)
	}
	if d := a.head.Get("Content-Disposition"); d != `attachment; filename="hoppertally-stock.csv"` {
		t.Errorf("Content-Disposition %s", d)
	}
	f, err := excelize.OpenReader(bytes.NewReader(mia.do("GET", "/api/v1/export/stock.xlsx", nil).want(200).body))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for cell, want := range map[string]string{"A1": "powder", "A2": "=cmd|'x'", "D2": "20.000001", "I2": "300"} {
		if got, err := f.GetCellValue("stock", cell); err != nil || got != want {
			t.Errorf("stock.xlsx %s = %q, %v; want %q", cell, got, err, want)
		}
	}
	if formula, err := f.GetCellFormula("stock", "A2"); err != nil || formula != "" {
		t.Errorf("a name became the formula %q, %v", formula, err)
	}
	if kind, err := f.GetCellType("stock", "D2"); err != nil || kind == excelize.CellTypeInlineString || kind == excelize.CellTypeSharedString {
		t.Errorf("a mass is no number: %v, %v", kind, err)
	}
}

func TestEveryTableHasAsManyFieldsAsItsHead(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	mia := p.signIn("p-mia", "dev-mia")
	mia.push(mia.entry("booth.set", `{"booth":"booth-1","name":"Booth 1"}`))
	ana.push(
		ana.entry("change.started", `{"booth":"booth-1","powder":"pw-1","level":"full"}`),
		ana.entry("run.opened", `{"run":"run-1","booth":"booth-1","powder":"pw-1","feed":"hopper-1","mode":"waste"}`),
		ana.entry("powder.moved", `{"from":"nowhere","to":"hopper-1","mass_mg":5000}`),
		ana.entry("parts.coated", `{"run":"run-1","job":"@SUM(1)","count":3,"area_cm2":100}`),
		ana.entry("powder.moved", `{"from":"shelf-1","to":"hopper-1","mass_mg":5000,"lot":"lot-1","why":"-1+1"}`))
	for _, name := range []string{"stock", "lots", "count-sheet", "runs", "changes", "entries", "attention"} {
		rows, err := csv.NewReader(bytes.NewReader(mia.do("GET", "/api/v1/export/"+name+".csv", nil).want(200).body)).ReadAll()
		if err != nil { // the reader counts the fields of each row
			t.Errorf("%s.csv: %v", name, err)
		}
		if len(rows) < 2 {
			t.Errorf("%s.csv has no row", name)
		}
		for _, row := range rows {
			for _, field := range row {
				if field != "" && strings.ContainsRune("=+@\t\r", rune(field[0])) {
					t.Errorf("%s.csv: a spreadsheet would run %q", name, field)
				}
			}
		}
		mia.do("GET", "/api/v1/export/"+name+".xlsx", nil).want(200)
	}
}

func TestOnlyManagersSeePrices(t *testing.T) {
	p := start(t, options{})
	mia, ana, cid := p.signIn("p-mia", "m"), p.signIn("p-ana", "a"), p.signIn("p-cid", "c")
	formats := map[string][]string{"entries": {"json", "csv"}, "powders": {"json"}, "stock": {"json", "csv"}, "lists": {"json"}, "office": {"json"}}
	seen := 0
	for name, fs := range formats {
		for _, f := range fs {
			path := "/api/v1/export/" + name + "." + f
			if strings.Contains(string(mia.do("GET", path, nil).want(200).body), "7.77") {
				seen++
			}
			for _, ph := range []*phone{ana, cid} {
				if b := ph.do("GET", path, nil).want(200).body; strings.Contains(string(b), "7.77") {
					t.Errorf("%s shows %s a price: %s", path, ph.person, b)
				}
			}
		}
	}
	if seen == 0 {
		t.Error("not even the manager sees a price: the test proves nothing")
	}
}
