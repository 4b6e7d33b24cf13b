package kind

import "hoppertally/domain/form"

// EntryVoided takes an entry out of the books. It has no order: the target
// never counted. Voiding a void has no effect.
type EntryVoided struct{ Entry, Why string }

func (b *EntryVoided) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.Text("why", &b.Why, form.TextMax)
}

func (b *EntryVoided) refs() Refs { return Refs{Entries: named(b.Entry)} }

// EntryNoted adds words to an entry and takes it off the attention list.
type EntryNoted struct{ Entry, Text string }

func (b *EntryNoted) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.Text("text", &b.Text, form.TextMax)
}

func (b *EntryNoted) refs() Refs { return Refs{Entries: named(b.Entry)} }

// EntryReleased lets a held entry count.
type EntryReleased struct{ Entry, Why string }

func (b *EntryReleased) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *EntryReleased) refs() Refs { return Refs{Entries: named(b.Entry)} }

// EntryDeclined settles that a held entry does not count.
type EntryDeclined struct{ Entry, Why string }

func (b *EntryDeclined) Fields(v *form.Visitor) {
	v.ID("entry", &b.Entry)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *EntryDeclined) refs() Refs { return Refs{Entries: named(b.Entry)} }
