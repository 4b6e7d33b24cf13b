package auth

import (
	"testing"
	"time"
)

// on is a device that shows a secret, or "" none.
func on(id, secret string) Device { return Device{ID: id, Secret: secret, Address: "10.0.0.1"} }

const (
	own     = "made by the phone itself"
	foreign = "made by quite another one"
)

func (s *shop) enter(person string, d Device) (Grant, error) {
	s.t.Helper()
	code, _, err := s.Invite(person)
	if err != nil {
		s.t.Fatal(err)
	}
	return s.SignInByCode(code, d)
}

func (s *shop) enters(person string, d Device) Grant {
	s.t.Helper()
	g, err := s.enter(person, d)
	if err != nil {
		s.t.Fatalf("%s on %s: %v", person, d.ID, err)
	}
	return g
}

func TestNobodySignsInAsTheServersOwnDesk(t *testing.T) {
	s := newShop(t)
	desk := on(DeskID("srv-1"), own)
	_, err := s.enter("p-ana", desk)
	refused(t, "by a code", err, CodePhoneTaken)
	s.SetPassphrase("p-bo", "correct horse")
	_, err = s.SignIn("Bo Lind", "correct horse", desk)
	refused(t, "by a passphrase", err, CodePhoneTaken)
	_, err = s.SetUp(s.SetUpCode(), "long enough", desk, func() (Person, error) {
		t.Error("the shop was set up for it")
		return Person{}, nil
	})
	refused(t, "by the code on the terminal", err, CodePhoneTaken)
	refused(t, "shut out", s.Revoke(desk.ID, "p-bo"), CodeNoPhone)
}

// A program before let somebody in under the desk's id, and a manager shut it out.
func TestWhatBeganUnderTheDesksIDEndsAtTheNextStart(t *testing.T) {
	s := newShop(t)
	g := s.enters("p-ana", on("dev-1", own))
	desk := DeskID("srv-1")
	old := s.sessions[g.Session].clone()
	old.Device = desk
	s.side.kv[sessionPrefix+old.ID] = encode(old)
	s.side.kv[phonePrefix+desk] = (&Phone{Device: desk, Number: 7, RevokedMS: 1}).encode()
	s.restart()
	if s.Revoked(desk) || len(s.Sessions("p-ana")) != 0 || s.side.kv[phonePrefix+desk] != nil || s.side.kv[sessionPrefix+old.ID] != nil {
		t.Error("the desk is still somebody's phone")
	}
}

func TestADeviceIsItsSecretsFromTheFirstSignInOn(t *testing.T) {
	s := newShop(t)
	s.enters("p-bo", on("dev-1", own))
	before := *s.phones["dev-1"]
	s.later(time.Hour)
	for name, d := range map[string]Device{"without a secret": on("dev-1", ""), "with another one": on("dev-1", foreign)} {
		d.Kind, d.AppVersion = "tablet", "9"
		for _, person := range []string{"p-ana", "p-bo"} {
			_, err := s.enter(person, d)
			refused(t, person+" "+name, err, CodePhoneTaken)
		}
	}
	if after := *s.phones["dev-1"]; after != before {
		t.Errorf("the phone is now %+v, was %+v", after, before)
	}
	if known, err := s.Author("dev-1", "p-ana"); known || err != nil {
		t.Errorf("who was refused counts as somebody who signed in there: %v", err)
	}
	s.enters("p-ana", on("dev-1", own)) // a colleague, on the same phone
	s.restart()
	_, err := s.enter("p-ana", on("dev-1", foreign))
	refused(t, "after a restart", err, CodePhoneTaken)
	s.enters("p-ana", on("dev-1", own))
}

// A refusal for the device's sake costs nobody their invitation.
func TestACodeThatWasShownOnATakenDeviceStaysGood(t *testing.T) {
	s := newShop(t)
	s.enters("p-bo", on("dev-1", own))
	code, _, _ := s.Invite("p-ana")
	_, err := s.SignInByCode(code, on("dev-1", foreign))
	refused(t, "on another's device", err, CodePhoneTaken)
	if _, err := s.SignInByCode(code, on("dev-2", foreign)); err != nil {
		t.Errorf("on her own: %v", err)
	}
}

