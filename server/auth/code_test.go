package auth

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

// dev is a device with its secret.
func dev(id string) Device {
	return Device{ID: id, Secret: "the secret of " + id, AppVersion: "1", Address: "10.0.0.1"}
}

func TestAnInvitationSignsInOnceWithinThreeDays(t *testing.T) {
	s := newShop(t)
	code, until, err := s.Invite("p-ana")
	if err != nil || !until.Equal(s.now.Add(InviteLife)) {
		t.Fatalf("Invite = %v, %v", until, err)
	}
	for k, v := range s.side.kv {
		if strings.Contains(k+string(v), plainCode(code)) || strings.Contains(k+string(v), code) {
			t.Errorf("the code itself is stored under %s", k)
		}
	}
	typed := strings.ToLower(strings.ReplaceAll(code, "-", " "))
	if _, err := s.SignInByCode(typed, dev("dev-1")); err != nil {
		t.Errorf("typed by hand: %v", err)
	}
	if _, err := s.SignInByCode(code, dev("dev-1")); err != nil {
		t.Errorf("again from the same phone, whose answer was lost: %v", err)
	}
	_, err = s.SignInByCode(code, dev("dev-2"))
	refused(t, "from another phone", err, CodeCode)
	for name, secret := range map[string]string{"without a secret": "", "with another secret": "the secret of dev-2"} {
		_, err = s.SignInByCode(code, Device{ID: "dev-1", Secret: secret, Address: "10.0.0.1"})
		refused(t, "under the same phone's id, "+name, err, CodeCode)
	}
	s.later(inviteAgain + time.Second)
	_, err = s.SignInByCode(code, dev("dev-1"))
	refused(t, "from the same phone much later", err, CodeCode)

	code, _, _ = s.Invite("p-ana")
	old := Device{ID: "dev-old", Address: "10.0.0.1"} // of a program that knows no secret
	if _, err := s.SignInByCode(code, old); err != nil {
		t.Errorf("from a phone without a secret: %v", err)
	}
	_, err = s.SignInByCode(code, old)
	refused(t, "again from a phone that cannot show that it is the same", err, CodeCode)
	code, _, _ = s.Invite("p-ana")
	s.later(InviteLife + time.Second)
	_, err = s.SignInByCode(code, dev("dev-1"))
	refused(t, "after three days", err, CodeCode)
	_, _, err = s.Invite("p-nobody")
	refused(t, "for nobody", err, CodeNoPerson)
	_, _, err = s.Invite("p-old")
	refused(t, "for a person who left", err, CodeGone)
}

func TestOfManyPhonesUsingOneCodeAtOnceOneGetsIn(t *testing.T) {
	s := newShop(t)
	code, _, _ := s.Invite("p-ana")
	got := make(chan error, 10)
	for i := range 10 {
		go func() {
			_, err := s.SignInByCode(code, dev(fmt.Sprint("dev-", i)))
			got <- err
		}()
	}
	in := 0
	for range 10 {
		if <-got == nil {
			in++
		}
	}
	if in != 1 {
		t.Errorf("%d phones got in, want 1", in)
	}
}

// Codes nobody used do not pile up: the oldest of a person gives way.
func TestAPersonHasSoManyOpenInvitations(t *testing.T) {
	s := newShop(t)
	other, _, _ := s.Invite("p-bo")
	var codes []string
	for range openMax + 3 {
		s.later(time.Minute)
		code, _, err := s.Invite("p-ana")
		if err != nil {
			t.Fatal(err)
		}
		codes = append(codes, code)
	}
	n := 0
	for k := range s.side.kv {
		if strings.HasPrefix(k, invitePrefix) {
			n++
		}
	}
	if n != openMax+1 {
		t.Errorf("%d codes are kept, want %d of hers and one of another's", n, openMax)
	}
	for i, code := range codes {
		if _, err := s.SignInByCode(code, dev(fmt.Sprint("dev-", i))); (err == nil) != (i >= 3) {
			t.Errorf("code %d of %d: %v", i+1, len(codes), err)
		}
	}
	if _, err := s.SignInByCode(other, dev("dev-bo")); err != nil {
		t.Errorf("somebody else's: %v", err)
	}
}

func TestADemoCodeWorksAgainAndAgain(t *testing.T) {
	s := newShop(t)
	code, err := s.DemoCode("p-bo")
	if err != nil {
		t.Fatal(err)
	}
	for i := range 5 {
		s.later(time.Hour)
		if g, err := s.SignInByCode(code, dev(fmt.Sprint("dev-", i))); err != nil || g.Person.ID != "p-bo" {
			t.Fatalf("use %d: %+v, %v", i, g, err)
		}
	}
}

