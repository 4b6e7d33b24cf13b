package entry

import (
	"fmt"

	"hoppertally/domain/jsonscan"
)

// Limits of an entry.
const (
	EntryMax = 64 << 10 // bytes, all of it
	DepthMax = 16       // objects and lists inside each other, the entry itself included
	KindMax  = 64       // bytes of a kind
	IDMax    = 64       // characters of by, device, group, segment and epoch
	IntMax   = jsonscan.IntMax
)

// Clock holds the device's clocks at the moment of recording.
type Clock struct {
	WallMS  int64  // ms since 1970 UTC as the device believes; may be wrong, may be negative
	MonoMS  int64  // ms since the segment began, >= 0; never set by anyone
	Segment string // names the stretch in which MonoMS runs without a break
}

// Seen is how far the device had folded the server's log: what the person
// could know. The zero value means the device had never met the server.
type Seen struct {
	Epoch string
	Seq   int64 // >= 0
}

// Header is an entry without its body.
type Header struct {
	ID          string // UUIDv7, lower case
	Kind        string // noun.verb
	V           int64  // >= 1
	By, Device  string // 1 to IDMax characters
	N           int64  // >= 1
	AtMS        int64  // ms since 1970 UTC; finer digits are cut off
	AtOffsetMin int    // minutes east of UTC of the place where it happened
	Clock       Clock
	Seen        Seen
	Group       string // empty: none
}

// Entry is an entry as read by a [Parser]; the strings are the caller's to keep.
type Entry struct {
	Header
	Body []byte // one JSON object, by the grammar; part of Raw
	Raw  []byte // the argument of Parse itself, not a copy
}

// Code says what is wrong with an entry; words for a person are looked up by it.
type Code string

// The codes never change their meaning.
const (
	Syntax   Code = "entry.syntax"        // not one JSON object in valid UTF-8
	TooLarge Code = "entry.too_large"     // more than EntryMax bytes
	TooDeep  Code = "entry.too_deep"      // more than DepthMax levels
	Twice    Code = "entry.twice"         // a key stands twice in one object
	Unknown  Code = "entry.unknown_field" // the envelope has no such field
	Missing  Code = "entry.missing_field" // the envelope lacks a field
	Field    Code = "entry.field"         // a field of the envelope has a wrong type or value
)

// Error says what is wrong with an entry and where.
type Error struct {
	Code  Code
	Field string // path in the envelope such as "clock.wall_ms"; "body" for anything inside the body; may be empty
	Got   string // what stood there, shortened to 60 bytes; may be empty
	Want  string // what is allowed
}

func (e *Error) Error() string {
	where := "entry"
	if e.Field != "" {
		where = fmt.Sprintf("entry field %q", e.Field)
	}
	if e.Got == "" {
		return fmt.Sprintf("%s: want %s (%s)", where, e.Want, e.Code)
	}
	return fmt.Sprintf("%s: got %s, want %s (%s)", where, e.Got, e.Want, e.Code)
}
