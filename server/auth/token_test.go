package auth

import (
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

func kid(t *testing.T, token string) string {
	t.Helper()
	head, _, _ := strings.Cut(token, ".")
	b, err := base64.RawURLEncoding.DecodeString(head)
	if err != nil {
		t.Fatal(err)
	}
	var h struct{ Kid string }
	if err := json.Unmarshal(b, &h); err != nil {
		t.Fatal(err)
	}
	return h.Kid
}

// forge signs claims that differ from good ones by change.
func (s *shop) forge(g Grant, method jwt.SigningMethod, signer any, change func(*claims, map[string]any)) string {
	s.t.Helper()
	c := claims{RegisteredClaims: jwt.RegisteredClaims{
		Issuer: issuer, Subject: "p-ana", Audience: jwt.ClaimStrings{"srv-1"},
		IssuedAt: jwt.NewNumericDate(s.now), NotBefore: jwt.NewNumericDate(s.now), ExpiresAt: jwt.NewNumericDate(s.now.Add(AccessLife)),
	}, Device: "dev-1", Role: "coater", Session: g.Session, Turn: 1}
	t := jwt.NewWithClaims(method, nil)
	t.Header["kid"] = s.keys[0].KID
	change(&c, t.Header)
	t.Claims = c
	out, err := t.SignedString(signer)
	if err != nil {
		s.t.Fatal(err)
	}
	return out
}

// forgeRaw signs any claims with our own key.
func (s *shop) forgeRaw(signer any, c jwt.MapClaims) string {
	s.t.Helper()
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, c)
	t.Header["kid"] = s.keys[0].KID
	out, err := t.SignedString(signer)
	if err != nil {
		s.t.Fatal(err)
	}
	return out
}

// quoted are good claims but for a time that is text.
func quoted(g Grant, now time.Time, name string) jwt.MapClaims {
	c := jwt.MapClaims{"iss": issuer, "sub": "p-ana", "aud": []string{"srv-1"}, "iat": now.Unix(), "nbf": now.Unix(),
		"exp": now.Add(AccessLife).Unix(), "dev": "dev-1", "role": "coater", "sid": g.Session, "turn": 1}
	if name != "" {
		c[name] = fmt.Sprint(c[name])
	}
	return c
}

func TestATokenIsRefusedForEachThingThatCanBeWrongWithIt(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	own := s.keys[0].private
	_, stranger, _ := ed25519.GenerateKey(nil)
	der, _ := x509.MarshalPKIXPublicKey(s.keys[0].public())
	asPEM := pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
	nothing := func(*claims, map[string]any) {}
	change := func(fn func(*claims)) func(*claims, map[string]any) {
		return func(c *claims, _ map[string]any) { fn(c) }
	}
	ed := jwt.SigningMethodEdDSA

	s.good("nothing wrong", s.forge(g, ed, own, nothing))
	s.good("nothing wrong, claim by claim", s.forgeRaw(own, quoted(g, s.now, "")))
	tests := []struct {
		name, token, code string
	}{
		{"no signature at all (alg none)", s.forge(g, jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, nothing), CodeToken},
		{"HS256 with the raw public key as secret", s.forge(g, jwt.SigningMethodHS256, []byte(s.keys[0].public()), nothing), CodeToken},
		{"HS256 with the public key's PEM as secret", s.forge(g, jwt.SigningMethodHS256, asPEM, nothing), CodeToken},
		{"another key under our kid", s.forge(g, ed, stranger, nothing), CodeToken},
		{"a kid nobody knows", s.forge(g, ed, own, func(_ *claims, h map[string]any) { h["kid"] = "feedbeef" }), CodeToken},
		{"no kid", s.forge(g, ed, own, func(_ *claims, h map[string]any) { delete(h, "kid") }), CodeToken},
		{"a kid that is a number", s.forge(g, ed, own, func(_ *claims, h map[string]any) { h["kid"] = 7 }), CodeToken},
		{"another server's audience", s.forge(g, ed, own, change(func(c *claims) { c.Audience = jwt.ClaimStrings{"srv-2"} })), CodeToken},
		{"no audience", s.forge(g, ed, own, change(func(c *claims) { c.Audience = nil })), CodeToken},
		{"another issuer", s.forge(g, ed, own, change(func(c *claims) { c.Issuer = "somebody" })), CodeToken},
		{"no expiry", s.forge(g, ed, own, change(func(c *claims) { c.ExpiresAt = nil })), CodeToken},
		{"not yet good", s.forge(g, ed, own, change(func(c *claims) { c.NotBefore = jwt.NewNumericDate(s.now.Add(time.Minute)) })), CodeToken},
		{"issued in the future", s.forge(g, ed, own, change(func(c *claims) { c.IssuedAt = jwt.NewNumericDate(s.now.Add(time.Minute)) })), CodeToken},
		{"expired", s.forge(g, ed, own, change(func(c *claims) { c.ExpiresAt = jwt.NewNumericDate(s.now.Add(-time.Minute)) })), CodeExpired},
		{"expired and of another key", s.forge(g, ed, stranger, change(func(c *claims) { c.ExpiresAt = jwt.NewNumericDate(s.now.Add(-time.Minute)) })), CodeToken},
		{"expired and of another audience", s.forge(g, ed, own, change(func(c *claims) {
			c.ExpiresAt, c.Audience = jwt.NewNumericDate(s.now.Add(-time.Minute)), jwt.ClaimStrings{"srv-2"}
		})), CodeToken},
		{"a header that asks for something to be understood", s.forge(g, ed, own, func(_ *claims, h map[string]any) { h["crit"] = []string{"exp"} }), CodeToken},
		{"a header that asks for nothing", s.forge(g, ed, own, func(_ *claims, h map[string]any) { h["crit"] = []string{} }), CodeToken},
		{"an expiry in quotes", s.forgeRaw(own, quoted(g, s.now, "exp")), CodeToken},
		{"a beginning in quotes", s.forgeRaw(own, quoted(g, s.now, "nbf")), CodeToken},
		{"a time of issue in quotes", s.forgeRaw(own, quoted(g, s.now, "iat")), CodeToken},
		{"an expiry that is true", s.forgeRaw(own, jwt.MapClaims{"exp": true}), CodeToken},
		{"a session that is not there", s.forge(g, ed, own, change(func(c *claims) { c.Session = "gone" })), CodeEnded},
		{"another person's session", s.forge(g, ed, own, change(func(c *claims) { c.Subject = "p-bo" })), CodeEnded},
		{"another device", s.forge(g, ed, own, change(func(c *claims) { c.Device = "dev-9" })), CodeEnded},
		{"not a token", "abc", CodeToken},
		{"cut off", g.Access[:len(g.Access)-4], CodeToken},
	}
	for _, tt := range tests {
		_, err := s.Verify(tt.token)
		refused(t, tt.name, err, tt.code)
	}
}
