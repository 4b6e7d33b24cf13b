package main

import (
	"fmt"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// plainLots and plainRacks are the size of the plain shop.
const (
	plainLots  = 400
	plainRacks = 50
)

// plain is a shop in which every transfer names its lot and nothing mixes: the
// least that there is to do for a program that adds up. A fifth of each lot has
// been through the gun once.
func (m *maker) plain(moves int64) {
	for i := range plainRacks {
		m.place(rack(i), ledger.Shelf, -1)
	}
	m.place(hopper(0), ledger.Vessel, -1)
	m.lots = make([]lot, plainLots)
	m.record("booth.set", boothSet(0))
	m.record("powder.set", powderSet(0))
	for i := range m.lots {
		m.lots[i] = lot{fmt.Sprintf("L%04d", i+1), rack(m.r.IntN(plainRacks))}
		m.receiveLot(m.lots[i], 0)
		m.openRunOf(0, 0)
		m.move(m.lots[i].rack, hopper(0), m.lots[i].name, lotMass/5)
		m.recover(m.booths[0].run, hopper(0), m.lots[i].rack, lotMass/5)
	}
	for m.moved < moves && m.err == nil {
		l := m.lots[m.r.IntN(plainLots)].name
		from, to := rack(m.r.IntN(plainRacks)), rack(m.r.IntN(plainRacks))
		held := m.book.Places[from].Content.OfLot(l)
		for i := 0; held == 0 || from == to; i++ { // somewhere there is some of it
			from = rack(i % plainRacks)
			held, to = m.book.Places[from].Content.OfLot(l), rack(m.r.IntN(plainRacks))
		}
		m.move(from, to, l, min(held, 1+measure.Mass(m.r.Int64N(int64(5*measure.Kilogram)))))
	}
}
