package entry_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"hoppertally/sync/entry"

	"github.com/valyala/fastjson"
	"pgregory.net/rapid"
)

// good is an entry as a phone makes it, about 400 bytes.
const good = `{"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","kind":"powder.moved","v":1,"by":"rosa","device":"phone-3","n":41,` +
	`"at":"2026-03-31T14:05:06.250-06:00","clock":{"wall_ms":1774987506250,"mono_ms":90211,"segment":"s7"},` +
	`"seen":{"epoch":"e1","seq":1207},"group":"g1","body":{"from":"box 12","to":"hopper 1","mass_mg":4000000}}`

func TestAGoodEntryIsReadWhole(t *testing.T) {
	var p entry.Parser
	raw := []byte(good)
	e, err := p.Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	// By hand: 2026-03-31 20:05:06.250 UTC; date -u -d 2026-03-31T14:05:06-06:00 +%s prints 1774987506.
	want := entry.Header{ID: "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", Kind: "powder.moved", V: 1, By: "rosa", Device: "phone-3", N: 41,
		AtMS: 1774987506250, AtOffsetMin: -360, Clock: entry.Clock{WallMS: 1774987506250, MonoMS: 90211, Segment: "s7"},
		Seen: entry.Seen{Epoch: "e1", Seq: 1207}, Group: "g1"}
	if e.Header != want {
		t.Errorf("read %+v, want %+v", e.Header, want)
	}
	if got := fastjson.GetInt(e.Body, "mass_mg"); got != 4000000 {
		t.Errorf("mass in the body = %d, want 4000000", got)
	}
	if &e.Raw[0] != &raw[0] || len(e.Raw) != len(raw) {
		t.Error("Raw is not the argument itself")
	}
}

func with(old, new string) string { return strings.Replace(good, old, new, 1) }

