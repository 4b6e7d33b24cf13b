package auth

import "errors"

// Left ends what somebody had who no longer works here: every session and every code
// that was not used. Should they come back, they sign in anew. The sessions stay known,
// so that their phones are told why.
func (a *Auth) Left(person string) error {
	changes := map[string][]byte{}
	err := each(a, invitePrefix, func(key string, v invite) {
		if v.Person == person {
			changes[key] = nil
		}
	})
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, s := range a.of(person) {
		over := s.clone()
		over.Left = true
		a.sessions[s.ID] = over // also when the disk does not take it
		changes[sessionPrefix+s.ID] = encode(over)
	}
	if len(changes) > 0 {
		err = errors.Join(err, a.write(changes))
	}
	return err
}

// endLeft ends the sessions of people who do not work here: the server may have ended
// between their leaving and [Auth.Left].
func (a *Auth) endLeft() error {
	left := map[string]bool{}
	for _, s := range a.sessions {
		if p, known := a.people.Person(s.Person); !s.Left && (!known || p.Gone) {
			left[s.Person] = true
		}
	}
	var err error
	for person := range left {
		err = errors.Join(err, a.Left(person))
	}
	return err
}
