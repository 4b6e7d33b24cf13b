package stock

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"
)

// format writes the parts as the syntax dictionary does.
func (id identifier) format() string {
	if id.ai == "8008" {
		return "N6 YYMMDD + HH [MM [SS]]"
	}
	var s []string
	for _, p := range id.parts {
		c := "X"
		if p.numeric {
			c = "N"
		}
		if p.min < p.max {
			c += ".."
		}
		s = append(s, fmt.Sprint(c, p.max))
	}
	if id.date {
		s = append(s, "YYMMDD (DD may be 00)")
	}
	return strings.Join(s, " ")
}

// companionsIn reads "needs 01, 03 or 8006; not with 235" of the dictionary.
func companionsIn(rule string) (needs, not string) {
	rule = regexp.MustCompile(` \([^)]*\)`).ReplaceAllString(rule, "")
	for _, r := range strings.Split(rule, "; ") {
		if n, ok := strings.CutPrefix(r, "needs "); ok {
			needs = strings.ReplaceAll(strings.ReplaceAll(n, " or ", ", "), ", and ", " and ")
		}
		if n, ok := strings.CutPrefix(r, "not with "); ok {
			not = strings.ReplaceAll(n, " or ", ", ")
		}
	}
	return needs, not
}

func (id identifier) companions() (needs, not string) {
	var groups []string
	if id.must != "" {
		groups = append(groups, id.must)
	}
	for _, g := range id.needs {
		groups = append(groups, strings.Join(g, ", "))
	}
	return strings.Join(groups, " and "), strings.Join(id.not, ", ")
}

func TestIdentifiersAreThoseOfTheDictionary(t *testing.T) {
	reference.Whole(t, "gs1-application-identifiers.csv", 46, nil, identifiersAgree)
}

func identifiersAgree(t testing.TB, list []reference.Row) {
	seen := 0
	for _, r := range list {
		from, to, many := strings.Cut(r["ai"], "-")
		if !many {
			to = from
		}
		for ai := from; ai <= to; ai = ai[:len(ai)-1] + string(ai[len(ai)-1]+1) {
			id, ok := identifiers[ai]
			if !ok {
				t.Errorf("%s is not in the table", ai)
				continue
			}
			seen++
			if id.format() != r["value_format"] || id.title != r["data_title"] || id.fixed() != (r["separator"] == "fixed") {
				t.Errorf("%s is %q %q fixed %v; the dictionary says %v", ai, id.format(), id.title, id.fixed(), r)
			}
			if ai == "02" && !strings.Contains(r["pairing_rule"], "(and 37 needs 00)") {
				t.Errorf("02: %q no longer says what 37 needs", r["pairing_rule"])
			}
			needs, not := id.companions()
			if n, x := companionsIn(r["pairing_rule"]); needs != n || not != x {
				t.Errorf("%s needs %q, not with %q; the dictionary says %q, %q", ai, needs, not, n, x)
			}
			if lone := strings.HasSuffix(from, "0") && many && from != "91"; id.lone != lone {
				t.Errorf("%s stands alone in its family: %v, want %v", ai, id.lone, lone)
			}
		}
	}
	if seen != len(identifiers)-1 { // one more: 235, from memory
		t.Errorf("%d rows with %d identifiers against %d in the table", len(list), seen, len(identifiers))
	}
}

func TestPredefinedLengthsAreThoseOfTheStandard(t *testing.T) {
	reference.Whole(t, "gs1-fixed-length-prefixes.csv", 22, nil, prefixesAgree)
}

func prefixesAgree(t testing.TB, list []reference.Row) {
	want := map[string]string{}
	for _, r := range list {
		want[r["first_two_digits_of_ai"]] = r["ai_length"] + "+" + r["value_length"]
		if n := reference.Number(t, r["ai_length"]) + reference.Number(t, r["value_length"]); n != reference.Number(t, r["total_length"]) {
			t.Errorf("%v: the lengths add up to %v", r, n)
		}
	}
	for i := range 100 {
		prefix, got := fmt.Sprintf("%02d", i), ""
		if ai, value, ok := fixedLength(prefix); ok {
			got = fmt.Sprintf("%d+%d", ai, value)
		}
		if got != want[prefix] {
			t.Errorf("prefix %s has length %q, want %q", prefix, got, want[prefix])
		}
	}
}

