package phone

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
)

// limit is a value at a declared limit of a field of a kind of entry, or just beyond it,
// in a body that is good otherwise.
type limit struct {
	kind, field, body string
	isIn              bool   // the declaration takes it
	isOffice          bool   // the field is for the office only
	want              string // the body as it is written again, if it is taken
	fault             string // the field that is named, if it is not
}

func (l limit) String() string {
	return fmt.Sprintf("%s, %s %s", l.kind, l.field, l.body[:min(len(l.body), 200)])
}

// answer is what a reader makes of a limit.
type answer struct {
	body string // written again; "" if the reader does not tell
	err  error  // nil: taken
}

var errRefused = errors.New("refused, and the reader does not say why")

// bodyOf is the answer of a reader that gives a body or none.
func bodyOf(b kind.Body, err error) answer {
	switch {
	case err != nil:
		return answer{err: err}
	case b == nil:
		return answer{err: errRefused}
	}
	return answer{body: string(form.Encode(b))}
}

// reader is one way of the program to read entries.
type reader struct {
	name  string
	cuts  bool // what is for the office only is taken out first
	whole bool // reads entries, not bodies: an entry has at most so many bytes
	read  func(l limit) answer
}

// complaints tells where a reader does not follow the declared limits.
func complaints(r reader, all []limit) (out []string) {
	for _, l := range all {
		if r.whole && len(l.body) > 60_000 { // the entry is too large, whatever stands in it
			continue
		}
		if r.cuts && l.isOffice {
			l.isIn, l.want = true, sampleOf(l.kind)
		}
		a := r.read(l)
		var fault *form.Error
		switch {
		case l.isIn && a.err != nil:
			out = append(out, fmt.Sprintf("%s: %s is refused: %v", r.name, l, a.err))
		case l.isIn && a.body != "" && a.body != l.want:
			out = append(out, fmt.Sprintf("%s: %s is read as %s", r.name, l, a.body))
		case !l.isIn && a.err == nil:
			out = append(out, fmt.Sprintf("%s: %s is taken", r.name, l))
		case !l.isIn && errors.As(a.err, &fault) && (fault.Code != form.Range || fault.Field != l.fault):
			out = append(out, fmt.Sprintf("%s: %s is refused for something else: %v", r.name, l, a.err))
		}
	}
	return out
}

// allLimits is every declared limit of every kind: at it, and one beyond it.
func allLimits(t *testing.T) (all []limit) {
	for _, name := range kind.Names() {
		fields := form.Describe(kind.New(name))
		eachLimit(name, fields, "", func(field string, f form.Field, value string, isIn bool) {
			if name == "books.closed" && value == `"ñ"` {
				return // a time is longer than the shortest text
			}
			l := limit{kind: name, field: field, isIn: isIn, isOffice: f.Office, fault: strings.ReplaceAll(field, "[]", "[0]")}
			set := map[string]string{field: value}
			if strings.HasPrefix(field, "film_um10.") && isIn { // least, target and most may be equal
				set = map[string]string{"film_um10.min": value, "film_um10.target": value, "film_um10.max": value}
			}
			l.body = object(name, fields, "", field, set)
			l.want = l.body
			if f.Optional && (value == "0" || value == "[]") { // as if it were not there
				l.want = object(name, fields, "", "", nil)
			}
			all = append(all, l)
		})
	}
	if len(all) < 400 {
		t.Fatalf("only %d values", len(all))
	}
	return all
}

// eachLimit gives values at and beyond the limits of fields. The field of an element of a
// list is list[], that of an object in a list is list[].field.
func eachLimit(name string, fields []form.Field, path string, yield func(field string, f form.Field, value string, isIn bool)) {
	for _, f := range fields {
		field := path + f.Name
		inner := field + "."
		if f.Type == "list" {
			inner = field + "[]."
			if f.Of[0].Name == "" {
				inner = field + "[]"
			}
		}
		eachLimit(name, f.Of, inner, yield)
		if f.Min == nil {
			continue
		}
		lo, hi := *f.Min, *f.Max
		for _, at := range []struct {
			n    float64
			isIn bool
		}{{lo, true}, {hi, true}, {lo - 1, false}, {hi + 1, false}} {
			if value, ok := valueOf(name, f, inner, int64(at.n)); ok {
				yield(field, f, value, at.isIn)
			}
		}
	}
}

// valueOf is a number, or a text or a list of that length; not ok where there is none.
func valueOf(name string, f form.Field, inner string, n int64) (value string, ok bool) {
	switch f.Type {
	case "mass", "int", "float":
		return strconv.FormatInt(n, 10), true
	}
	if n < 0 {
		return "", false
	}
	switch {
	case f.Type == "list":
		return listOf(name, f, inner, int(n), "", nil), true
	case f.Name == "through" && n >= 26: // a time of that length
		return `"2026-03-31T23:59:59.` + strings.Repeat("0", int(n)-26) + `+02:00"`, true
	}
	return `"` + strings.Repeat("ñ", int(n)) + `"`, true
}

