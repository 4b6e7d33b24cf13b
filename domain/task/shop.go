package task

import (
	"strings"

	"hoppertally/domain/kind"
)

func (p *planner) setShop() {
	b := &kind.ShopSet{Name: p.need("name"), Zone: p.need("zone"), Units: p.choice("units", kind.UnitSystems, "metric"),
		Currency: strings.ToUpper(p.need("currency")), Lang: p.choice("lang", kind.Languages, "en")}
	if b.Zone != "" && strings.ContainsAny(b.Zone, " \\") {
		p.fail("zone", "form.zone", b.Zone, "")
	}
	p.addIfGood("shop.set", b)
}