func TestWhatIsRefused(t *testing.T) {
	long := strings.Repeat("a", 65)
	for _, tt := range []struct {
		name, raw string
		code      entry.Code
		field     string
	}{
		{"nothing", "", entry.Syntax, ""},
		{"a list", "[]", entry.Syntax, ""},
		{"an entry cut short", good[:len(good)-1], entry.Syntax, ""},
		{"two entries in one", good + good, entry.Syntax, ""},
		{"a byte that is not UTF-8", with("rosa", "ros\xff"), entry.Syntax, ""},
		{"an overlong encoding", with("rosa", "ros\xc0\xaf"), entry.Syntax, ""},
		{"a surrogate in UTF-8", with("rosa", "\xed\xa0\x80"), entry.Syntax, ""},
		{"an unknown field", with(`"v":1`, `"v":1,"w":2`), entry.Unknown, ""},
		{"an unknown field of the clock", with(`"mono_ms"`, `"tick":1,"mono_ms"`), entry.Unknown, "clock"},
		{"a field twice", with(`"v":1`, `"v":1,"v":1`), entry.Twice, "v"},
		{"a clock field twice", with(`"mono_ms"`, `"wall_ms":1,"mono_ms"`), entry.Twice, "clock.wall_ms"},
		{"the body twice", with(`"body"`, `"body":{},"body"`), entry.Twice, "body"},
		{"a key twice inside the body", with(`"to"`, `"from":1,"to"`), entry.Twice, "body"},
		{"a key twice deep inside the body", with(`4000000`, `[{"a":{"b":1,"c":2,"b":3}}]`), entry.Twice, "body"},
		{"a key twice among many", with(`"mass_mg":4000000`, manyKeys(30)+`,"k7":0`), entry.Twice, "body"},
		{"a key hidden behind an escape", with(`"to"`, `"fr\u006fm"`), entry.Syntax, "body"},
		{"no id", with(`"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f",`, ``), entry.Missing, "id"},
		{"no clock", with(`"clock":{"wall_ms":1774987506250,"mono_ms":90211,"segment":"s7"},`, ``), entry.Missing, "clock"},
		{"no body", with(`,"body":{"from":"box 12","to":"hopper 1","mass_mg":4000000}`, ``), entry.Missing, "body"},
		{"a clock without a segment", with(`,"segment":"s7"`, ``), entry.Missing, "clock.segment"},
		{"a seen without its epoch", with(`"epoch":"e1",`, ``), entry.Missing, "seen.epoch"},
		{"an id of capitals", with("dc0c0c07398f", "DC0C0C07398F"), entry.Field, "id"},
		{"an id of version 4", with("7cc3", "4cc3"), entry.Field, "id"},
		{"an id of another variant", with("98c4", "c8c4"), entry.Field, "id"},
		{"an id without hyphens", with("017f22e2-79b0", "017f22e279b0"), entry.Field, "id"},
		{"a kind of one word", with("powder.moved", "powder"), entry.Field, "kind"},
		{"a kind of three words", with("powder.moved", "a.b.c"), entry.Field, "kind"},
		{"a kind in capitals", with("powder.moved", "Powder.moved"), entry.Field, "kind"},
		{"a kind of 65 bytes", with("powder.moved", "powder."+strings.Repeat("a", 58)), entry.Field, "kind"},
		{"a version 0", with(`"v":1`, `"v":0`), entry.Field, "v"},
		{"a version with a point", with(`"v":1`, `"v":1.0`), entry.Field, "v"},
		{"a version in quotes", with(`"v":1`, `"v":"1"`), entry.Field, "v"},
		{"a counter 0", with(`"n":41`, `"n":0`), entry.Field, "n"},
		{"a counter with an exponent", with(`"n":41`, `"n":4e1`), entry.Field, "n"},
		{"a counter past 2^53-1", with(`"n":41`, `"n":9007199254740992`), entry.Field, "n"},
		{"a counter of 100 digits", with(`"n":41`, `"n":`+strings.Repeat("9", 100)), entry.Field, "n"},
		{"a person without a name", with(`"rosa"`, `""`), entry.Field, "by"},
		{"a person of 65 characters", with(`rosa`, long), entry.Field, "by"},
		{"a person with a line feed", with(`rosa`, `ro\nsa`), entry.Field, "by"},
		{"a device that is null", with(`"phone-3"`, `null`), entry.Field, "device"},
		{"a device with a space before", with(`phone-3`, ` phone-3`), entry.Field, "device"},
		{"a time without offset", with("-06:00", ""), entry.Field, "at"},
		{"a time with 25 hours", with("T14:", "T25:"), entry.Field, "at"},
		{"the 31st of April", with("03-31", "04-31"), entry.Field, "at"},
		{"the 29th of February 2026", with("03-31", "02-29"), entry.Field, "at"},
		{"a leap second", with("05:06.250", "59:60"), entry.Field, "at"},
		{"a point without digits", with("06.250", "06."), entry.Field, "at"},
		{"an offset of 24 hours", with("-06:00", "-24:00"), entry.Field, "at"},
		{"a monotonic clock below 0", with(`90211`, `-1`), entry.Field, "clock.mono_ms"},
		{"a log position below 0", with(`"seq":1207`, `"seq":-1`), entry.Field, "seen.seq"},
		{"a clock that is a number", with(`{"wall_ms":1774987506250,"mono_ms":90211,"segment":"s7"}`, `7`), entry.Field, "clock"},
		{"a body that is a list", with(`{"from":"box 12","to":"hopper 1","mass_mg":4000000}`, `[]`), entry.Field, "body"},
		{"an empty group", with(`"g1"`, `""`), entry.Field, "group"},
		{"NaN", with("4000000", "NaN"), entry.Syntax, "body"},
		{"nan", with("4000000", "nan"), entry.Syntax, "body"},
		{"inf", with("4000000", "inf"), entry.Syntax, "body"},
		{"-Infinity", with("4000000", "-Infinity"), entry.Syntax, "body"},
		{"a number with a leading zero", with("4000000", "04"), entry.Syntax, "body"},
		{"a number with a plus", with("4000000", "+4"), entry.Syntax, "body"},
		{"a number with two points", with("4000000", "4.0.0"), entry.Syntax, "body"},
		{"a lone minus", with("4000000", "-"), entry.Syntax, "body"},
		{"a trailing comma", with("4000000", "4,"), entry.Syntax, "body"},
		{"a raw tab in a string", with("box 12", "box\t12"), entry.Syntax, "body"},
		{"an escape that JSON lacks", with("box 12", `box\x12`), entry.Syntax, "body"},
		{"a lone high surrogate", with("box 12", `\ud83d!`), entry.Syntax, "body"},
		{"a lone low surrogate", with("box 12", `\udc00`), entry.Syntax, "body"},
		{"17 levels", with("4000000", strings.Repeat("[", 15)+strings.Repeat("]", 15)), entry.TooDeep, "body"},
		{"one byte too many", grow(entry.EntryMax + 1), entry.TooLarge, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var p entry.Parser
			_, err := p.Parse([]byte(tt.raw))
			var ee *entry.Error
			if !errors.As(err, &ee) || ee.Code != tt.code || ee.Field != tt.field {
				t.Errorf("error = %v, want code %s at field %q", err, tt.code, tt.field)
			}
		})
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `"k%d":%d,`, i, i)
	}
	return strings.TrimSuffix(b.String(), ",")
}