func TestCheckDigitsOfTheStandard(t *testing.T) {
	// A wrong number stays wrong with another digit.
	free := func(f reference.Figure) bool {
		return f.Column == "key" || f.Column == "full" && f.Row["status"] != "valid"
	}
	reference.Each(t, "gs1-check-digits.csv", 14, free, func(t testing.TB, r reference.Row) {
		got := string(CheckDigit(r["digits_without_check"]))
		if got != r["right_check_digit"] {
			t.Errorf("%s %s: check digit %s, want %s", r["key"], r["digits_without_check"], got, r["right_check_digit"])
		}
		full := r["full"]
		rest, isFull := strings.CutPrefix(full, r["digits_without_check"])
		if valid := rest == got; !isFull || valid != (r["status"] == "valid") {
			t.Errorf("%s %s: valid %v, want %s", r["key"], full, valid, r["status"])
		}
	})
}

func TestDatesOfTheStandard(t *testing.T) {
	// Another day that is none is refused as well, and a year later the century is the same.
	free := func(f reference.Figure) bool { return f.Row["status"] != "valid" || f.Column == "current_year" }
	reference.Each(t, "gs1-dates.csv", 28, free, func(t testing.TB, r reference.Row) {
		day, ok := LabelDate(r["yymmdd"], int(reference.Number(t, r["current_year"])))
		if r["status"] == "valid" && (!ok || day != r["result_or_reason"]) {
			t.Errorf("%s read in %s is %q, want %s", r["yymmdd"], r["current_year"], day, r["result_or_reason"])
		}
		if r["status"] != "valid" && ok {
			t.Errorf("%s was read as %s, but: %s", r["yymmdd"], day, r["result_or_reason"])
		}
	})
}

// written puts a label back into the bracketed form.
func written(l Label) string {
	var s strings.Builder
	for _, e := range l.Elements {
		s.WriteString("(" + e.AI + ")" + e.Value)
	}
	return s.String()
}

// unwritten is what examples say that the table has as a scan only.
var unwritten = map[string]string{"S10": "(01)12345678901231(99)1234", "S11": "(01)12345678901231(99)1234"}

func TestExamplesOfTheStandard(t *testing.T) {
	// The column expect is for the reader; what is invalid stays so with another digit; of
	// D4 the table says what was meant, which nobody can read out of it.
	free := func(f reference.Figure) bool {
		return f.Column == "id" || f.Column == "expect" || f.Row["status"] != "valid" || f.Row["id"] == "D4"
	}
	reference.Each(t, "gs1-examples.csv", 31, free, func(t testing.TB, r reference.Row) {
		hri, stream := r["hri"], r["fnc1_form_caret_is_FNC1"]
		forms := []string{hri}
		switch {
		case strings.HasPrefix(hri, "scan data "):
			forms = []string{strings.TrimPrefix(hri, "scan data ")}
		case strings.Contains(hri, " with the separator lost"):
			forms, hri = nil, "" // what the stream was meant to be, not what it says
		case hri == "":
			forms = nil
		}
		if stream != "" {
			scanned := strings.ReplaceAll(stream, "^", "\x1d")
			forms = append(forms, scanned, "]C1"+scanned[1:], "]d2"+scanned[1:], "]Q3"+scanned[1:], "]C1"+scanned+"\r\n")
		}
		for _, f := range forms {
			l, err := ParseLabel(f, 2026)
			if valid := err == nil; valid != (r["status"] == "valid") {
				t.Errorf("%s %q: error %v, want %s (%s)", r["id"], f, err, r["status"], r["expect"])
				continue
			}
			if err != nil {
				var e *LabelError
				if !errors.As(err, &e) || e.Code == "" || e.Want == "" {
					t.Errorf("%s %q: error %#v is not a full LabelError", r["id"], f, err)
				}
				continue
			}
			if len(forms) > 1 && hri != "" && written(l) != hri {
				t.Errorf("%s %q: read as %s, want %s", r["id"], f, written(l), hri)
			}
			if want := unwritten[r["id"]]; want != "" && written(l) != want {
				t.Errorf("%s %q: read as %s, want %s", r["id"], f, written(l), want)
			}
			if len(l.Elements) == 0 || l.Plain != "" {
				t.Errorf("%s %q: read as plain %q", r["id"], f, l.Plain)
			}
		}
	})
}

