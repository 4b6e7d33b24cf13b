package auth

import (
	"fmt"
	"slices"
	"strings"
)

// A device tells its own id, and that is no secret: it stands in every entry. So that
// nobody acts as another's device, its first sign-in binds the id to a secret that the
// device made and keeps beside its entries; the server keeps the hash. Everybody who
// signs in on a shared phone shows the same one, because it is the phone's.
//
// A device that never showed a secret, of a program before or a script, is known by its
// people: whoever signed in there before, or comes with the session of one of them, and
// managers. Its first sign-in or refresh with a secret binds it. Should a device be bound
// to a secret that is not its own, a manager shuts it out and lets it in again
// ([Auth.Restore]): then it is as if it never showed one.
const devicePrefix = "auth/device/" // what an id is bound to, for ever

// DeviceSecretMin and DeviceSecretMax bound the length of a device's secret, in bytes.
const (
	DeviceSecretMin = 16
	DeviceSecretMax = 128
)

// DeskID is the device of a server's own desk. Nobody can sign in as it.
func DeskID(serverID string) string { return "desk-" + serverID }

type binding struct {
	Hash string `json:"hash"`
}

// admit decides whether a person may sign in on a device, with CodePhoneTaken if it is
// another's, and gives what binds the id, nil when there is nothing to write. The lock
// is held.
func (a *Auth) admit(d Device, p Person) (bind map[string][]byte, err error) {
	if d.ID == DeskID(a.serverID) {
		return nil, refuse(CodePhoneTaken)
	}
	isBound, isRight, err := a.bound(d.ID, d.Secret)
	switch {
	case err != nil:
		return nil, err
	case isBound && !isRight:
		return nil, refuse(CodePhoneTaken)
	case isBound:
		return nil, nil
	}
	people, err := a.authors(d.ID)
	if err != nil {
		return nil, err
	}
	isOurs := func(token string) bool { return a.isOf(token, d.ID) }
	if len(people) > 0 && p.Role != manager && !slices.Contains(people, p.ID) && !slices.ContainsFunc(d.Tokens, isOurs) {
		return nil, refuse(CodePhoneTaken)
	}
	if d.Secret == "" {
		return nil, nil
	}
	return map[string][]byte{devicePrefix + d.ID: encode(binding{hashOf(d.Secret)})}, nil
}

// admits is admit for somebody whom the books do not know yet.
func (a *Auth) admits(d Device) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	_, err := a.admit(d, Person{})
	return err
}

// bound tells whether a device is bound to a secret, and whether to this one.
func (a *Auth) bound(device, secret string) (isBound, isRight bool, err error) {
	var b binding
	isBound, err = a.load(devicePrefix+device, &b)
	return isBound, isBound && secret != "" && same(b.Hash, hashOf(secret)), err
}

// BindDevice binds the device of a session that was just refreshed to the secret that it
// showed, unless it is bound already or showed none.
func (a *Auth) BindDevice(session, secret string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[session]
	if s == nil || secret == "" {
		return nil
	}
	isBound, _, err := a.bound(s.Device, secret)
	if err != nil || isBound {
		return err
	}
	return a.store(devicePrefix+s.Device, binding{hashOf(secret)})
}

// isOf tells whether a refresh token is of a session that goes on on a device. The lock
// is held.
func (a *Auth) isOf(token, device string) bool {
	id, secret, _ := strings.Cut(token, ".")
	s := a.sessions[id]
	if s == nil || !a.alive(s) || s.Device != device {
		return false
	}
	r := s.find(hashOf(secret))
	return r != nil && (r.UntilMS == 0 || r.UntilMS >= a.now().UnixMilli())
}

// authors lists who ever signed in on a device, in order of their ids.
func (a *Auth) authors(device string) (people []string, err error) {
	prefix := authorKey(device, "")
	err = a.side.Each(prefix, func(key string, _ []byte) error {
		people = append(people, strings.TrimPrefix(key, prefix))
		return nil
	})
	return people, err
}

// dropDesk ends what a program before let somebody begin under the id of the server's
// own desk.
func (a *Auth) dropDesk() error {
	desk, changes := DeskID(a.serverID), map[string][]byte{}
	for id, s := range a.sessions {
		if s.Device == desk {
			changes[sessionPrefix+id] = nil
			delete(a.sessions, id)
		}
	}
	if a.phones[desk] != nil {
		changes[phonePrefix+desk] = nil
		delete(a.phones, desk)
	}
	if len(changes) == 0 {
		return nil
	}
	if err := a.write(changes); err != nil {
		return fmt.Errorf("auth: end the sessions under the desk's id: %w", err)
	}
	return nil
}
