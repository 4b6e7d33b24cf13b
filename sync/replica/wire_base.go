package replica

// Piece is one part of a snapshot as the server lists it. Whoever fetches it checks its
// hash: a browser does that natively, while SHA-256 as WebAssembly took longer than
// reading the pieces.
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
	snap.Epoch, snap.Head, snap.Proof = r.text(v, "epoch", false), r.int(v, "head", true), r.text(v, "proof", true)
	snap.Base = Base{Seq: r.int(v, "seq", false), FloorMS: r.ms(v, "floor_ms", false), Tail: r.int(v, "tail", true)}
	for _, p := range r.list(v, "pieces") {
		pieces = append(pieces, Piece{r.text(p, "kind", false), r.text(p, "sha256", false), r.int(p, "bytes", false)})
	}
	return snap, pieces, r.err
}
