package api

import (
	"hoppertally/domain/form"
	"hoppertally/server/auth"
	"hoppertally/server/qr"

	"github.com/gofiber/fiber/v2"
)

func (s *Server) invite(c *fiber.Ctx) error {
	person := param(c, "id")
	code, until, err := s.Auth.Invite(person)
	if err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventInvited, Person: person, By: readerOf(c).ID})
	link := s.Home() + "/#in=" + code // never the name of the request, which is anybody's word
	rows, err := qr.Rows(link)
	if err != nil { // an address too long for a code: the link itself still works
		rows = []string{}
	}
	return c.JSON(struct {
		Link      string   `json:"link"`
		ExpiresMS int64    `json:"expires_ms"`
		QR        []string `json:"qr"`
	}{link, until.UnixMilli(), rows})
}

// own lets people look after their own sessions, and managers after everybody's.
func (s *Server) own(c *fiber.Ctx) (person string, err error) {
	person = param(c, "id")
	if r := readerOf(c); r.Role != "manager" && r.ID != person {
		return "", problem("role.may_not", "your own sessions, or be a manager")
	}
	if _, ok := s.Books.Person(person); !ok {
		return "", &auth.Error{Code: auth.CodeNoPerson}
	}
	return person, nil
}

func (s *Server) sessions(c *fiber.Ctx) error {
	person, err := s.own(c)
	if err != nil {
		return err
	}
	return c.JSON(struct {
		Sessions []auth.Session `json:"sessions"`
	}{s.Auth.Sessions(person)})
}

func (s *Server) endSession(c *fiber.Ctx) error {
	person, err := s.own(c)
	if err != nil {
		return err
	}
	if err := s.Auth.End(person, param(c, "session")); err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventEnded, Person: person, By: readerOf(c).ID, Detail: "one"})
	return c.SendStatus(fiber.StatusNoContent)
}

// signOutAll ends all sessions of a person, this one included.
func (s *Server) signOutAll(c *fiber.Ctx) error {
	person, err := s.own(c)
	if err != nil {
		return err
	}
	n, err := s.Auth.EndAll(person, "")
	if err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventEnded, Person: person, By: readerOf(c).ID, Detail: "all"})
	return c.JSON(struct {
		Ended int `json:"ended"`
	}{n})
}

type passForm struct {
	Old, New string
	Others   bool
}

func (f *passForm) Fields(v *form.Visitor) {
	v.OptText("old", &f.Old, 1024)
	v.Text("new", &f.New, 1024)
	v.Bool("sign_out_others", &f.Others)
}

// passphrase gives the person who asks another passphrase, and nobody else.
func (s *Server) passphrase(c *fiber.Ctx) error {
	var f passForm
	if err := decode(c, &f); err != nil {
		return err
	}
	r := readerOf(c)
	if err := s.Auth.ChangePassphrase(r, f.Old, f.New); err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventPassphrase, Person: r.ID, Device: r.Device})
	if f.Others {
		if _, err := s.Auth.EndAll(r.ID, r.Session); err != nil {
			return err
		}
	}
	return c.SendStatus(fiber.StatusNoContent)
}

// me tells a person what the server knows of their signing in.
func (s *Server) me(c *fiber.Ctx) error {
	r := readerOf(c)
	has, err := s.Auth.HasPassphrase(r.ID)
	if err != nil {
		return err
	}
	return c.JSON(struct {
		Person        auth.Person `json:"person"`
		Device        string      `json:"device"`
		HasPassphrase bool        `json:"has_passphrase"`
		Invited       bool        `json:"invited"`
		Revoked       bool        `json:"revoked"`
	}{r.Person, r.Device, has, s.Auth.Invited(r.Session), r.Revoked})
}
