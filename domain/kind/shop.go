package kind

import "hoppertally/domain/form"

// ShopSet names the shop and says how it measures.
type ShopSet struct{ Name, Zone, Units, Currency, Lang string }

func (b *ShopSet) Fields(v *form.Visitor) {
	v.Text("name", &b.Name, nameMax)
	v.Text("zone", &b.Zone, 64) // IANA time zone
	v.Enum("units", &b.Units, UnitSystems...)
	v.Text("currency", &b.Currency, 3) // ISO 4217
	v.Enum("lang", &b.Lang, Languages...)
}

func (*ShopSet) refs() Refs { return Refs{} }
