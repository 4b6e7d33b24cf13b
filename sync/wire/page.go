package wire

import (
	"hoppertally/domain/form"
	"hoppertally/domain/jsonscan"
	"hoppertally/sync/entry"
)

// Page is the answer to a pull: Items ascending by Seq.
type Page struct {
	Epoch string
	Head  int64
	Next  int64 // the cursor after this page
	More  bool
	Proof string // "" in a piece of a snapshot
	Items []Item
	Cuts  []entry.Cut // the entries of Items, one for each
	Bytes []byte      // the answer as it came, for the store
}

// Item is one entry of a page, as far as the sync looks at it.
type Item struct {
	Outcome string
	Facts
	ID     string
	Device string
	N      int64
}

// BeginPage begins a page; [AppendItem] for each of its entries and [EndPage] follow.
func BeginPage(dst []byte, p *Page) []byte {
	dst = form.Append(dst, pageHead{p})
	return append(dst[:len(dst)-1], `,"entries":[`...)
}

// pageHead is a page without its entries.
type pageHead struct{ *Page }

// Fields declares the head of a page.
func (p pageHead) Fields(v *form.Visitor) {
	v.ID("epoch", &p.Epoch)
	v.Int("head", &p.Head, 0, entry.IntMax, "")
	v.Int("next", &p.Next, 0, entry.IntMax, "")
	v.DefaultBool("more", &p.More)
	v.OptText("proof", &p.Proof, proofMax)
}

// AppendItem writes an entry of a page, whose own bytes go in unaltered.
func AppendItem(dst []byte, outcome string, f Facts, raw []byte) []byte {
	if n := len(dst); n > 0 && dst[n-1] != '[' {
		dst = append(dst, ',')
	}
	dst = form.Append(dst, &item{outcome: outcome, Facts: f})
	return append(append(append(dst[:len(dst)-1], `,"entry":`...), raw...), '}')
}

// EndPage ends a page.
const EndPage = "]}"

// item is an entry of a page as it is spelled.
type item struct {
	outcome string
	Facts
	raw []byte
}

// Fields declares what is said of an entry.
func (t *item) Fields(v *form.Visitor) {
	v.Text("outcome", &t.outcome, form.IDMax)
	t.Facts.fields(v)
	if v.Reading() {
		v.Raw("entry", &t.raw)
	}
}

// PageReader reads answers to pulls, one after the other: what it reads stands in
// the memory of the one before. The zero value is ready.
type PageReader struct {
	cut   entry.Cutter
	words jsonscan.Words
	items []Item
	cuts  []entry.Cut
}

// Read reads the body of the answer to GET /pull. Items and Cuts are valid until the
// next Read; the texts in them are the caller's to keep. The error is a *form.Error or
// an *entry.Error.
func (r *PageReader) Read(b []byte) (Page, error) {
	p := Page{Bytes: b}
	r.items, r.cuts = r.items[:0], r.cuts[:0]
	if r.straight(&p, b) {
		p.Items, p.Cuts = r.items, r.cuts
		return p, nil
	}
	return readPage(b)
}

// ReadPage is Read with memory of its own.
func ReadPage(b []byte) (Page, error) { return new(PageReader).Read(b) }

// straight reads a page in the one spelling that this package writes: thousands of
// entries at a time, a tenth of the way that readPage goes. It has no limits of its own:
// what it reads the server has judged.
func (r *PageReader) straight(p *Page, b []byte) bool {
	i := 0
	p.Epoch, i = r.words.Read(b, jsonscan.Lit(b, i, `{"epoch":"`))
	p.Head, i = jsonscan.Whole(b, jsonscan.Lit(b, i, `,"head":`))
	p.Next, i = jsonscan.Whole(b, jsonscan.Lit(b, i, `,"next":`))
	p.More, i = truth(b, jsonscan.Lit(b, i, `,"more":`))
	p.Proof = ""
	if j := jsonscan.Lit(b, i, `,"proof":"`); j >= 0 {
		if i = jsonscan.TextEnd(b, j); i >= 0 {
			p.Proof, i = string(b[j:i]), i+1
		}
	}
	if i = jsonscan.Lit(b, i, `,"entries":[`); i < 0 || p.Epoch == "" {
		return false
	}
	for i < len(b) && b[i] != ']' {
		if len(r.items) > 0 {
			i = jsonscan.Lit(b, i, `,`)
		}
		if i = r.item(b, i); i < 0 {
			return false
		}
	}
	return jsonscan.Lit(b, i, EndPage) == len(b)
}

// item reads one entry of a page at b[i] and what the server says of it, and goes past
// it; -1 if it cannot.
func (r *PageReader) item(b []byte, i int) int {
	var it Item
	it.Outcome, i = r.words.Read(b, jsonscan.Lit(b, i, `{"outcome":"`))
	it.Seq, i = jsonscan.Whole(b, jsonscan.Lit(b, i, `,"seq":`))
	it.ReceivedMS, i = signed(b, jsonscan.Lit(b, i, `,"received_at":`))
	it.EffectiveMS, i = signed(b, jsonscan.Lit(b, i, `,"effective_at":`))
	it.Late, i = truth(b, jsonscan.Lit(b, i, `,"late":`))
	it.Reason, i = r.words.Read(b, jsonscan.Lit(b, i, `,"reason":"`))
	if i = jsonscan.Lit(b, i, `,"entry":`); i < 0 || it.Outcome == "" {
		return -1
	}
	r.cuts = append(r.cuts, entry.Cut{})
	c := &r.cuts[len(r.cuts)-1]
	if i = r.cut.Cut(c, b, i); i < 0 {
		return -1
	}
	it.ID, it.Device, it.N = c.ID, c.Device, c.N
	r.items = append(r.items, it)
	return jsonscan.Lit(b, i, `}`)
}

func truth(b []byte, i int) (is bool, next int) {
	if next = jsonscan.Lit(b, i, "true"); next >= 0 {
		return true, next
	}
	return false, jsonscan.Lit(b, i, "false")
}

func signed(b []byte, i int) (n int64, next int) {
	if j := jsonscan.Lit(b, i, "-"); j >= 0 {
		n, next = jsonscan.Whole(b, j)
		return -n, next
	}
	return jsonscan.Whole(b, i)
}

// page is a page in any spelling.
type page struct {
	*Page
	items []item
}

// Fields declares a page.
func (p *page) Fields(v *form.Visitor) {
	pageHead{p.Page}.Fields(v)
	form.FullList(v, "entries", &p.items, entriesMax, func(v *form.Visitor, t *item) { t.Fields(v) })
}

func readPage(b []byte) (Page, error) {
	p := Page{Bytes: b}
	in := page{Page: &p}
	if err := read(b, &in); err != nil {
		return Page{}, err
	}
	var parser entry.Parser
	for _, t := range in.items {
		e, err := parser.Parse(t.raw)
		if err != nil {
			return Page{}, err
		}
		p.Items = append(p.Items, Item{Outcome: t.outcome, Facts: t.Facts, ID: e.ID, Device: e.Device, N: e.N})
		p.Cuts = append(p.Cuts, entry.Cut{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, Group: e.Group, Body: e.Body})
	}
	return p, nil
}
