package kind

import (
	"time"

	"hoppertally/domain/form"
)

// BooksClosed closes the books through a time: nothing before it changes any more.
type BooksClosed struct {
	Through   string
	ThroughMS int64
}

func (b *BooksClosed) Fields(v *form.Visitor) { v.Text("through", &b.Through, 40) }

func (*BooksClosed) refs() Refs { return Refs{} }

// Check reads the time.
func (b *BooksClosed) Check() error {
	t, err := time.Parse(time.RFC3339, b.Through)
	if err != nil {
		return form.Fail("through", b.Through, "a time as RFC 3339, such as 2026-03-31T23:59:59+02:00")
	}
	b.ThroughMS = t.UnixMilli()
	return nil
}
