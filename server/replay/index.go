package replay

// pile is a growing list of records that never moves them: a list that doubles
// would for a moment need the memory three times.
type pile struct {
	parts [][]record
	n     int
}

const partLen = 1 << 14

func (p *pile) push(r *record) {
	if p.n%partLen == 0 {
		p.parts = append(p.parts, make([]record, 0, partLen))
	}
	last := len(p.parts) - 1
	p.parts[last] = append(p.parts[last], *r)
	p.n++
}

func (p *pile) at(i int) *record { return &p.parts[i/partLen][i%partLen] }

// index finds records by id: open addressing over slots of 8 bytes, 32 bits of
// the hash above the record's number + 1.
type index struct {
	slots []uint64
	n     int
}

// add notes that the next record of the pile has this id, unless one has it
// already: then it tells which.
func (x *index) add(id packedID, p *pile, long []string) (at int, is bool) {
	if 4*x.n >= 3*len(x.slots) {
		x.grow()
	}
	slot, at := x.seek(id, p, long, long)
	if at >= 0 {
		return at, true
	}
	x.slots[slot] = id.hash()>>32<<32 | uint64(p.n+1)
	x.n++
	return p.n, false
}

// find finds the record of an id whose long form stands in own.
func (x *index) find(id packedID, own []string, p *pile, long []string) (at int, is bool) {
	if len(x.slots) == 0 {
		return 0, false
	}
	_, at = x.seek(id, p, own, long)
	return at, at >= 0
}

// seek goes to the slot of an id; at is -1 where no record has it.
func (x *index) seek(id packedID, p *pile, own, long []string) (slot uint64, at int) {
	h := id.hash() >> 32
	for slot = h & uint64(len(x.slots)-1); x.slots[slot] != 0; slot = (slot + 1) & uint64(len(x.slots)-1) {
		if x.slots[slot]>>32 != h {
			continue
		}
		i := int(uint32(x.slots[slot])) - 1
		if id.equal(own, p.at(i).id, long) {
			return slot, i
		}
	}
	return slot, -1
}

func (x *index) grow() {
	old := x.slots
	x.slots = make([]uint64, max(1<<12, 2*len(old)))
	for _, s := range old {
		if s == 0 {
			continue
		}
		slot := s >> 32 & uint64(len(x.slots)-1)
		for x.slots[slot] != 0 {
			slot = (slot + 1) & uint64(len(x.slots)-1)
		}
		x.slots[slot] = s
	}
}