// grow pads the good entry with a note to n bytes.
func grow(n int) string {
	const field = `"mass_mg":4000000,"note":""`
	return with(`"mass_mg":4000000`, `"mass_mg":4000000,"note":"`+strings.Repeat("x", n-len(with(`"mass_mg":4000000`, field)))+`"`)
}

func TestWhatStandsAtTheLimitIsRead(t *testing.T) {
	for _, tt := range []struct{ name, raw string }{
		{"65536 bytes", grow(entry.EntryMax)},
		{"16 levels", with("4000000", strings.Repeat("[", 14)+strings.Repeat("]", 14))},
		{"a kind of 64 bytes", with("powder.moved", "powder."+strings.Repeat("a", 57))},
		{"a person of 64 characters of four bytes", with("rosa", strings.Repeat("😀", 64))},
		{"a name with quotes and a pair of surrogates", with("rosa", `Rosa \"R\" \u00d1 \ud83d\ude00`)},
		{"a counter of 2^53-1", with(`"n":41`, `"n":9007199254740991`)},
		{"a wall clock before 1970", with("1774987506250", "-1")},
		{"white space between the tokens", with(`"v":1,`, "\n\t \"v\" : 1 ,\r\n")},
		{"no seen and no group", with(`"seen":{"epoch":"e1","seq":1207},"group":"g1",`, ``)},
		{"fields in another order", with(`"kind":"powder.moved","v":1`, `"v":1,"kind":"powder.moved"`)},
		{"31 different keys in the body", with(`"mass_mg":4000000`, manyKeys(31))},
		{"numbers of every form", with("4000000", `[0,-0,1.5,-2e10,3E-7,4e+1]`)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var p entry.Parser
			if _, err := p.Parse([]byte(tt.raw)); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestARefusalStillNamesTheID(t *testing.T) {
	var p entry.Parser
	e, err := p.Parse([]byte(with("4000000", "nan")))
	if err == nil || e.ID != "017f22e2-79b0-7cc3-98c4-dc0c0c07398f" || e.N != 41 || e.Body != nil {
		t.Errorf("refused entry = %+v, %v; want its id and counter, no body, an error", e, err)
	}
}

func TestNamesAreUnescaped(t *testing.T) {
	var p entry.Parser
	e, err := p.Parse([]byte(with("rosa", `Rosa \"R\" \u00d1\/ \ud83d\ude00`)))
	if want := `Rosa "R" Ñ/ 😀`; err != nil || e.By != want {
		t.Errorf("by = %q, %v; want %q", e.By, err, want)
	}
}

func TestTimesAgreeWithPackageTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := header(t)
		at := time.UnixMilli(h.AtMS).In(time.FixedZone("", h.AtOffsetMin*60))
		text := at.Format("2006-01-02T15:04:05.000") + at.Format("-07:00")
		raw := entry.Append(nil, h, []byte("{}"))
		if !bytes.Contains(raw, []byte(`"at":"`+text+`"`)) {
			t.Fatalf("%s does not say %s", raw, text)
		}
	})
}

