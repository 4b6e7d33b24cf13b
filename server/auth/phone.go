package auth

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

const phonePrefix = "auth/phone/" // by device

// Limits of phones.
const (
	PhonesMax    = 1000             // devices on the list; the longest silent without a session makes room
	PhoneNameMax = 40               // characters
	contactsMax  = 256              // phones whose news are written in one piece
	contactWrite = 30 * time.Second // news of contacts may be lost by a crash for so long
)

// Phone is a device that somebody signed in on, as the list of phones shows it.
// What it says of itself (kind, version, unsent) is its own word.
type Phone struct {
	Device     string `json:"device"`
	Number     int64  `json:"number"` // from 1 in order of first sign-in: "phone 3" until somebody names it
	Name       string `json:"name"`   // "" until a person gave one
	Kind       string `json:"kind"`   // phone, tablet or computer, by its browser's own word
	AppVersion string `json:"app_version"`
	Stuck      string `json:"update_stuck"` // the file for which it could not install an update; "" none
	Unsent     int64  `json:"unsent"`       // entries waiting there at the last contact; -1 it did not say
	OffsetMS   int64  `json:"-"`            // server time less its clock at the last contact that told a clock
	ClockMS    int64  `json:"-"`            // when that was; 0 never
	Segment    string `json:"-"`            // of its monotonic clock then
	MadeMS     int64  `json:"made_ms"`      // first sign-in
	SeenMS     int64  `json:"seen_ms"`      // last contact
	RevokedMS  int64  `json:"revoked_ms"`   // 0: it may sync
	RevokedBy  string `json:"revoked_by"`
}

// stored is a Phone as the side area keeps it: with the clock.
type stored struct {
	Phone
	OffsetMS int64  `json:"offset_ms"`
	ClockMS  int64  `json:"clock_ms"`
	Segment  string `json:"segment"`
}

func (p *Phone) encode() []byte { return encode(stored{*p, p.OffsetMS, p.ClockMS, p.Segment}) }

// Contact is what a phone says of itself with a request.
type Contact struct {
	Unsent     int64 // -1: it does not say
	AppVersion string
	WallMS     int64 // its clock as it sent this; 0: it does not say
	Segment    string
	Stuck      string // see Phone
}

// PhonePerson is somebody who ever signed in on a phone.
type PhonePerson struct {
	Person   string `json:"person"`
	SignedIn bool   `json:"signed_in"`
	UsedMS   int64  `json:"used_ms"` // last refresh of the session there; 0 without one
}

func (a *Auth) loadPhones() error {
	return each(a, phonePrefix, func(_ string, s stored) {
		p := s.Phone
		p.OffsetMS, p.ClockMS, p.Segment = s.OffsetMS, s.ClockMS, s.Segment
		a.phones[p.Device] = &p
		a.phoneLast = max(a.phoneLast, p.Number)
	})
}

// signedIn puts a phone on the list and adds its record to changes. The lock is held.
func (a *Auth) signedIn(d Device, changes map[string][]byte) *Phone {
	now := a.now().UnixMilli()
	p := Phone{Device: d.ID, Unsent: -1, MadeMS: now, Number: a.phoneLast + 1}
	if old := a.phones[d.ID]; old != nil {
		p = *old
	} else if len(a.phones) >= PhonesMax {
		if id := a.silent(); id != "" {
			changes[phonePrefix+id] = nil
		}
	}
	p.SeenMS, p.AppVersion, p.Kind = now, d.AppVersion, cmp.Or(d.Kind, p.Kind)
	changes[phonePrefix+p.Device] = p.encode()
	return &p
}

// silent finds the phone that may leave the list: the longest not heard of, not
// revoked, and without a session.
func (a *Auth) silent() (device string) {
	busy := map[string]bool{}
	for _, s := range a.sessions {
		busy[s.Device] = true
	}
	for id, p := range a.phones {
		if !busy[id] && p.RevokedMS == 0 && (device == "" || p.SeenMS < a.phones[device].SeenMS) {
			device = id
		}
	}
	return device
}

// Stuck is the file for which a phone last said that it cannot install an update.
func (a *Auth) Stuck(device string) string {
	a.mu.Lock()
	defer a.mu.Unlock()
	if p := a.phones[device]; p != nil {
		return p.Stuck
	}
	return ""
}

