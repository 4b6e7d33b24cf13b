package kind

import "hoppertally/domain/form"

// PersonSet is a person who records.
type PersonSet struct {
	Person, Name, Role string
	Gone               bool
}

func (b *PersonSet) Fields(v *form.Visitor) {
	v.ID("person", &b.Person)
	v.Text("name", &b.Name, nameMax)
	v.Enum("role", &b.Role, Roles...)
	v.Bool("gone", &b.Gone)
}

func (*PersonSet) refs() Refs { return Refs{} }

func (b *PersonSet) Manages() bool { return b.Role == "manager" && !b.Gone }
