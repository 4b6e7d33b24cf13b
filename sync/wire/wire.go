// Package wire writes and reads what travels between a phone and the server: the
// greeting, a push and its results, pages of the log, the list of a snapshot's pieces.
// The server, the phone's replica and the simulation use it; nobody else spells or
// reads these bytes. sync/wire.md is their specification.
//
// Fields are declared once, in the order in which they are written. Whoever reads passes
// over fields that it does not know, so that a newer server can say more.
package wire

import (
	"hoppertally/domain/form"
	"hoppertally/sync/entry"
)

// Limits of the texts that are no ids.
const (
	reasonMax = 2000
	proofMax  = 1000
	timeMin   = -entry.IntMax // a person may date an entry before 1970
)

// Facts is what the server says of an entry.
type Facts struct {
	Seq         int64 // in the log; 0 for an entry that was refused
	ReceivedMS  int64
	EffectiveMS int64
	Late        bool   // it happened before the books were closed
	Reason      string // codes
}

func (f *Facts) fields(v *form.Visitor) {
	v.DefaultInt("seq", &f.Seq, 0, 0, entry.IntMax, "")
	v.DefaultInt("received_at", &f.ReceivedMS, 0, timeMin, entry.IntMax, "ms")
	v.DefaultInt("effective_at", &f.EffectiveMS, 0, timeMin, entry.IntMax, "ms")
	v.DefaultBool("late", &f.Late)
	v.DefaultText("reason", &f.Reason, reasonMax)
}

// Hello is the server's greeting.
type Hello struct {
	Server    string
	Epoch     string
	Head      int64  // of the log
	Proof     string // of epoch and head; "" from a server that gives out none
	NowMS     int64
	MinClient string
	Latest    string // version of the server's program

	IsSignedIn bool  // what follows is for those only
	HaveN      int64 // highest counter of this device in the log; 0 for none
	BackupSeq  int64 // up to which a verified backup has the log
	BackupMS   int64 // when; 0 never
	BackupBad  bool  // the last try failed
	Revoked    bool  // a manager shut this phone out
}

// Fields declares the greeting.
func (h *Hello) Fields(v *form.Visitor) {
	v.ID("server_id", &h.Server)
	v.ID("epoch", &h.Epoch)
	v.Int("head", &h.Head, 0, entry.IntMax, "")
	v.DefaultText("proof", &h.Proof, proofMax)
	v.DefaultInt("now_ms", &h.NowMS, 0, timeMin, entry.IntMax, "ms")
	v.DefaultText("min_client", &h.MinClient, form.IDMax)
	v.DefaultText("latest", &h.Latest, form.IDMax)
	if v.Writing() && !h.IsSignedIn {
		return
	}
	v.DefaultInt("have_n", &h.HaveN, 0, 0, entry.IntMax, "")
	v.DefaultInt("backup_seq", &h.BackupSeq, 0, 0, entry.IntMax, "")
	v.DefaultInt("backup_at", &h.BackupMS, 0, timeMin, entry.IntMax, "ms")
	v.DefaultBool("backup_failed", &h.BackupBad)
	v.DefaultBool("revoked", &h.Revoked)
}

// Result is the fate of one pushed entry.
type Result struct {
	ID      string
	Outcome string // accepted, duplicate, held, refused
	Stands  string // of a duplicate: accepted or held, as the log has it; "" means accepted
	Facts
}

func (r *Result) fields(v *form.Visitor) {
	v.DefaultText("id", &r.ID, form.IDMax)
	v.Text("outcome", &r.Outcome, form.IDMax)
	v.OptText("stands", &r.Stands, form.IDMax)
	r.Facts.fields(v)
}

// Pushed is the answer to a push: one result for each entry that the server looked at,
// and where its log stands.
type Pushed struct {
	Results []Result
	Epoch   string // that the results are of; "", and no head, from a server that does not say
	Head    int64
	Proof   string
}

// Fields declares the answer to a push.
func (a *Pushed) Fields(v *form.Visitor) {
	if v.Writing() && a.Results == nil {
		a.Results = []Result{}
	}
	form.FullList(v, "results", &a.Results, entriesMax, func(v *form.Visitor, r *Result) { r.fields(v) })
	v.OptID("epoch", &a.Epoch)
	if v.Writing() && a.Epoch == "" {
		return
	}
	v.DefaultInt("head", &a.Head, 0, 0, entry.IntMax, "")
	v.DefaultText("proof", &a.Proof, proofMax)
}

// entriesMax is more than any answer holds.
const entriesMax = form.ListMax

// Snapshot lists what a phone fetches instead of the whole log.
type Snapshot struct {
	Epoch   string
	Seq     int64 // the pull goes on after this
	Head    int64 // of the log, when the list was given out
	Proof   string
	FloorMS int64 // entries from here on are in the pages
	Tail    int64 // how many
	Pieces  []Piece
}

// Piece is one part of a snapshot. Whoever fetches it checks its hash: a browser does
// that natively, while SHA-256 as WebAssembly takes longer than reading the pieces.
type Piece struct {
	Kind   string // state, to be joined in order, or page, an answer to a pull
	SHA256 string // hex
	Bytes  int64
}

// Fields declares the list.
func (s *Snapshot) Fields(v *form.Visitor) {
	v.ID("epoch", &s.Epoch)
	v.Int("seq", &s.Seq, 0, entry.IntMax, "")
	v.DefaultInt("head", &s.Head, 0, 0, entry.IntMax, "")
	v.DefaultText("proof", &s.Proof, proofMax)
	v.Int("floor_ms", &s.FloorMS, timeMin, entry.IntMax, "ms")
	v.DefaultInt("tail", &s.Tail, 0, 0, entry.IntMax, "")
	form.FullList(v, "pieces", &s.Pieces, entriesMax, func(v *form.Visitor, p *Piece) {
		v.ID("kind", &p.Kind)
		v.ID("sha256", &p.SHA256)
		v.Int("bytes", &p.Bytes, 0, entry.IntMax, "")
	})
}

// ReadHello reads a greeting. The error of this and of the next two is a *form.Error.
func ReadHello(b []byte) (h Hello, err error) {
	err = read(b, &h)
	return h, err
}

// ReadPushed reads the answer to a push.
func ReadPushed(b []byte) (a Pushed, err error) {
	err = read(b, &a)
	return a, err
}

// ReadSnapshot reads the list of a snapshot.
func ReadSnapshot(b []byte) (s Snapshot, err error) {
	err = read(b, &s)
	return s, err
}

// Append writes a greeting, results or the list of a snapshot.
func Append(dst []byte, f form.Fields) []byte { return form.Append(dst, f) }

func read(b []byte, f form.Fields) error {
	d := form.Decoder{Lenient: true}
	return d.Decode(b, f)
}
