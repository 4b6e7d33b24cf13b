package shop

import "hoppertally/domain/form"

// Redacted is the state without the fields for the office only: the same state that
// the redacted entries make.
func (s *State) Redacted() *State {
	p, err := DecodeState(form.EncodeRedacted(s))
	if err != nil {
		panic("shop: a redacted state does not decode: " + err.Error()) // optional fields are missing, which is no fault
	}
	return p
}