func codes(l Label) string {
	var s []string
	for _, w := range l.Warnings {
		s = append(s, strings.TrimSpace(string(w.Code)+" "+w.AI+" "+w.Detail))
	}
	return strings.Join(s, "; ")
}

func TestWhatABoxSays(t *testing.T) {
	const fnc1 = "\x1d"
	const made, kg25 = "1126011517270115", 25 * measure.Kilogram
	tests := []struct {
		name, data                         string
		plain, batch, article, made, useBy string
		net                                measure.Mass
		warnings                           string
		source                             string
	}{
		{"a plain batch code stays as it is", "L2401A", "L2401A", "L2401A", "", "", "", 0, "", "our rule"},
		{"a plain code loses its symbology identifier and line end", "]C0L2401A\r\n", "L2401A", "L2401A", "", "", "", 0, "", "ISO/IEC 15424, from memory"},
		{"a plain code with brackets is plain", "(A1)", "(A1)", "(A1)", "", "", "", 0, "", "our rule"},
		{"a plain code of other letters is plain", "Größe 7", "Größe 7", "Größe 7", "", "", "", 0, "", "our rule"},
		{"a 25 kg box, D1", "]C1019952112345678831020025001126011517270115" + "10L2401A",
			"", "L2401A", "99521123456788", "2026-01-15", "2027-01-15", kg25, "", "gs1-examples.csv D1"},
		{"a 55 lb box whose use-by is the month's end, D2", "]d20199521123456788320200550017271200" + "10L2401A" + fnc1 + "210007",
			"", "L2401A", "99521123456788", "", "2027-12-31", 24947580, "", "by hand: 55 × 453592.37 mg = 24947580.35 mg"},
		{"FNC1 inside is enough to be GS1", "0109521123456785" + "10A1" + fnc1 + "17270115",
			"", "A1", "09521123456785", "", "2027-01-15", 0, "", "our rule"},
		{"a lost separator is warned about and not guessed, D4", "]C10109521123456785" + "10L2401A17270115",
			"", "L2401A17270115", "09521123456785", "", "", 0, "label.separator_missing 10 17270115", "gs1-examples.csv D4"},
		{"lost before two elements", "]C10109521123456785" + "10AB1727011511260115",
			"", "AB1727011511260115", "09521123456785", "", "", 0, "label.separator_missing 10 1727011511260115", "our rule"},
		{"lost before a weight", "]C10109521123456785" + "10AB3102002500",
			"", "AB3102002500", "09521123456785", "", "", 0, "label.separator_missing 10 3102002500", "our rule"},
		{"a tail that is no date is no sign", "]C10109521123456785" + "10L2401A17271315",
			"", "L2401A17271315", "09521123456785", "", "", 0, "", "our rule: month 13"},
		{"written in brackets nothing was lost", "(01)09521123456785(10)L2401A17270115",
			"", "L2401A17270115", "09521123456785", "", "", 0, "", "our rule"},
		{"a bracket within a value is written with a backslash", `(01)09521123456785(10)A\(10)B`,
			"", "A(10)B", "09521123456785", "", "", 0, "", "our rule"},
		{"typed with spaces between the elements", "(01) 09521123456785 (10) A1 ",
			"", "A1", "09521123456785", "", "", 0, "", "our rule"},
		{"a lot without an article lacks a companion", "]C110L2401A",
			"", "L2401A", "", "", "", 0, "label.needs 10 01 02 03 8006 8026", "dictionary"},
		{"an identifier that is not in the table but has a known length is kept", "]C101095211234567853115000100" + "10A1",
			"", "A1", "09521123456785", "", "", 0, "label.unknown_kept 3115", "gs1-fixed-length-prefixes.csv"},
		{"unmarked digits stay plain and say what they might be", "0109521123456785" + made,
			"0109521123456785" + made, "0109521123456785" + made, "", "", "", 0, "label.unmarked", "our rule"},
		{"unmarked digits with a wrong check digit are plain", "0109521123456784", "0109521123456784", "0109521123456784", "", "", "", 0, "", "our rule"},
		{"best before stands in for use by", "(01)09521123456785(15)270100", "", "", "09521123456785", "", "2027-01-31", 0, "", "our rule"},
		{"the same element twice is one", "(01)09521123456785(10)A(10)A", "", "A", "09521123456785", "", "", 0, "", "dictionary"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l, err := ParseLabel(tt.data, 2026)
			if err != nil {
				t.Fatal(err)
			}
			net, _ := l.Net()
			if l.Plain != tt.plain || l.Batch() != tt.batch || l.Article() != tt.article || l.Made() != tt.made || l.UseBy() != tt.useBy || net != tt.net {
				t.Errorf("plain %q batch %q article %q made %q use by %q net %d (%s)", l.Plain, l.Batch(), l.Article(), l.Made(), l.UseBy(), net, tt.source)
			}
			if codes(l) != tt.warnings {
				t.Errorf("warnings %q, want %q (%s)", codes(l), tt.warnings, tt.source)
			}
		})
	}
}

