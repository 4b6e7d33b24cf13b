package replica

// Proof is what the server last gave out of its log, to be shown with each request. A
// server that was put back to an older copy of its data cannot confirm it, and begins a
// new epoch: then everything that no backup covers goes out again. The zero value is
// none, of a server that gives out none.
type Proof struct {
	Epoch string `json:"epoch"`
	Seq   int64  `json:"seq"`
	Text  string `json:"text"` // opaque
}

// Beyond tells whether p, given out in the epoch of at, says more than an older one.
func (p Proof) Beyond(old Proof, at Cursor) bool {
	return p.Text != "" && p.Epoch == at.Epoch && (old.Epoch != p.Epoch || p.Seq > old.Seq)
}

// told keeps the proof that an answer brought. Answers overtake each other, and a server
// that asks for no proof may give out less than it once did: the one that says most stays.
func (s *step) told(epoch string, head int64, text string) {
	p := Proof{Epoch: epoch, Seq: head, Text: text}
	if p.Beyond(s.proof, Cursor{Epoch: epoch}) {
		s.proof = p
	}
}

// shown is the proof of the cursor's epoch, which goes with a request and, with the marks
// and the pages that it covers, into the store.
func (s *State) shown() Proof {
	if s.proof.Epoch != s.cursor.Epoch {
		return Proof{}
	}
	return s.proof
}