func TestTheFirstManagerGetsInByTheCodeOnTheTerminalOnce(t *testing.T) {
	s := newShop(t)
	code := s.SetUpCode()
	mia := Person{ID: "p-mia", Name: "Mia", Role: "manager"}
	made := 0
	book := func() (Person, error) { made++; s.people["p-mia"] = mia; return mia, nil }

	_, err := s.SetUp("0000-0000-0000-0000", "long enough", dev("d"), book)
	refused(t, "wrong code", err, CodeSetUpCode)
	_, err = s.SetUp(code, "short", dev("d"), book)
	refused(t, "short passphrase", err, CodePassphrase)
	if _, err = s.SetUp(code, "long enough", dev("d"), func() (Person, error) { return Person{}, errors.New("disk") }); err == nil || made != 0 {
		t.Errorf("set up although the books failed: %v", err)
	}
	if !s.NeedsSetUp() || s.SetUpCode() != code {
		t.Fatal("a failed set-up used the code up")
	}
	g, err := s.SetUp(strings.ToLower(code), "long enough", dev("d"), book)
	if err != nil || g.Person != mia || made != 1 {
		t.Fatalf("SetUp = %+v, %v", g, err)
	}
	_, err = s.SetUp(code, "long enough", dev("d"), book)
	refused(t, "a second time", err, CodeSetUpDone)
	s.restart()
	if s.NeedsSetUp() || s.SetUpCode() != "" {
		t.Error("asks for a set-up again after a restart")
	}
	if _, err := s.SignIn("mia", "long enough", dev("d2")); err != nil {
		t.Errorf("sign in afterwards: %v", err)
	}
}

func TestEachStartHasAnotherCodeOnTheTerminal(t *testing.T) {
	s := newShop(t)
	before := s.SetUpCode()
	s.restart()
	if after := s.SetUpCode(); after == before || len(after) != 19 {
		t.Errorf("codes %q and %q", before, after)
	}
	if err := s.MarkSetUp(); err != nil {
		t.Fatal(err)
	}
	if s.NeedsSetUp() || s.SetUpCode() != "" {
		t.Error("still asks for a set-up")
	}
}

func TestSignInByNameAndPassphrase(t *testing.T) {
	s := newShop(t)
	if err := s.SetPassphrase("p-ana", "polvo azul número 7"); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, person, passphrase, code string
	}{
		{"right", "Ana Ríos", "polvo azul número 7", ""},
		{"name in other letters", " ana ríos ", "polvo azul número 7", ""},
		{"wrong passphrase", "Ana Ríos", "polvo azul numero 7", CodeWrong},
		{"no passphrase", "Ana Ríos", "", CodeWrong},
		{"a name nobody bears", "Zoe", "polvo azul número 7", CodeWrong},
		{"a person who never set one", "Bo Lind", "polvo azul número 7", CodeWrong},
	}
	for _, tt := range tests {
		g, err := s.SignIn(tt.person, tt.passphrase, dev("dev-1"))
		if tt.code == "" {
			if err != nil || g.Person.ID != "p-ana" {
				t.Errorf("%s: %+v, %v", tt.name, g, err)
			}
			continue
		}
		refused(t, tt.name, err, tt.code)
	}
}

func TestAPassphraseHashIsRenewedWhenItsCostChanged(t *testing.T) {
	s := newShop(t)
	s.SetPassphrase("p-bo", "correct horse")
	before := string(s.side.kv[passPrefix+"p-bo"])
	s.cost = Cost{Time: 2, Memory: 64, Threads: 1}
	if _, err := s.SignIn("bo lind", "correct horse", dev("d")); err != nil {
		t.Fatal(err)
	}
	after := string(s.side.kv[passPrefix+"p-bo"])
	if before == after || !strings.Contains(after, "m=64,t=2,p=1") {
		t.Errorf("kept %s", after)
	}
	if _, err := s.SignIn("bo lind", "correct horse", dev("d")); err != nil {
		t.Errorf("with the new hash: %v", err)
	}
}

