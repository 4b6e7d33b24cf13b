package auth

import (
	"errors"
	"testing"
	"time"
)

// FuzzDoor tries everything that a stranger can hand in at the door: an access
// token, a refresh token, a code. Each is refused, by a code that has a name.
func FuzzDoor(f *testing.F) {
	a, err := Open(Config{Side: &mapSide{kv: map[string][]byte{}}, People: people{"p": {ID: "p", Name: "P", Role: "coater"}}, ServerID: "srv", Cost: Cost{1, 8, 1},
		Now: func() time.Time { return time.UnixMilli(1_790_000_000_000) }})
	if err != nil {
		f.Fatal(err)
	}
	code, _, err := a.Invite("p")
	if err != nil {
		f.Fatal(err)
	}
	g, err := a.SignInByCode(code, Device{ID: "d"})
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range []string{"", ".", "a.b.c", "eyJhbGciOiJub25lIn0.e30.", "eyJhbGciOiJFZERTQSIsImtpZCI6IngifQ.e30.AA", g.Access[:len(g.Access)-2], g.Refresh[:len(g.Refresh)-2], "ABCD-EFGH", "oO0-iIl1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if s == g.Access || s == g.Refresh || plainCode(s) == plainCode(code) {
			return
		}
		_, errAccess := a.Verify(s)
		_, errRefresh := a.Refresh(s)
		_, errCode := a.SignInByCode(s, Device{ID: "d2", Address: s})
		for _, err := range []error{errAccess, errRefresh, errCode} {
			var refusal *Error
			if !errors.As(err, &refusal) || refusal.Code == "" {
				t.Fatalf("%q: %v", s, err)
			}
		}
		if p := plainCode(s); plainCode(p) != p {
			t.Fatalf("%q is %q, and that is %q", s, p, plainCode(p))
		}
	})
}
