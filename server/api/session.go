package api

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/server/auth"
	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
)

// A cookie holds the refresh token. On a shared phone each person has one, so
// nobody's session hangs on another's.
//
// Under HTTPS its name begins with __Host-: a browser takes such a cookie only over
// HTTPS, from this very host and with the path / (RFC 6265bis, section 4.1.3.2), so
// no neighbour under the same domain can plant one. On plain HTTP browsers refuse
// it; there the name is another, and only signing in, out and refreshing see it.
const (
	cookieTLS   = "__Host-hoppertally_"
	cookiePlain = "hoppertally_refresh_"
	cookiePath  = base + "/session" // of the plain one
)

func (s *Server) cookiePrefix() string {
	if s.isTLS {
		return cookieTLS
	}
	return cookiePlain
}

// cookieOf names a person's cookie. An id may hold letters that a cookie's name may
// not; 64 bits of its hash tell the people of one phone apart.
func (s *Server) cookieOf(person string) string {
	h := sha256.Sum256([]byte(person))
	return s.cookiePrefix() + hex.EncodeToString(h[:8])
}

// refreshOf is the refresh token of a person. With no person named it is the only
// one there is; of several none.
func (s *Server) refreshOf(c *fiber.Ctx, person string) string {
	if person != "" {
		return utils.CopyString(c.Cookies(s.cookieOf(person)))
	}
	if found := s.refreshTokens(c); len(found) == 1 {
		return found[0]
	}
	return ""
}

// refreshTokens are those of everybody who is signed in on the device.
func (s *Server) refreshTokens(c *fiber.Ctx) (found []string) {
	for name, value := range c.Request().Header.Cookies() {
		if strings.HasPrefix(string(name), s.cookiePrefix()) {
			found = append(found, string(value))
		}
	}
	return found
}

// signInForm is either a code or a name with its passphrase. Seats are the people whom
// the phone lists.
type signInForm struct {
	Code, Name, Passphrase string
	deviceForm
	Seats []string
}

const seatsMax = 64 // more than any phone lists

// deviceForm is what a device tells of itself when somebody signs in on it.
type deviceForm struct{ Device, Secret, AppVersion string }

func (f *deviceForm) Fields(v *form.Visitor) {
	v.ID("device", &f.Device)
	v.OptText("device_secret", &f.Secret, auth.DeviceSecretMax)
	v.OptText("app_version", &f.AppVersion, 64)
}

func (f *deviceForm) Check() error { return checkSecret(f.Secret) }

// checkSecret refuses a device's secret that could be guessed.
func checkSecret(secret string) error {
	if n := len(secret); n > 0 && n < auth.DeviceSecretMin {
		return form.Fail("device_secret", "", fmt.Sprintf("at least %d characters", auth.DeviceSecretMin))
	}
	return nil
}

func (f *signInForm) Fields(v *form.Visitor) {
	v.OptText("code", &f.Code, 64)
	v.OptText("name", &f.Name, 80)
	v.OptText("passphrase", &f.Passphrase, 1024)
	f.deviceForm.Fields(v)
	v.IDs("seats", &f.Seats, 0, seatsMax)
}

func (f *signInForm) Check() error {
	if (f.Code == "") == (f.Name == "" || f.Passphrase == "") || f.Code != "" && f.Name+f.Passphrase != "" {
		return form.Fail("code", "", "a code, or a name with its passphrase")
	}
	return f.deviceForm.Check()
}

func (s *Server) signIn(c *fiber.Ctx) error {
	var f signInForm
	if err := decode(c, &f); err != nil {
		return err
	}
	d := s.device(c, f.deviceForm)
	d.Listed = f.Seats
	var g auth.Grant
	var err error
	if f.Code != "" {
		g, err = s.Auth.SignInByCode(f.Code, d)
	} else {
		g, err = s.Auth.SignIn(f.Name, f.Passphrase, d)
	}
	if err != nil {
		s.noteRefusal(c, d, err)
		return err
	}
	s.note(c, auth.Event{What: auth.EventSignedIn, Person: g.Person.ID, Device: f.Device})
	return s.grant(c, g)
}

// noteRefusal puts a refused sign-in on the record, but not one that only came too
// soon, and not all of one address: then whoever hammers would have the disk written for
// each blow.
func (s *Server) noteRefusal(c *fiber.Ctx, d auth.Device, err error) {
	var refusal *auth.Error
	if errors.As(err, &refusal) && refusal.Code != auth.CodeSlow && s.refusals.Take(d.Address, s.Now()) == 0 {
		s.note(c, auth.Event{What: auth.EventRefused, Device: d.ID, Detail: refusal.Code})
	}
}

func (s *Server) device(c *fiber.Ctx, f deviceForm) auth.Device {
	return auth.Device{ID: f.Device, Secret: f.Secret, Tokens: s.refreshTokens(c), AppVersion: f.AppVersion,
		Kind: kindOf(c.Get(fiber.HeaderUserAgent)), Address: s.home(c)}
}