func TestWrongTriesWaitLongerAndLongerAndNeverForEver(t *testing.T) {
	s := newShop(t)
	s.SetPassphrase("p-ana", "polvo azul")
	wrong := func() error { _, err := s.SignIn("ana ríos", "nope nope", dev("d")); return err }
	for i := range freePassphrases + 1 {
		refused(t, fmt.Sprint("wrong try ", i+1), wrong(), CodeWrong)
	}
	var last time.Duration
	for i := range 12 {
		e := refused(t, "too early", wrong(), CodeSlow)
		if e.Wait < last || e.Wait > waitMax || e.Wait <= 0 {
			t.Errorf("wait %d is %v after %v, want growing up to %v", i, e.Wait, last, waitMax)
		}
		last = e.Wait
		s.later(e.Wait)
		refused(t, "after the wait", wrong(), CodeWrong)
	}
	if last != waitMax {
		t.Errorf("the longest wait is %v, want %v", last, waitMax)
	}
	s.later(waitMax)
	if _, err := s.SignIn("ana ríos", "polvo azul", dev("d")); err != nil {
		t.Errorf("the right one after all those: %v", err)
	}
	refused(t, "after a right one the count is new", wrong(), CodeWrong)
}

func TestGuessersElsewhereDoNotKeepAPersonOut(t *testing.T) {
	s := newShop(t)
	s.SetPassphrase("p-ana", "polvo azul")
	home := Device{ID: "d", Address: "10.0.0.2"}
	if _, err := s.SignIn("ana ríos", "polvo azul", home); err != nil {
		t.Fatal(err)
	}
	looked := 0
	for i := range 5 * nameBurst {
		if _, err := s.SignIn("ana ríos", "guess guess", Device{ID: "x", Address: fmt.Sprint("10.9.0.", i)}); err.(*Error).Code == CodeWrong {
			looked++
		}
	}
	if looked != nameBurst-1 { // one was her own
		t.Errorf("of guesses from everywhere %d were looked at, want %d", looked, nameBurst-1)
	}
	_, err := s.SignIn("ana ríos", "polvo azul", Device{ID: "x", Address: "10.9.1.1"})
	refused(t, "from an address that never was hers", err, CodeSlow)
	if _, err := s.SignIn("ana ríos", "polvo azul", home); err != nil {
		t.Errorf("from her own address: %v", err)
	}
}

func TestCodesCannotBeGuessedFromOneAddress(t *testing.T) {
	s := newShop(t)
	slow := 0
	for range 100 {
		_, err := s.SignInByCode("0000-0000-0000-0000", dev("d"))
		var e *Error
		if errors.As(err, &e) && e.Code == CodeSlow {
			slow++
		}
	}
	if want := 100 - codeBurst; slow != want {
		t.Errorf("%d of 100 had to wait, want %d", slow, want)
	}
	s.later(waitMax)
	code, _, _ := s.Invite("p-ana")
	if _, err := s.SignInByCode(code, dev("d")); err != nil {
		t.Errorf("a right code after a minute: %v", err)
	}
}

func TestTheLimiterForgetsAndStaysSmall(t *testing.T) {
	s := newShop(t)
	for i := range countedMax + 10 {
		d := Device{ID: "d", Address: fmt.Sprint("a", i)}
		s.limit.try(s.limit.passphrase(fmt.Sprint("n", i), d, false))
		s.limit.met("n", d)
	}
	for what, n := range map[string]int{"pairs": len(s.limit.wrong), "names at addresses": len(s.limit.known)} {
		if n > countedMax {
			t.Errorf("%d %s kept, want at most %d", n, what, countedMax)
		}
	}
	x := s.limit.passphrase("x", Device{ID: "d", Address: "b"}, false)
	for range freePassphrases + 1 {
		s.limit.try(x)
	}
	if w := s.limit.try(x); w == 0 {
		t.Error("no wait after many wrong tries")
	}
	s.later(forgetAfter + time.Second)
	if w := s.limit.try(x); w != 0 {
		t.Errorf("wait %v after a quarter of an hour, want none", w)
	}
}

func FuzzAPassphraseHashIsReadWithoutPanic(f *testing.F) {
	f.Add(cheap.hash("x"))
	f.Add("$argon2id$v=19$m=64,t=1,p=1$AAAA$AAAA")
	f.Add("$argon2id$v=19$m=0,t=0,p=0$$")
	f.Fuzz(func(t *testing.T, encoded string) {
		if strings.Contains(encoded, "m=") && !strings.Contains(encoded, "m=64,t=1,") {
			return // a hash of ours has a cost we chose; a huge one would only be slow
		}
		if ok, _, err := matches(encoded, "x"); ok && err != nil {
			t.Errorf("matches and fails at once: %v", err)
		}
	})
}
