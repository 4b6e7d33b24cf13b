package shop

import "hoppertally/domain/form"

// Plain is the state without what is for the office only: the state that the plain
// form of the same entries would have made.
func (s *State) Plain() *State {
	p, err := DecodeState(form.EncodePlain(s))
	if err != nil {
		panic("shop: a plain state does not decode: " + err.Error()) // optional fields are missing, which is no fault
	}
	return p
}
