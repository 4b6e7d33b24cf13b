package task

import (
	"cmp"

	"hoppertally/domain/kind"
)

func (p *planner) setPerson() {
	b := &kind.PersonSet{Person: cmp.Or(p.text("person"), p.newID()), Name: p.need("name"), Role: p.choice("role", kind.Roles, "coater"), Gone: p.text("gone") == "yes"}
	if p.f.IsLastManager(b.Person) && (b.Gone || b.Role != "manager") {
		field := "role"
		if b.Gone {
			field = "" // a switch has no room for words
		}
		p.fail(field, "form.last_manager", p.s.People[b.Person].Name, "")
	}
	p.addIfGood("person.set", b)
}
