package replica

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// Piece is one part of a snapshot as the server lists it.
type Piece struct {
	Kind   string // state or page
	SHA256 string // hex
	Bytes  int64
}

// DecodeSnapshotList reads the body of GET /snapshot: what there is to fetch.
func DecodeSnapshotList(b []byte) (epoch string, base Base, pieces []Piece, err error) {
	v, r, err := parse("snapshot", b)
	if err != nil {
		return "", Base{}, nil, err
	}
	epoch = r.text(v, "epoch", false)
	base = Base{Seq: r.int(v, "seq", false), FloorMS: r.ms(v, "floor_ms", false)}
	for _, p := range r.list(v, "pieces") {
		pieces = append(pieces, Piece{r.text(p, "kind", false), r.text(p, "sha256", false), r.int(p, "bytes", false)})
	}
	return epoch, base, pieces, r.err
}

// JoinSnapshot puts a snapshot together from the list's body and the pieces, in its
// order. It is an error if a piece is not what its hash says.
func JoinSnapshot(list []byte, blobs [][]byte, scope Scope) (Snapshot, error) {
	epoch, base, pieces, err := DecodeSnapshotList(list)
	if err != nil {
		return Snapshot{}, err
	}
	if len(pieces) != len(blobs) {
		return Snapshot{}, &WireError{Answer: "snapshot", Field: "pieces", Got: fmt.Sprint(len(blobs), " of ", len(pieces))}
	}
	base.Scope = scope
	s := Snapshot{Epoch: epoch}
	for i, p := range pieces {
		if sum := sha256.Sum256(blobs[i]); hex.EncodeToString(sum[:]) != p.SHA256 {
			return Snapshot{}, &WireError{Answer: "snapshot", Field: "sha256", Got: hex.EncodeToString(sum[:])}
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
		base.Tail += int64(len(page.Items))
	}
	s.Base = base
	return s, nil
}
