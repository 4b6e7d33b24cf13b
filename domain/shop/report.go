package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Report is the state of the shop in figures only, for checking without the
// screens. Its JSON is a contract; lists are in ascending order of their names.
type Report struct {
	Places    []ReportPlace   `json:"places"`
	Accounts  []ReportAccount `json:"accounts"` // with the places they add up to zero
	Runs      []ReportRun     `json:"runs"`
	Attention []ReportIssue   `json:"attention"`
}

// ReportPlace is what a place holds.
type ReportPlace struct {
	Place   string       `json:"place"`
	Mass    measure.Mass `json:"mass_mg"`
	Content []ReportPart `json:"content"`
}

// ReportPart is one lot with one number of passes.
type ReportPart struct {
	Lot    string       `json:"lot"`
	Passes uint8        `json:"passes"`
	Mass   measure.Mass `json:"mass_mg"`
}

// ReportAccount is an account outside the places: received (negative: powder
// came from there), parts, lost, variance, and run/ID for a run still open.
type ReportAccount struct {
	Account string       `json:"account"`
	Mass    measure.Mass `json:"mass_mg"`
}

// ReportRun is the closing of a run, see [Closing].
type ReportRun struct {
	Run       string       `json:"run"`
	Booth     string       `json:"booth"`
	Powder    string       `json:"powder"`
	Open      bool         `json:"open"`
	Gross     measure.Mass `json:"gross_mg"`
	Net       measure.Mass `json:"net_mg"`
	OnParts   measure.Mass `json:"on_parts_mg"`
	Recovered measure.Mass `json:"recovered_mg"`
	Scrapped  measure.Mass `json:"scrapped_mg"`
	Lost      measure.Mass `json:"lost_mg"`
	TEPM      int64        `json:"te_pm"` // first-pass transfer efficiency, ‰, rounded half up
	Estimated bool         `json:"estimated"`
	Lots      []ReportPart `json:"lots"` // on the parts
}

// ReportIssue is something that needs attention.
type ReportIssue struct {
	Code  string `json:"code"`
	Entry string `json:"entry"`
	Text  string `json:"text"`
}

// Report puts the state into figures.
func (s *State) Report() Report {
	out := Report{Places: []ReportPlace{}, Runs: []ReportRun{}, Attention: []ReportIssue{}}
	for _, id := range slices.Sorted(maps.Keys(s.Book.Places)) {
		c := s.Book.Places[id].Content
		out.Places = append(out.Places, ReportPlace{id, c.Total(), reportParts(c)})
	}
	var parts, lost measure.Mass
	var open []ReportAccount
	for _, id := range slices.Sorted(maps.Keys(s.Runs)) {
		r := s.Runs[id]
		c := s.Closing(r)
		if r.ClosedMS == 0 {
			open = append(open, ReportAccount{"run/" + id, c.Net})
		} else {
			parts += c.OnParts
			lost += c.Lost
		}
		out.Runs = append(out.Runs, ReportRun{id, r.Booth, r.Powder, r.ClosedMS == 0, c.Gross, c.Net, c.OnParts, c.Recovered, c.Scrapped,
			c.Lost, measure.Permille(c.OnParts, c.Gross), c.Estimated, reportParts(c.Parts)})
	}
	out.Accounts = append([]ReportAccount{{"lost", lost}, {"parts", parts}, {"received", s.Book.Received.Total()}}, open...)
	out.Accounts = append(out.Accounts, ReportAccount{"variance", s.Book.Variance.Total()})
	for _, i := range s.Issues {
		out.Attention = append(out.Attention, ReportIssue{i.Code, i.Entry, i.text()})
	}
	return out
}

func reportParts(c ledger.Content) []ReportPart {
	out := make([]ReportPart, 0, len(c))
	for _, p := range c {
		out = append(out, ReportPart(p))
	}
	return out
}

// text says in one plain English line what an issue is about.
func (i *Issue) text() string {
	out := i.Code
	for _, f := range [...][2]string{{"place", i.Place}, {"powder", i.Powder}, {"lot", i.Lot}, {"run", i.Run}, {"about", i.More}} {
		if f[1] != "" {
			out += " " + f[0] + " " + f[1]
		}
	}
	if i.Mass != 0 {
		out += " " + measure.Style{}.Mass(i.Mass)
	}
	return out
}
