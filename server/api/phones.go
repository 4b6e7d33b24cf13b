package api

import (
	"cmp"
	"log/slog"
	"strconv"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/server/auth"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	"github.com/gofiber/fiber/v2"
)

// contactHeader is what a phone may say of itself with any request:
//
//	X-Hoppertally-Phone: unsent=3, app=1.4, wall=1790000000000, segment=4f
//
// unsent are the entries waiting on it, wall its clock in ms; stuck=/assets/x.js names a
// file for which it could not install an update. What cannot be read
// in it counts as not said: a header must never stop a push.
const contactHeader = "X-Hoppertally-Phone"

func contactOf(header string) auth.Contact {
	out := auth.Contact{Unsent: -1}
	if len(header) > 400 {
		return out
	}
	for part := range strings.SplitSeq(header, ",") {
		key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		n, err := strconv.ParseInt(value, 10, 64)
		isWhole := err == nil && n >= 0 && n <= entry.IntMax
		switch {
		case key == "unsent" && isWhole:
			out.Unsent = n
		case key == "wall" && isWhole:
			out.WallMS = n
		case key == "app" && len(value) <= 64 && printable(value):
			out.AppVersion = strings.Clone(value)
		case key == "stuck" && len(value) <= 100 && printable(value):
			out.Stuck = strings.Clone(value)
		case key == "segment" && len(value) <= form.IDMax && printable(value):
			out.Segment = strings.Clone(value)
		}
	}
	return out
}

func printable(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' })
}

// heard notes that a phone was here. A disk that does not take the note is no
// reason to refuse the request.
func (s *Server) heard(c *fiber.Ctx, device string, now entry.Clock) {
	contact := contactOf(c.Get(contactHeader))
	if now.Segment != "" {
		contact.WallMS, contact.Segment = now.WallMS, now.Segment
	}
	if contact.Stuck != "" && contact.Stuck != s.Auth.Stuck(device) {
		s.log.Warn("a phone cannot install the update", slog.String("device", device), slog.String("file", contact.Stuck), slog.String("version", contact.AppVersion))
	}
	if err := s.Auth.Heard(device, contact); err != nil {
		s.log.Warn("a phone's contact was not written", slog.String("device", device), slog.Any("error", err))
	}
}

// kindOf is phone, tablet or computer by the browser's own word. It is only for
// the list of phones, so a guess will do (common practice, no source).
func kindOf(agent string) string {
	has := func(word string) bool { return strings.Contains(agent, word) }
	switch {
	case has("iPad"), has("Tablet"), has("Android") && !has("Mobile"):
		return "tablet"
	case has("iPhone"), has("Mobile"):
		return "phone"
	case agent == "":
		return ""
	}
	return "computer"
}

// clockView is how far a phone's clock is off.
type clockView struct {
	Quality  string `json:"quality"` // right, off, wrong, unknown
	OffsetMS int64  `json:"offset_ms"`
	Segment  string `json:"segment"`
	HeardMS  int64  `json:"heard_ms"` // 0: it never told
}

func clockOf(p *auth.Phone) clockView {
	v := clockView{"wrong", p.OffsetMS, p.Segment, p.ClockMS}
	switch off := max(p.OffsetMS, -p.OffsetMS); {
	case p.ClockMS == 0:
		v.Quality = "unknown"
	case off <= entry.SlackMS:
		v.Quality = "right"
	case off <= hub.WrongMS:
		v.Quality = "off"
	}
	return v
}

type onPhone struct {
	auth.PhonePerson
	Name string `json:"name"`
	Role string `json:"role"`
	Gone bool   `json:"gone"`
}

type phoneView struct {
	auth.Phone
	Clock  clockView `json:"clock"`
	People []onPhone `json:"people"`
}

func (s *Server) phones(c *fiber.Ctx) error {
	list := []phoneView{}
	for _, p := range s.Auth.Phones() {
		people, err := s.Auth.OnPhone(p.Device)
		if err != nil {
			return err
		}
		v := phoneView{p, clockOf(&p), make([]onPhone, 0, len(people))}
		for _, on := range people {
			who, _ := s.Books.Person(on.Person)
			v.People = append(v.People, onPhone{on, cmp.Or(who.Name, on.Person), who.Role, who.Gone})
		}
		list = append(list, v)
	}
	return c.JSON(struct {
		Phones []phoneView `json:"phones"`
	}{list})
}

// note puts what a signed-in person did on the record. It was done already, so a
// disk that does not take the note is told to the log and not to the person.
func (s *Server) note(c *fiber.Ctx, e auth.Event) {
	e.Address = s.address(c).String()
	if err := s.Auth.Note(e); err != nil {
		s.log.Error("an event is not on the record", slog.String("what", e.What), slog.Any("error", err))
	}
	s.log.Info(e.What, slog.String("person", e.Person), slog.String("by", e.By), slog.String("device", e.Device), slog.String("address", e.Address), slog.String("detail", e.Detail))
}

func (s *Server) revokePhone(c *fiber.Ctx) error {
	device, by := param(c, "id"), readerOf(c).ID
	if err := s.Auth.Revoke(device, by); err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventRevoked, By: by, Device: device})
	return c.SendStatus(fiber.StatusNoContent)
}

func (s *Server) restorePhone(c *fiber.Ctx) error {
	device := param(c, "id")
	if err := s.Auth.Restore(device); err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventRestored, By: readerOf(c).ID, Device: device})
	return c.SendStatus(fiber.StatusNoContent)
}

type nameForm struct{ Name string }

func (f *nameForm) Fields(v *form.Visitor) { v.OptText("name", &f.Name, auth.PhoneNameMax) }

// namePhone lets a manager name every phone, and everybody the one in their hand.
func (s *Server) namePhone(c *fiber.Ctx) error {
	var f nameForm
	if err := decode(c, &f); err != nil {
		return err
	}
	device, r := param(c, "id"), readerOf(c)
	if r.Role != "manager" && r.Device != device {
		return problem("role.may_not", "the phone in your hand, or be a manager")
	}
	if err := s.Auth.NamePhone(device, f.Name); err != nil {
		return err
	}
	s.note(c, auth.Event{What: auth.EventNamed, By: r.ID, Device: device, Detail: f.Name})
	return c.SendStatus(fiber.StatusNoContent)
}

// eventsMax is how many events an answer holds.
const eventsMax = 500

// events is the record of sign-ins and of changes to people and phones.
func (s *Server) events(c *fiber.Ctx) error {
	most, err := number(c, "max", eventsMax, 1, 1<<31)
	if err != nil {
		return err
	}
	list, err := s.Auth.Events(int(min(most, eventsMax)))
	if err != nil {
		return err
	}
	return c.JSON(struct {
		Events []auth.Event `json:"events"`
	}{list})
}
