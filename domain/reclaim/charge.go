package reclaim

import (
	"math/bits"

	m "hoppertally/domain/measure"
)

// Limit names what decided how much reclaim goes in.
type Limit string

const (
	LimitNone    Limit = ""        // nothing was asked for
	LimitShare   Limit = "share"   // the share of reclaim the powder allows
	LimitReclaim Limit = "reclaim" // no more reclaim is there
	LimitVirgin  Limit = "virgin"  // virgin is lacking: more of it would let more in
	LimitRoom    Limit = "room"    // the vessel is full
	LimitOver    Limit = "over"    // what is in the vessel stands above the share already
)

// Blend is what to put in, and what the vessel (or the charge) holds afterwards.
// All masses are exact: Reclaim + Virgin + Short is what was asked for or what
// the vessel had room for.
type Blend struct {
	Reclaim m.Mass // to put in
	Virgin  m.Mass // to put in
	Short   m.Mass // asked for, but virgin is lacking

	ReclaimAfter m.Mass // reclaim in the whole afterwards; the share is ReclaimAfter : TotalAfter
	TotalAfter   m.Mass // the whole afterwards

	Binding Limit

	// Only when Binding is LimitOver:
	OverBy   m.Mass // reclaim above what TotalAfter may hold
	Dilute   m.Mass // virgin that would bring the content before the top-up down to the share
	Dilutes  bool   // false when no amount of virgin does: the share allowed is nil
	TakeOut  m.Mass // mixed powder to take out first so that filling up with virgin suffices; 0 when Dilute fits the room
	VirginIn m.Mass // virgin to fill the vessel with after TakeOut
}

// Charge composes a charge of mass want from at most share per mille of reclaim,
// given what reclaim and virgin there are. It fills the charge as far as it can
// and then uses as much reclaim as it may; shares are rounded down to the
// milligram, so that 1000·Reclaim <= share·(Reclaim+Virgin) always holds.
// Without enough virgin the charge is Short: reclaim alone may not fill it.
// The error is a *measure.Fault for a negative mass, one not below
// measure.MassMax, or a share outside 0 to 1000.
func Charge(want m.Mass, share m.Share, reclaim, virgin m.Mass) (Blend, error) {
	return TopUp(Hopper{Capacity: want}, share, reclaim, virgin)
}

// Hopper is a vessel to be topped up.
type Hopper struct {
	Holds    m.Mass // what is in it, reclaim and virgin
	Reclaim  m.Mass // of which passes >= 1
	Capacity m.Mass // what it takes when full
}

// TopUp fills h to its capacity with at most share per mille of reclaim in the
// whole, counting what is in it already:
//
//	reclaim = clamp(share·capacity − reclaim in it, 0, available), virgin = the rest
//
// rounded as in [Charge]. If the vessel stands above the share even when only
// virgin goes in, Binding is LimitOver and the fields below it say by how much
// and what brings it down. A vessel above its capacity has no room; nothing is
// put in. The error is a *measure.Fault.
func TopUp(h Hopper, share m.Share, reclaim, virgin m.Mass) (Blend, error) {
	if err := checkTopUp(h, share, reclaim, virgin); err != nil {
		return Blend{}, err
	}
	room := max(h.Capacity-h.Holds, 0)
	var b Blend
	b.Reclaim, b.Binding = mostReclaim(h, room, share, reclaim)
	b.Virgin = room - b.Reclaim
	if b.Virgin > virgin {
		b.Virgin, b.Binding = virgin, LimitVirgin
		b.Reclaim = min(b.Reclaim, besideVirgin(h, share, virgin))
		b.Short = room - b.Reclaim - b.Virgin
	}
	b.ReclaimAfter, b.TotalAfter = h.Reclaim+b.Reclaim, h.Holds+b.Reclaim+b.Virgin
	if over := b.ReclaimAfter - part(b.TotalAfter, share); over > 0 {
		b.Binding, b.OverBy = LimitOver, over
		b.dilute(h, share)
	}
	return b, nil
}