func sampleOf(name string) string {
	return object(name, form.Describe(kind.New(name)), "", "", nil)
}

// object is a body with its required fields, the one at a path, and what is set.
func object(name string, fields []form.Field, path, at string, set map[string]string) string {
	var parts []string
	for _, f := range fields {
		field := path + f.Name
		if f.Optional && !strings.HasPrefix(at, field) && set[field] == "" {
			continue
		}
		value, isSet := set[field]
		if f.Optional && !isSet && f.Type != "object" && f.Type != "list" {
			continue // its name only begins the same
		}
		if !isSet {
			value = sample(name, f, field, at, set)
		}
		parts = append(parts, strconv.Quote(f.Name)+":"+value)
	}
	return "{" + strings.Join(parts, ",") + "}"
}

func listOf(name string, f form.Field, inner string, n int, at string, set map[string]string) string {
	var one string
	if v, isSet := set[inner]; isSet {
		one = v
	} else if f.Of[0].Name == "" {
		one = sample(name, f.Of[0], inner, at, set)
	} else {
		one = object(name, f.Of, inner, at, set)
	}
	return "[" + strings.Join(slices.Repeat([]string{one}, n), ",") + "]"
}

// known are the ids of the shop in which the limits are tried, see shopLines.
var known = map[string]string{"place": "hopper", "from": "hopper", "feed": "hopper", "to": "bin", "lot": "W1", "powder": "white",
	"booth": "b1", "run": "r1", "job": "j1", "person": "pia", "entry": idOf(900), "change": idOf(901)}

func sample(name string, f form.Field, field, at string, set map[string]string) string {
	switch f.Type {
	case "id":
		id := known[f.Name]
		if id == "" || name == "lot.received" && f.Name == "lot" || name == "run.opened" && f.Name == "run" {
			id = "x1"
		}
		return strconv.Quote(id)
	case "text":
		if f.Name == "through" {
			return `"2026-01-31T23:59:59+02:00"`
		}
		return `"abc"`
	case "enum":
		return strconv.Quote(f.Options[0])
	case "date":
		return `"2026-03-02"`
	case "bool":
		return "true"
	case "object":
		return object(name, f.Of, field+".", at, set)
	case "list":
		inner := field + "[]."
		if f.Of[0].Name == "" {
			inner = field + "[]"
		}
		return listOf(name, f, inner, int(min(3, *f.Max)), at, set)
	}
	return strconv.FormatFloat(max(*f.Min, min(*f.Max, 700)), 'f', 0, 64)
}

func TestEveryReaderFollowsEveryDeclaredLimit(t *testing.T) {
	all := allLimits(t)
	for _, r := range readers(t) {
		t.Run(r.name, func(t *testing.T) {
			out := complaints(r, all)
			for _, c := range out[:min(len(out), 20)] {
				t.Error(c)
			}
		})
	}
}

// A reader with a limit of its own is found, whether it takes less, takes more or cuts.
func TestAReaderWithALimitOfItsOwnIsFound(t *testing.T) {
	strict := func(l limit) answer { return bodyOf(kind.Decode(l.kind, 1, []byte(l.body))) }
	for _, tt := range []struct {
		kind, field string
		read        func(l limit) answer
	}{
		{"booth.cleaned", "minutes", func(l limit) answer {
			a := strict(l)
			if strings.Contains(a.body, `"minutes":10000`) {
				return answer{err: form.Fail("minutes", 10_000, "at most 600")}
			}
			return a
		}},
		{"change.started", "crew", func(l limit) answer {
			a := strict(l)
			if a.err != nil {
				return answer{body: l.body}
			}
			return a
		}},
		{"lot.held", "why", func(l limit) answer {
			a := strict(l)
			a.body = strings.ReplaceAll(a.body, strings.Repeat("ñ", 200), "")
			return a
		}},
		{"film.read", "spots", func(l limit) answer {
			if len(l.body) > 2000 {
				return answer{err: form.Fail("spots", "many", "at most 500")}
			}
			return strict(l)
		}},
	} {
		planted := reader{name: "planted", read: func(l limit) answer {
			if l.kind == tt.kind && l.field == tt.field {
				return tt.read(l)
			}
			return strict(l)
		}}
		out := complaints(planted, allLimits(t))
		if len(out) == 0 || !strings.HasPrefix(out[0], "planted: "+tt.kind+", "+tt.field+" ") {
			t.Errorf("%s %s: %v", tt.kind, tt.field, out)
		}
	}
}