// header draws a header whose local time lies in the years 0000 to 9999.
func header(t *rapid.T) entry.Header {
	name := rapid.StringMatching(`[a-zñ"\\/😀0-9][a-z ñ"\\/😀0-9]{0,20}[a-z"\\]`)
	const year0, year9999 = -62167219200000, 253402300799999 // date -u -d 0000-01-01 / 9999-12-31T23:59:59 +%s
	h := entry.Header{
		ID:   entry.NewID(rapid.Int64Range(0, 1<<48-1).Draw(t, "ms"), [10]byte(rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "rnd"))),
		Kind: rapid.StringMatching(`[a-z][a-z0-9_]{0,20}\.[a-z]{1,20}`).Draw(t, "kind"),
		V:    rapid.Int64Range(1, entry.IntMax).Draw(t, "v"), By: name.Draw(t, "by"), Device: name.Draw(t, "device"),
		N:    rapid.Int64Range(1, entry.IntMax).Draw(t, "n"),
		AtMS: rapid.Int64Range(year0+86_400_000, year9999-86_400_000).Draw(t, "at"), AtOffsetMin: rapid.IntRange(-1439, 1439).Draw(t, "offset"),
		Clock: entry.Clock{WallMS: rapid.Int64Range(-entry.IntMax, entry.IntMax).Draw(t, "wall"),
			MonoMS: rapid.Int64Range(0, entry.IntMax).Draw(t, "mono"), Segment: name.Draw(t, "segment")},
	}
	if rapid.Bool().Draw(t, "seen?") {
		h.Seen = entry.Seen{Epoch: name.Draw(t, "epoch"), Seq: rapid.Int64Range(0, entry.IntMax).Draw(t, "seq")}
	}
	if rapid.Bool().Draw(t, "group?") {
		h.Group = name.Draw(t, "group")
	}
	return h
}

func TestWhatIsAppendedIsReadBack(t *testing.T) {
	var p entry.Parser
	rapid.Check(t, func(t *rapid.T) {
		h := header(t)
		body := `{"a":[1,"x",{"b":null}]}`
		raw := entry.Append([]byte("before"), h, []byte(body))[len("before"):]
		e, err := p.Parse(raw)
		if err != nil || e.Header != h || string(e.Body) != body {
			t.Fatalf("read %+v %s, %v; want %+v", e.Header, e.Body, err, h)
		}
	})
}

func TestNewIDMakesTheExampleOfTheStandard(t *testing.T) {
	// RFC 9562, Appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
	// The bits that give way to version and variant are set here, to see them overwritten.
	got := entry.NewID(0x017F22E279B0, [10]byte{0xfc, 0xc3, 0xd8, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f})
	if want := "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"; got != want {
		t.Errorf("NewID = %s, want %s", got, want)
	}
}

func TestSplitCutsAListWithoutReadingItsElements(t *testing.T) {
	for _, tt := range []struct {
		name, list string
		want       []string // nil: refused
	}{
		{"an empty list", " [ ] ", []string{}},
		{"one element", `[{"a":1}]`, []string{`{"a":1}`}},
		{"white space stays outside", " [ {\"a\":\n1} , 2\t] ", []string{"{\"a\":\n1}", "2"}},
		{"brackets and commas in strings do not count", `[{"a":"],}\"["},"\\"]`, []string{`{"a":"],}\"["}`, `"\\"`}},
		{"a broken element spoils only itself", `[{"a":nan,},{"b":1}]`, []string{`{"a":nan,}`, `{"b":1}`}},
		{"an empty element is passed on to be refused", `[1,,2]`, []string{"1", "", "2"}},
		{"a list that is not closed", `[{"a":1}`, nil},
		{"a string that is not closed", `["a]`, nil},
		{"a brace too many", `[{"a":1}}]`, nil},
		{"something after the list", `[1] 2`, nil},
		{"an object", `{}`, nil},
		{"one element too many", `[1,2,3,4]`, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := entry.Split([]byte(tt.list), 3)
			if (err != nil) != (tt.want == nil) || len(got) != len(tt.want) {
				t.Fatalf("Split = %q, %v; want %q", got, err, tt.want)
			}
			for i := range got {
				if string(got[i]) != tt.want[i] {
					t.Errorf("element %d = %q, want %q", i, got[i], tt.want[i])
				}
			}
		})
	}
}

func ExampleParser_Parse() {
	var p entry.Parser
	e, err := p.Parse([]byte(good))
	fmt.Println(e.Kind, e.By, e.N, err)
	_, err = p.Parse([]byte(strings.Replace(good, `"n":41`, `"n":0`, 1)))
	fmt.Println(err)
	// Output:
	// powder.moved rosa 41 <nil>
	// entry field "n": got "0", want at least 1 (entry.field)
}