// mostReclaim is the reclaim that may go into room if virgin fills the rest.
func mostReclaim(h Hopper, room m.Mass, share m.Share, have m.Mass) (m.Mass, Limit) {
	allowed := max(part(h.Holds+room, share)-h.Reclaim, 0)
	switch least := min(allowed, have, room); {
	case room == 0 && h.Capacity == 0 && h.Holds == 0:
		return 0, LimitNone
	case room == 0:
		return 0, LimitRoom
	case least == allowed:
		return least, LimitShare
	case least == have:
		return least, LimitReclaim
	default:
		return least, LimitRoom
	}
}

// besideVirgin is the most reclaim c that may go in beside that much virgin v:
// 1000·(Hr+c) <= share·(H+c+v), so c <= (share·(H+v) − 1000·Hr) / (1000 − share).
func besideVirgin(h Hopper, share m.Share, virgin m.Mass) m.Mass {
	if share == 1000 {
		return m.MassMax - 1
	}
	// Below 2^53·2·1000 + …: fits an int64.
	allowed := int64(share)*int64(h.Holds+virgin) - 1000*int64(h.Reclaim)
	return m.Mass(max(allowed, 0) / (1000 - int64(share)))
}

// part is share of whole, rounded down.
func part(whole m.Mass, share m.Share) m.Mass { return whole * m.Mass(share) / 1000 }

// dilute says what brings h down to the share by virgin alone.
func (b *Blend) dilute(h Hopper, share m.Share) {
	if share > 0 {
		b.Dilutes = true
		b.Dilute = ceilDiv(1000*h.Reclaim, m.Mass(share)) - h.Holds
		if h.Holds+b.Dilute <= h.Capacity {
			return
		}
	}
	// Of the well-mixed content at most keep may stay, reclaim·keep/holds <= share·capacity.
	keep := min(mulDivDown(h.Holds, int64(share)*int64(h.Capacity), 1000*int64(h.Reclaim)), h.Holds)
	b.TakeOut = h.Holds - keep
	b.VirginIn = max(h.Capacity-keep, 0)
}

func ceilDiv(a, b m.Mass) m.Mass { return (a + b - 1) / b }

// mulDivDown is a·num/den rounded down through 128 bits. At most 2^63-1 is returned.
func mulDivDown(a m.Mass, num, den int64) m.Mass {
	hi, lo := bits.Mul64(uint64(a), uint64(num))
	if hi >= uint64(den)>>1 {
		return 1<<63 - 1
	}
	q, _ := bits.Div64(hi, lo, uint64(den))
	return m.Mass(q)
}

// mulDivUp is a·num/den rounded up, for num <= den.
func mulDivUp(a m.Mass, num, den int64) m.Mass {
	hi, lo := bits.Mul64(uint64(a), uint64(num))
	q, r := bits.Div64(hi, lo, uint64(den))
	if r > 0 {
		q++
	}
	return m.Mass(q)
}

func checkTopUp(h Hopper, share m.Share, reclaim, virgin m.Mass) error {
	for _, c := range []struct {
		name string
		mass m.Mass
	}{
		{"holds_mg", h.Holds}, {"holds_reclaim_mg", h.Reclaim}, {"capacity_mg", h.Capacity},
		{"reclaim_mg", reclaim}, {"virgin_mg", virgin},
	} {
		if c.mass < 0 || c.mass >= m.MassMax {
			return m.Refuse(c.name, int64(c.mass), "a mass from 0 to 2^53-1 mg")
		}
	}
	if h.Reclaim > h.Holds {
		return m.Refuse("holds_reclaim_mg", int64(h.Reclaim), "no more than the vessel holds")
	}
	if share < 0 || share > 1000 {
		return m.Refuse("share_pm", int64(share), "a share from 0 to 1000 per mille")
	}
	return nil
}
