package stock

// An identifier is one GS1 application identifier: what the digits in front of a
// value mean and what the value may be.
type identifier struct {
	ai    string // two to four digits
	parts []part // the value, piece by piece
	title string
	check bool       // the last digit of the value is a check digit
	date  bool       // the value begins with YYMMDD
	lone  bool       // the last digit of the AI counts decimals: only one of its family may stand on a label
	needs [][]string // companions: one of each group
	must  string     // the companion without which the value says nothing
	not   []string   // what may not stand beside it
}

// part is a run of digits (numeric) or of characters from min to max long.
type part struct {
	numeric  bool
	min, max int
}

func digits(n int) []part   { return []part{{true, n, n}} }
func upTo(n int) []part     { return []part{{true, 1, n}} }
func textUpTo(n int) []part { return []part{{false, 1, n}} }

// length is the shortest and longest value.
func (id identifier) length() (lo, hi int) {
	for _, p := range id.parts {
		lo, hi = lo+p.min, hi+p.max
	}
	return lo, hi
}

// fixedLength gives the length of the AI and of the value for AIs that begin with
// these two digits: after them no separator is needed, known or not.
// Source: GS1 General Specifications, table of predefined lengths; the rows of
// testdata/reference/gs1-fixed-length-prefixes.csv.
func fixedLength(prefix string) (ai, value int, ok bool) {
	switch prefix {
	case "00":
		return 2, 18, true
	case "01", "02", "03":
		return 2, 14, true
	case "04":
		return 2, 16, true
	case "11", "12", "13", "14", "15", "16", "17", "18", "19":
		return 2, 6, true
	case "20":
		return 2, 2, true
	case "31", "32", "33", "34", "35", "36":
		return 4, 6, true
	case "41":
		return 3, 13, true
	}
	return 0, 0, false
}

// Companions that name the article.
var (
	article     = []string{"01", "02", "8006", "8026"}
	articleMade = []string{"01", "02", "03", "8006", "8026"}
	gtinContent = []string{"01", "02"}
	pallet      = []string{"00", "01"}
)

// identifiers are the application identifiers a box of powder may carry.
// Source: GS1 barcode syntax dictionary, release 2026-01-27, as copied in
// testdata/reference/gs1-application-identifiers.csv; 235 from memory.
var identifiers = index()

func index() map[string]identifier {
	group := func(g ...string) [][]string { return [][]string{g} }
	rows := []identifier{
		{ai: "00", parts: digits(18), title: "SSCC", check: true},
		{ai: "01", parts: digits(14), title: "GTIN", check: true, not: []string{"02", "255", "37"}},
		{ai: "02", parts: digits(14), title: "CONTENT", check: true, must: "37", not: []string{"01", "03"}},
		{ai: "03", parts: digits(14), title: "MTO GTIN", check: true, not: []string{"01", "02", "37"}},
		{ai: "10", parts: textUpTo(20), title: "BATCH/LOT", needs: [][]string{articleMade}},
		{ai: "11", parts: digits(6), title: "PROD DATE", date: true, needs: [][]string{articleMade}},
		{ai: "12", parts: digits(6), title: "DUE DATE", date: true, needs: group("8020")},
		{ai: "13", parts: digits(6), title: "PACK DATE", date: true, needs: [][]string{articleMade}},
		{ai: "15", parts: digits(6), title: "BEST BEFORE or BEST BY", date: true, needs: [][]string{articleMade}},
		{ai: "16", parts: digits(6), title: "SELL BY", date: true, needs: [][]string{articleMade}},
		{ai: "17", parts: digits(6), title: "USE BY or EXPIRY", date: true, needs: group("01", "02", "03", "255", "8006", "8026")},
		{ai: "20", parts: digits(2), title: "VARIANT", needs: [][]string{article}},
		{ai: "21", parts: textUpTo(20), title: "SERIAL", needs: group("01", "03", "8006"), not: []string{"235"}},
		{ai: "22", parts: textUpTo(20), title: "CPV", needs: group("01")},
		{ai: "235", parts: textUpTo(28), title: "TPX", needs: group("01")},
		{ai: "240", parts: textUpTo(30), title: "ADDITIONAL ID", needs: [][]string{article}},
		{ai: "241", parts: textUpTo(30), title: "CUST. PART No.", needs: [][]string{article}},
		{ai: "242", parts: upTo(6), title: "MTO VARIANT", needs: [][]string{article}},
		{ai: "243", parts: textUpTo(20), title: "PCN", needs: group("01")},
		{ai: "250", parts: textUpTo(30), title: "SECONDARY SERIAL", needs: [][]string{{"01", "8006"}, {"21"}}},
		{ai: "251", parts: textUpTo(30), title: "REF. TO SOURCE", needs: group("01", "8006")},
		{ai: "30", parts: upTo(8), title: "VAR. COUNT", needs: [][]string{gtinContent}},
		{ai: "37", parts: upTo(8), title: "COUNT", needs: [][]string{{"00"}, {"02", "8026"}}},
		{ai: "400", parts: textUpTo(30), title: "ORDER NUMBER"},
		{ai: "401", parts: textUpTo(30), title: "GINC"},
		{ai: "402", parts: digits(17), title: "GSIN", check: true},
		{ai: "403", parts: textUpTo(30), title: "ROUTE", needs: group("00")},
		{ai: "410", parts: digits(13), title: "SHIP TO LOC", check: true},
		{ai: "411", parts: digits(13), title: "BILL TO", check: true},
		{ai: "412", parts: digits(13), title: "PURCHASE FROM", check: true},
		{ai: "413", parts: digits(13), title: "SHIP FOR LOC", check: true},
		{ai: "414", parts: digits(13), title: "LOC No.", check: true},
		{ai: "415", parts: digits(13), title: "PAY TO", check: true, needs: group("8020")},
		{ai: "420", parts: textUpTo(20), title: "SHIP TO POST", not: []string{"421"}},
		{ai: "421", parts: []part{{true, 3, 3}, {false, 1, 9}}, title: "SHIP TO POST (with country)"},
		{ai: "422", parts: digits(3), title: "ORIGIN", needs: [][]string{article}},
		{ai: "8008", parts: []part{{true, 8, 12}}, title: "PROD TIME", date: true, needs: [][]string{gtinContent}},
		{ai: "8200", parts: textUpTo(70), title: "PRODUCT URL", needs: group("01")},
		{ai: "90", parts: textUpTo(30), title: "INTERNAL"},
	}
	for d := '1'; d <= '9'; d++ {
		rows = append(rows, identifier{ai: "9" + string(d), parts: textUpTo(90), title: "INTERNAL"})
	}
	for _, m := range []identifier{
		{ai: "310", title: "NET WEIGHT (kg)", needs: [][]string{gtinContent}},
		{ai: "314", title: "AREA (m2)", needs: [][]string{gtinContent}},
		{ai: "320", title: "NET WEIGHT (lb)", needs: [][]string{gtinContent}},
		{ai: "330", title: "GROSS WEIGHT (kg), logistic", needs: [][]string{pallet}},
		{ai: "337", title: "KG PER m2", needs: group("01")},
		{ai: "340", title: "GROSS WEIGHT (lb), logistic", needs: [][]string{pallet}},
		{ai: "351", title: "AREA (ft2)", needs: [][]string{gtinContent}},
	} {
		m.parts, m.lone = digits(6), true
		for d := '0'; d <= '5'; d++ { // 0 to 5 decimals
			n := m
			n.ai += string(d)
			rows = append(rows, n)
		}
	}
	all := make(map[string]identifier, len(rows))
	for _, r := range rows {
		all[r.ai] = r
	}
	return all
}