// Phones of a program before have no secret. Their people let each other in, and the
// first secret shown binds them.
func TestADeviceThatNeverShowedASecretIsItsPeoples(t *testing.T) {
	s := newShop(t)
	bo := s.enters("p-bo", on("dev-1", ""))
	s.enters("p-bo", on("dev-1", ""))
	_, err := s.enter("p-ana", on("dev-1", ""))
	refused(t, "somebody who never was there", err, CodePhoneTaken)
	_, err = s.enter("p-ana", on("dev-1", foreign))
	refused(t, "the same with a secret", err, CodePhoneTaken)
	elsewhere := s.enters("p-ana", on("dev-2", ""))
	beside := on("dev-1", "")
	beside.Tokens = []string{elsewhere.Refresh, "nonsense"}
	_, err = s.enter("p-ana", beside)
	refused(t, "with a session of another device", err, CodePhoneTaken)
	beside.Tokens = []string{bo.Refresh}
	ana := s.enters("p-ana", beside)

	if err := s.BindDevice(ana.Session, own); err != nil {
		t.Fatal(err)
	}
	_, err = s.enter("p-bo", on("dev-1", ""))
	refused(t, "without the secret, once one was shown", err, CodePhoneTaken)
	if err := s.BindDevice(ana.Session, foreign); err != nil {
		t.Fatal(err)
	}
	s.enters("p-bo", on("dev-1", own)) // what came second binds nothing
	if err := s.BindDevice("a session that is over", own); err != nil {
		t.Error(err)
	}
}

// Somebody who had used a phone bound its id to a secret of their own. A manager has the
// way out.
func TestADeviceThatIsBoundToAWrongSecretIsFreedByAManager(t *testing.T) {
	s := newShop(t)
	s.enters("p-ana", on("dev-1", foreign))
	_, err := s.enter("p-bo", on("dev-1", own))
	refused(t, "the phone itself", err, CodePhoneTaken)
	must(t, s.Revoke("dev-1", "p-bo"))
	_, err = s.enter("p-bo", on("dev-1", own))
	refused(t, "shut out", err, CodePhoneTaken)
	must(t, s.Restore("dev-1"))
	s.people["p-eve"] = Person{ID: "p-eve", Name: "Eve", Role: "clerk"}
	_, err = s.enter("p-eve", on("dev-1", foreign))
	refused(t, "somebody who never was there", err, CodePhoneTaken)
	s.enters("p-bo", on("dev-1", own)) // a manager, who never was there either
	_, err = s.enter("p-ana", on("dev-1", foreign))
	refused(t, "with the wrong secret", err, CodePhoneTaken)
	s.enters("p-ana", on("dev-1", own))
}

// A phone that makes room on the list stays its owner's.
func TestADeviceStaysBoundWhenItLeavesTheList(t *testing.T) {
	s := newShop(t)
	g := s.enters("p-bo", on("dev-1", own))
	if err := s.End("p-bo", g.Session); err != nil {
		t.Fatal(err)
	}
	delete(s.phones, "dev-1")
	_, err := s.enter("p-ana", on("dev-1", foreign))
	refused(t, "off the list", err, CodePhoneTaken)
	s.enters("p-bo", on("dev-1", own))
}

func TestWhoLeftAndCameBackHasNoOldSession(t *testing.T) {
	s := newShop(t)
	leave := func(gone bool) {
		p := s.people["p-ana"]
		p.Gone = gone
		s.people["p-ana"] = p
	}
	before := s.enters("p-ana", on("dev-1", own))
	other := s.enters("p-bo", on("dev-2", own))
	code, _, _ := s.Invite("p-ana")
	for name, told := range map[string]func(){
		"the books told it":                     func() { leave(true); must(t, s.Left("p-ana")); leave(false) },
		"the server ended before it heard that": func() { leave(true); s.restart(); leave(false) },
	} {
		told()
		_, err := s.Verify(before.Access)
		refused(t, name+": the access token", err, CodeEnded)
		if n := len(s.Sessions("p-ana")); n != 0 {
			t.Errorf("%s: %d sessions are listed", name, n)
		}
		_, err = s.Refresh(before.Refresh)
		refused(t, name+": the refresh token", err, CodeEnded)
		_, err = s.SignInByCode(code, on("dev-1", own))
		refused(t, name+": a code from before", err, CodeCode)
		if _, err := s.Refresh(other.Refresh); err != nil {
			t.Errorf("%s: somebody else's session: %v", name, err)
		}
		before = s.enters("p-ana", on("dev-1", own)) // anew she may
		code, _, _ = s.Invite("p-ana")
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