// grant answers with an access token and puts the refresh token into its cookie. A
// session for the moment has none; what a browser still had of an earlier one goes.
func (s *Server) grant(c *fiber.Ctx, g auth.Grant) error {
	s.noteOrigin(c)
	age := int(auth.IdleMax / time.Second)
	if g.Moment() {
		age = -1
	}
	s.setCookie(c, g.Person.ID, g.Refresh, age)
	return c.JSON(struct {
		Access    string      `json:"access"`
		ExpiresIn int64       `json:"expires_in"` // seconds
		Moment    bool        `json:"moment"`     // the phone must not keep it
		Person    auth.Person `json:"person"`
		ServerID  string      `json:"server_id"`
		Epoch     string      `json:"epoch"`
	}{g.Access, int64(g.ExpiresIn / time.Second), g.Moment(), g.Person, s.serverID, s.Log.Epoch()})
}

func (s *Server) setCookie(c *fiber.Ctx, person, value string, maxAge int) {
	path := cookiePath
	if s.isTLS {
		path = "/"
	}
	c.Cookie(&fiber.Cookie{Name: s.cookieOf(person), Value: value, Path: path, MaxAge: maxAge, HTTPOnly: true, Secure: s.isTLS,
		SameSite: fiber.CookieSameSiteStrictMode})
}

// refreshForm says whose session to refresh; a phone with one person may leave it out.
// Seats are the people whom the phone lists.
type refreshForm struct {
	Person, Secret string
	Seats          []string
}

func (f *refreshForm) Fields(v *form.Visitor) {
	v.OptID("person", &f.Person)
	v.OptText("device_secret", &f.Secret, auth.DeviceSecretMax)
	v.IDs("seats", &f.Seats, 0, seatsMax)
}

func (f *refreshForm) Check() error { return checkSecret(f.Secret) }

// refresh gives a new access token for a cookie, or for the one of a session for the moment.
func (s *Server) refresh(c *fiber.Ctx) error {
	var f refreshForm
	if len(c.Request().Body()) > 0 {
		if err := decode(c, &f); err != nil {
			return err
		}
	}
	var g auth.Grant
	var err error
	if token := s.refreshOf(c, f.Person); token != "" {
		g, err = s.Auth.Refresh(token, f.Seats...)
	} else if access := bearer(c); access != "" {
		g, err = s.Auth.Prolong(access)
	} else {
		err = problem(auth.CodeEnded, "no refresh cookie came with the request")
	}
	if err != nil {
		return err
	}
	if err := s.Auth.BindDevice(g.Session, f.Secret); err != nil {
		return err
	}
	return s.grant(c, g)
}

// signOut ends the session of the access token and that of its person's cookie, and with
// them whatever else this person has on that phone. The sessions of others on it stay. An access token is over after a quarter of
// an hour, so the phone names the person too, whose cookie tells the session as well. By
// the address and not in a body, which proxies may drop from a DELETE (RFC 9110, section
// 9.3.5). Where nothing was ended the answer must not say so.
func (s *Server) signOut(c *fiber.Ctx) error {
	person, isOver := utils.CopyString(c.Query("person")), false
	if r, err := s.reader(c); err == nil {
		if err := s.Auth.EndOn(r.ID, r.Device); err != nil {
			return err
		}
		s.note(c, auth.Event{What: auth.EventEnded, Person: r.ID, Device: r.Device, Detail: "one"})
		person, isOver = cmp.Or(person, r.ID), true
	}
	owner, device, err := s.Auth.EndByRefresh(s.refreshOf(c, person))
	if err != nil {
		return err
	}
	if owner != "" {
		if err := s.Auth.EndOn(owner, device); err != nil {
			return err
		}
		s.note(c, auth.Event{What: auth.EventEnded, Person: owner, Device: device, Detail: "one"})
		person, isOver = owner, true
	}
	if !isOver {
		return problem(auth.CodeEnded, "neither an access token nor a refresh cookie of a session came with the request")
	}
	s.setCookie(c, person, "", -1)
	return c.SendStatus(fiber.StatusNoContent)
}

func (s *Server) setUpNeeded(c *fiber.Ctx) error {
	return c.JSON(struct {
		Needed bool         `json:"needed"`
		Left   []https.Used `json:"left"` // addresses where phones may have something unsent
	}{s.Auth.NeedsSetUp(), s.left(c)})
}

type setUpForm struct {
	Code, Name, Passphrase string
	Shop                   kind.ShopSet
	deviceForm
}

func (f *setUpForm) Fields(v *form.Visitor) {
	v.Text("code", &f.Code, 64)
	v.Text("name", &f.Name, 80)
	v.Text("passphrase", &f.Passphrase, 1024)
	v.Object("shop", f.Shop.Fields)
	f.deviceForm.Fields(v)
}

// Check finds a time zone that this machine does not know.
func (f *setUpForm) Check() error {
	if _, err := time.LoadLocation(f.Shop.Zone); err != nil {
		return form.Fail("shop.zone", f.Shop.Zone, "a time zone such as Europe/Madrid")
	}
	return f.deviceForm.Check()
}

func (s *Server) setUp(c *fiber.Ctx) error {
	var f setUpForm
	if err := decode(c, &f); err != nil {
		return err
	}
	d := s.device(c, f.deviceForm)
	g, err := s.Auth.SetUp(f.Code, f.Passphrase, d, func() (auth.Person, error) {
		return s.Desk.OpenShop(c.UserContext(), f.Shop, f.Name)
	})
	if err != nil {
		s.noteRefusal(c, d, err)
		return err
	}
	s.note(c, auth.Event{What: auth.EventSetUp, Person: g.Person.ID, Device: f.Device})
	return s.grant(c, g)
}
