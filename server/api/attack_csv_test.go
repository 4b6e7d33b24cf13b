package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/xuri/excelize/v2"
)

func TestAttackFormulasInSpreadsheets(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	formulas := []string{"=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", "\n=1", "|calc", "%0A=1", "=HYPERLINK(\"http://evil.example\",\"x\")", "＝1+1", " =1+1", "a\n=1+1", "a;=1+1", "a;\"=1+1\";b", "a; +1", "a\"\n=1"}
	formulas = append(formulas, unseenFormulas()...)
	quote := func(s string) string {
		return `"` + strings.NewReplacer("\\", "\\\\", `"`, `\"`, "\t", `\t`, "\r", `\r`, "\n", `\n`).Replace(s) + `"`
	}
	mia.push(mia.entry("booth.set", `{"booth":"booth-1","name":"=B()"}`), mia.entry("run.opened", `{"run":"run-1","booth":"booth-1","powder":"pw-1","feed":"hopper-1","mode":"waste"}`))
	for i, f := range formulas {
		for _, e := range [][]byte{
			mia.entry("powder.moved", `{"from":"shelf-1","to":"hopper-1","mass_mg":5,"lot":"lot-1","why":`+quote(f)+`}`),
			mia.entry("powder.set", fmt.Sprintf(`{"powder":"pw-f%d","name":%s,"maker":%s,"code":%s,"chemistry":"epoxy","sg_milli":1500,"film_um10":{"min":1,"target":2,"max":3},"reclaim_max_pm":300}`, i, quote(f), quote(f), quote(f))),
			mia.entry("lot.received", fmt.Sprintf(`{"lot":"lot-f%d","powder":"pw-f%d","batch":"b","place":"shelf-1","mass_mg":5}`, i, i)),
			mia.entry("lot.held", fmt.Sprintf(`{"lot":"lot-f%d","why":%s}`, i, quote(f))),
		} {
			if r := mia.push(e); r[0].Outcome != "accepted" {
				t.Fatalf("%q: %+v", f, r[0])
			}
		}
	}
	for _, name := range []string{"stock", "lots", "runs", "changes", "entries", "attention"} {
		b := mia.do("GET", "/api/v1/export/"+name+".csv", nil).want(200).body
		rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		var fields []string
		for _, row := range rows {
			for _, f := range row {
				fields = append(fields, f)
				fields = append(fields, strings.FieldsFunc(f, func(r rune) bool { return strings.ContainsRune(";\t\r\n\v\f\u0085\u2028\u2029", r) })...)
			}
		}
		for _, f := range fields { // whole, and as a program of another country would part it
			if isFormula(f) {
				t.Errorf("%s.csv: a spreadsheet would run %q", name, f)
			}
		}
		b = mia.do("GET", "/api/v1/export/"+name+".xlsx", nil).want(200).body
		noFormulas(t, name, b)
	}
}

// unseenFormulas are formulas behind marks that nobody sees and that a spreadsheet may
// throw away: zero-width, format and control characters, spaces, tabs, fillers.
func unseenFormulas() (list []string) {
	for _, mark := range []string{"\u200b", "\u200c", "\u200d", "\u2060", "\ufeff", "\u00ad", "\u061c", "\u180e", "\u200e", "\u202e", "\u2066", "\u2069", "\u2063",
		"\ufe0f", "\u034f", "\u3164", "\u115f", "\u2800", "\u2009", "\u202f", "\u00a0", "\u1680", "\u2028", "\U000e0020", "  \t ", "\t\u200b\t", "\u200b\u2060 \ufeff"} {
		for _, sign := range []string{"=", "+", "-", "@"} {
			list = append(list, mark+sign+"1+1")
		}
		list = append(list, "a;"+mark+"=1+1", "a\n"+mark+"@SUM(1)", "a\u2028"+mark+"=1")
	}
	return append(list, "\ufe66"+"1+1", "\ufe62"+"1", "\ufe63"+"1", "\ufe6b"+"SUM(1)", "\u2212"+"1+1")
}

// isFormula is what a spreadsheet takes for one when it reads a field of a CSV
// (OWASP, CSV Injection): it begins with = + - @, tab or return, also behind what
// nobody sees and in the wide or small form of East Asian keyboards. A number is none.
func isFormula(f string) bool {
	f = strings.TrimLeftFunc(f, func(r rune) bool {
		return r == '"' || r == '\u2800' || unicode.IsSpace(r) && !strings.ContainsRune("\t\r\n", r) ||
			unicode.In(r, unicode.Z, unicode.Cf, unicode.Mn, unicode.Other_Default_Ignorable_Code_Point) || unicode.Is(unicode.Cc, r) && !strings.ContainsRune("\t\r\n", r)
	})
	if _, err := strconv.ParseFloat(f, 64); err == nil {
		return false
	}
	return f != "" && strings.ContainsRune("=+-@\t\r\n|%＝＋－＠\ufe66\ufe62\ufe63\ufe6b\u2212", []rune(f)[0])
}

// noFormulas looks into the parts of a workbook for a cell that is one.
func noFormulas(t *testing.T, name string, b []byte) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		xml, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"<f>", "<f ", "externalLink", "oleObject", "<hyperlink", "ddeLink"} {
			if bytes.Contains(xml, []byte(bad)) {
				t.Errorf("%s.xlsx: %s holds %s", name, part.Name, bad)
			}
		}
	}
	f, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(name)
	if err != nil || len(rows) == 0 {
		t.Errorf("%s.xlsx: %d rows, %v", name, len(rows), err)
	}
}

// cells are all the cells of a workbook in one text.
func cells(t *testing.T, name string, b []byte) string {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(name)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(rows)
}
