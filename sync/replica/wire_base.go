package replica

import "fmt"

// Piece is one part of a snapshot as the server lists it.
type Piece struct {
	Kind   string // state or page
	SHA256 string // hex
	Bytes  int64
}

// DecodeSnapshotList reads the body of GET /snapshot: what there is to fetch.
func DecodeSnapshotList(b []byte) (snap Snapshot, pieces []Piece, err error) {
	v, r, err := parse("snapshot", b)
	if err != nil {
		return Snapshot{}, nil, err
	}
	defer r.done()
	snap.Epoch, snap.Head = r.text(v, "epoch", false), r.int(v, "head", true)
	snap.Base = Base{Seq: r.int(v, "seq", false), FloorMS: r.ms(v, "floor_ms", false)}
	for _, p := range r.list(v, "pieces") {
		pieces = append(pieces, Piece{r.text(p, "kind", false), r.text(p, "sha256", false), r.int(p, "bytes", false)})
	}
	return snap, pieces, r.err
}

// JoinSnapshot puts a snapshot together from the list's body and the pieces, in its
// order. Whoever fetched a piece has checked its hash: a browser does that natively,
// while SHA-256 as WebAssembly took longer than reading the pieces. ready gives pages
// that were read while others were still on their way, by their hash; nil for none.
func JoinSnapshot(list []byte, blobs [][]byte, scope Scope, ready func(sha256 string) (Page, bool)) (Snapshot, error) {
	s, pieces, err := DecodeSnapshotList(list)
	if err != nil {
		return Snapshot{}, err
	}
	if len(pieces) != len(blobs) {
		return Snapshot{}, &WireError{Answer: "snapshot", Field: "pieces", Got: fmt.Sprint(len(blobs), " of ", len(pieces))}
	}
	s.Base.Scope = scope
	for i, p := range pieces {
		if ready != nil && p.Kind == "page" {
			if page, ok := ready(p.SHA256); ok {
				s.Pages = append(s.Pages, page)
				s.Base.Tail += int64(len(page.Items))
				continue
			}
		}
		if int64(len(blobs[i])) != p.Bytes {
			return Snapshot{}, &WireError{Answer: "snapshot", Field: "bytes", Got: fmt.Sprint(len(blobs[i]), ", not ", p.Bytes)}
		}
		if p.Kind == "state" {
			s.State = append(s.State, blobs[i]...)
			continue
		}
		page, err := DecodePull(blobs[i])
		if err != nil {
			return Snapshot{}, err
		}
		s.Pages = append(s.Pages, page)
		s.Base.Tail += int64(len(page.Items))
	}
	return s, nil
}