// Heard notes what a phone said of itself. It is kept in memory and written now
// and then, many phones at a time: see contactWrite and [Auth.Flush].
func (a *Auth) Heard(device string, c Contact) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	p := a.phones[device]
	if p == nil {
		return nil // of a session older than the list: the next sign-in puts it there
	}
	now := a.now()
	p.SeenMS = now.UnixMilli()
	if c.Unsent >= 0 {
		p.Unsent = c.Unsent
	}
	if c.AppVersion != "" {
		p.AppVersion = c.AppVersion
		p.Stuck = c.Stuck // whoever tells the one tells the other
	}
	if c.WallMS != 0 {
		p.OffsetMS, p.ClockMS = p.SeenMS-c.WallMS, p.SeenMS
		p.Segment = cmp.Or(c.Segment, p.Segment)
	}
	a.contacts[device] = struct{}{}
	if now.Sub(a.contactsMS) < contactWrite {
		return nil
	}
	return a.flush(now)
}

// Flush writes the contacts that are only in memory.
func (a *Auth) Flush() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.flush(a.now())
}

func (a *Auth) flush(now time.Time) error {
	for devices := range slices.Chunk(slices.Collect(maps.Keys(a.contacts)), contactsMax) {
		changes := map[string][]byte{}
		for _, id := range devices {
			if p := a.phones[id]; p != nil {
				changes[phonePrefix+id] = p.encode()
			}
		}
		if len(changes) > 0 {
			if err := a.write(changes); err != nil {
				return err
			}
		}
		for _, id := range devices {
			delete(a.contacts, id)
		}
		a.contactsMS = now
	}
	return nil
}

// Phones lists every device that is known, the last heard of first.
func (a *Auth) Phones() []Phone {
	a.mu.Lock()
	defer a.mu.Unlock()
	list := make([]Phone, 0, len(a.phones))
	for _, p := range a.phones {
		list = append(list, *p)
	}
	slices.SortFunc(list, func(x, y Phone) int {
		return cmp.Or(cmp.Compare(y.SeenMS, x.SeenMS), cmp.Compare(x.Number, y.Number))
	})
	return list
}

// OnPhone lists who ever signed in on a device, in order of their ids.
func (a *Auth) OnPhone(device string) ([]PhonePerson, error) {
	people, err := a.authors(device)
	list := make([]PhonePerson, 0, len(people))
	for _, id := range people {
		list = append(list, PhonePerson{Person: id})
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	for i := range list {
		for _, s := range a.sessions {
			if s.Device == device && s.Person == list[i].Person && a.alive(s) {
				list[i].SignedIn, list[i].UsedMS = true, max(list[i].UsedMS, s.UsedMS)
			}
		}
	}
	return list, err
}

// Revoked tells whether a manager shut a phone out: what it hands in is held.
func (a *Auth) Revoked(device string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.revoked(device)
}

func (a *Auth) revoked(device string) bool {
	p := a.phones[device]
	return p != nil && p.RevokedMS != 0
}

// Revoke shuts a phone out from the next request on: it may hand in what it
// recorded, which is held, and nothing else; only a manager can sign in on it.
// CodeNoPhone if there is no such one; revoking twice changes nothing.
func (a *Auth) Revoke(device, by string) error {
	return a.changePhone(device, func(p *Phone) {
		if p.RevokedMS == 0 {
			p.RevokedMS, p.RevokedBy = a.now().UnixMilli(), by
		}
	})
}

// Restore undoes Revoke, and forgets what the device is bound to: see device.go. What was
// held meanwhile stays held until a manager rules on it.
func (a *Auth) Restore(device string) error {
	if err := a.changePhone(device, func(p *Phone) { p.RevokedMS, p.RevokedBy = 0, "" }); err != nil {
		return err
	}
	return a.write(map[string][]byte{devicePrefix + device: nil})
}

// NamePhone gives a phone a name; "" takes it back.
func (a *Auth) NamePhone(device, name string) error {
	if name = strings.TrimSpace(name); utf8.RuneCountInString(name) > PhoneNameMax {
		return refuse(CodePhoneName)
	}
	return a.changePhone(device, func(p *Phone) { p.Name = name })
}

func (a *Auth) changePhone(device string, change func(*Phone)) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	old := a.phones[device]
	if old == nil {
		return refuse(CodeNoPhone)
	}
	p := *old
	change(&p)
	if err := a.write(map[string][]byte{phonePrefix + device: p.encode()}); err != nil {
		return err
	}
	a.phones[device] = &p
	return nil
}