func TestWhyALabelCannotBeRead(t *testing.T) {
	tests := []struct {
		name, data string
		code       LabelCode
		ai         string
	}{
		{"nothing", "", LabelEmpty, ""},
		{"only a symbology identifier", "]C1", LabelEmpty, ""},
		{"one byte more than is read", strings.Repeat("x", LabelMax+1), LabelTooLong, ""},
		{"an identifier nobody knows", "]C1591234", LabelNoElement, ""},
		{"in brackets too", "(59)1234", LabelNoElement, "59"},
		{"a letter in a GTIN", "]C101A2345678901231", LabelCharacter, "01"},
		{"a sign outside set 82", "]C110A#B", LabelCharacter, "10"},
		{"a wrong check digit", "]C10112345678901234", LabelCheck, "01"},
		{"a fixed length cut short by FNC1", "]C10112345\x1d10A", LabelLength, "01"},
		{"no value", "]C110\x1d11991225", LabelValueEmpty, "10"},
		{"a day that is not", "]C111270230", LabelDateBad, "11"},
		{"an hour that is not", "]C1800827010124", LabelDateBad, "8008"},
		{"an odd number of digits of time", "]C18008270101123", LabelDateBad, "8008"},
		{"a separator lost so that the lot is too long", "]C10109521123456785" + "10L2401A172701153102002500", LabelLength, "10"},
		{"two lots", "(10)A(10)B", LabelTwice, "10"},
		{"two net weights", "(01)09521123456785(3102)002500(3103)025000", LabelTwice, "3103"},
		{"a GTIN and a content", "(01)09521123456785(02)09521123456785(37)1", LabelNotWith, "01"},
		{"a content without its count", "(02)09521123456785", LabelNeeds, "02"},
	}
	for _, tt := range tests {
		_, err := ParseLabel(tt.data, 2026)
		var e *LabelError
		if !errors.As(err, &e) || e.Code != tt.code || e.AI != tt.ai || e.Want == "" {
			t.Errorf("%s: %v, want %s on %q", tt.name, err, tt.code, tt.ai)
		}
	}
	if l, err := ParseLabel(strings.Repeat("x", LabelMax), 2026); err != nil || len(l.Plain) != LabelMax {
		t.Errorf("a label at the limit: %v", err)
	}
}

func ExampleParseLabel() {
	l, err := ParseLabel("]C101995211234567883102002500172701"+"1510L2401A", 2026)
	if err != nil {
		fmt.Println(err)
		return
	}
	net, _ := l.Net()
	fmt.Println("batch", l.Batch(), "use by", l.UseBy(), "net", int64(net), "mg")
	l, _ = ParseLabel("7-1145 B", 2026)
	fmt.Println("batch", l.Batch())
	// Output:
	// batch L2401A use by 2027-01-15 net 25000000 mg
	// batch 7-1145 B
}
