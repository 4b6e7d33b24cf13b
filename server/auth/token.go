package auth

import (
	"encoding/json"
	"errors"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// AccessLife is how long an access token is good, but for one of a session for the
// moment: that lives no longer than the session, MomentLife.
const AccessLife = 15 * time.Minute

func (s *session) accessLife() time.Duration {
	if s.Moment {
		return MomentLife
	}
	return AccessLife
}

// leeway forgives a server clock that was set back between issue and use.
const leeway = 5 * time.Second

const issuer = "hoppertally"

// claims is what an access token says. Role is for the phone to guide by; the
// server goes by the books.
type claims struct {
	jwt.RegisteredClaims
	Device  string `json:"dev"`
	Role    string `json:"role"`
	Session string `json:"sid"`
	Turn    int64  `json:"turn"` // which refresh of the session it came with
}

// Reader is who an access token speaks for.
type Reader struct {
	Person
	Device  string
	Session string
	Revoked bool // the device was shut out: it may hand in what it recorded, and nothing else
}

// manager is the role that looks after people and phones.
const manager = "manager"

// access signs a token for a session. The lock is held.
func (a *Auth) access(s *session, p Person) (string, error) {
	now := a.now()
	k := &a.keys[0]
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: issuer, Subject: s.Person, Audience: jwt.ClaimStrings{a.serverID},
			IssuedAt: jwt.NewNumericDate(now), NotBefore: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(now.Add(s.accessLife())),
		},
		Device: s.Device, Role: p.Role, Session: s.ID, Turn: s.Turn,
	})
	t.Header["kid"] = k.KID
	return t.SignedString(k.private)
}

// Verify says who an access token speaks for. Algorithm, issuer, audience, key
// and times must all be right, the session alive and the person still here.
// The error is an *Error: CodeNoToken, CodeToken, CodeExpired or CodeEnded.
//
// Using the token that came with a refresh proves that the answer arrived: from
// then on the refresh token before it has only its grace left.
func (a *Auth) Verify(token string) (Reader, error) {
	if token == "" {
		return Reader{}, refuse(CodeNoToken)
	}
	var c claims
	_, err := jwt.ParseWithClaims(token, &c, a.keyFor,
		jwt.WithValidMethods([]string{jwt.SigningMethodEdDSA.Alg()}), jwt.WithIssuer(issuer), jwt.WithAudience(a.serverID),
		jwt.WithIssuedAt(), jwt.WithExpirationRequired(), jwt.WithLeeway(leeway), jwt.WithTimeFunc(a.now))
	switch {
	case onlyExpired(err):
		return Reader{}, refuse(CodeExpired)
	case err != nil:
		return Reader{}, refuse(CodeToken)
	}
	p, ok := a.people.Person(c.Subject)
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[c.Session]
	if s == nil || s.Person != c.Subject || s.Device != c.Device || !ok || p.Gone || !a.alive(s) {
		return Reader{}, refuse(CodeEnded)
	}
	if err := a.keepable(s, p, nil); err != nil {
		return Reader{}, err
	}
	if err := a.confirm(s, c.Turn); err != nil {
		return Reader{}, err
	}
	return Reader{Person: p, Device: s.Device, Session: s.ID, Revoked: a.revoked(s.Device)}, nil
}

// onlyExpired is true when nothing but the time is wrong with a token.
func onlyExpired(err error) bool {
	if !errors.Is(err, jwt.ErrTokenExpired) {
		return false
	}
	for _, other := range []error{jwt.ErrTokenInvalidAudience, jwt.ErrTokenInvalidIssuer, jwt.ErrTokenNotValidYet,
		jwt.ErrTokenUsedBeforeIssued, jwt.ErrTokenSignatureInvalid, jwt.ErrTokenRequiredClaimMissing} {
		if errors.Is(err, other) {
			return false
		}
	}
	return true
}

// UnmarshalJSON also refuses a time that is no number (RFC 7519, section 2), which the
// library takes when it stands in quotes.
func (c *claims) UnmarshalJSON(b []byte) error {
	var times struct{ Exp, Nbf, Iat json.RawMessage }
	if err := json.Unmarshal(b, &times); err != nil {
		return err
	}
	for _, raw := range []json.RawMessage{times.Exp, times.Nbf, times.Iat} {
		if len(raw) > 0 && raw[0] == '"' {
			return errors.New("auth: a time that is no number")
		}
	}
	type plain claims
	return json.Unmarshal(b, (*plain)(c))
}

// keyFor finds the key that a token names. A header with crit asks for something that
// must be understood (RFC 7515, section 4.1.11), and nothing is understood here.
func (a *Auth) keyFor(t *jwt.Token) (any, error) {
	if _, asks := t.Header["crit"]; asks {
		return nil, jwt.ErrTokenUnverifiable
	}
	kid, _ := t.Header["kid"].(string)
	a.mu.Lock()
	defer a.mu.Unlock()
	for i := range a.keys {
		if k := &a.keys[i]; k.KID == kid && a.verifies(k) {
			return k.public(), nil
		}
	}
	return nil, jwt.ErrTokenUnverifiable
}

// encode is JSON of our own records, which always encode.
func encode(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic("auth: encode: " + err.Error())
	}
	return b
}
