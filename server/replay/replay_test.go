package replay

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
)

// slow is what [Fold] must give: all lines read into memory, then the fold of the
// phones.
func slow(in io.Reader, fault func(line int64, err error)) Result {
	var (
		out  Result
		lr   lineReader
		es   []shop.Entry
		seen = map[string][]byte{}
		r    = bufio.NewReader(in)
	)
	for n := int64(1); ; n++ {
		line, end := r.ReadBytes('\n')
		if raw := bytes.TrimSpace(line); len(raw) > 0 {
			e, err := lr.read(raw, n)
			switch {
			case err != nil:
			case seen[e.ID] == nil:
				seen[e.ID] = raw
				es = append(es, e)
			case !bytes.Equal(seen[e.ID], raw):
				err = ErrOtherBytes
			}
			if err != nil {
				out.Bad++
				fault(n, err)
			}
		}
		if end != nil {
			break
		}
	}
	f := shop.NewFold()
	f.Add(es...)
	for _, e := range f.Entries() {
		if e.Body == nil {
			out.Newer = append(out.Newer, *e)
		}
	}
	out.State = f.State()
	return out
}

// text puts a result with its faults into words, all of it.
func text(r Result, faults []string) string {
	newer := make([]string, 0, len(r.Newer))
	for _, e := range r.Newer {
		said, err := json.Marshal(e) // not what a fold notes on its own entries
		newer = append(newer, fmt.Sprint(string(said), err))
	}
	return fmt.Sprintf("%s\nbad %d\nnewer %q\nfaults %q", r.State.Encode(), r.Bad, newer, faults)
}

// scribe writes journals that a careless shop might keep, as phones write them
// and by hand.
type scribe struct {
	r    *rand.Rand
	now  int64
	n    int64
	made []string // ids
}

func (s *scribe) pick(from ...string) string { return from[s.r.IntN(len(from))] }

func (s *scribe) place() string {
	return s.pick("rack", "rack2", "hop1", "hop2", "bin1", "drum", "ghost", "tambor ñ", `a"b`)
}
func (s *scribe) lot() string { return s.pick("A1", "A2", "B1", "nolot", "a-lot-of-a-long-name") }
func (s *scribe) run() string { return s.pick("r1", "r2", "norun") }
func (s *scribe) mass() measure.Mass {
	return measure.Mass(s.r.Int64N(s.r.Int64N(1<<s.r.IntN(53)+1) + 1))
}

func (s *scribe) body() (string, kind.Body) {
	switch s.r.IntN(16) {
	case 0, 1:
		lot := s.lot()
		return "lot.received", &kind.LotReceived{Lot: lot, Powder: s.pick("pa", "pb", "nopowder"), Batch: lot, Place: s.place(), Mass: s.mass()}
	case 2, 3, 4, 5:
		m := &kind.PowderMoved{From: s.place(), To: s.place(), Mass: s.mass()}
		if s.r.IntN(2) == 0 {
			m.Lot = s.lot()
		}
		if s.r.IntN(4) == 0 {
			m.Why = s.pick("low", "two\nlines", "tambor lleno é")
		}
		return "powder.moved", m
	case 6, 7:
		return "powder.recovered", &kind.PowderRecovered{Run: s.run(), From: s.place(), To: s.place(), Mass: s.mass(), Sieved: s.r.IntN(2) == 0}
	case 8, 9:
		m := &kind.PlaceWeighed{Place: s.place(), Mass: s.mass(), SD: measure.Mass(s.r.Int64N(3) * 5000 << (s.r.IntN(2) * 20))}
		if s.r.IntN(3) == 0 {
			m.Lot = s.lot()
		}
		return "place.weighed", m
	case 10:
		return "run.opened", &kind.RunOpened{Run: s.run(), Booth: "b1", Powder: "pa", Feed: s.place(), Mode: s.pick(kind.Modes...)}
	case 11:
		return "run.closed", &kind.RunClosed{Run: s.run()}
	case 12:
		if len(s.made) > 0 {
			return "entry.voided", &kind.EntryVoided{Entry: s.pick(s.made...), Why: "mistake"}
		}
	case 13:
		if len(s.made) > 0 {
			return "entry.released", &kind.EntryReleased{Entry: s.pick(s.made...)}
		}
	case 14:
		return "powder.set", &kind.PowderSet{Powder: s.pick("pa", "pb"), Name: "P", Chemistry: "epoxy", SGMilli: 1500, FilmMin: 500, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: 300}
	}
	return "place.set", &kind.PlaceSet{Place: s.place(), Name: "a place", Kind: s.pick(kind.PlaceKinds...), Booth: "b1"}
}

// line is the next line of the journal; by a phone, by hand, or spoiled.
func (s *scribe) line() string {
	s.n++
	s.now += s.r.Int64N(3) * 60_000
	kind, b := s.body()
	body := form.Encode(b)
	if s.r.IntN(30) == 0 {
		kind = "thing.unheard"
	}
	var line string
	if s.r.IntN(3) > 0 {
		var rnd [10]byte
		for i := range rnd {
			rnd[i] = byte(s.r.Uint32())
		}
		h := entry.Header{ID: entry.NewID(s.now, rnd), Kind: kind, V: 1 + int64(s.r.IntN(40)/39), By: s.pick("ana", "ben ñ"), Device: s.pick("p1", "p2"), N: s.n, AtMS: s.now,
			AtOffsetMin: s.r.IntN(3)*60 - 60, Clock: entry.Clock{WallMS: s.now, MonoMS: s.n, Segment: "s"}}
		if s.r.IntN(2) == 0 {
			h.Seen = entry.Seen{Epoch: "e", Seq: s.n}
		}
		if s.r.IntN(4) == 0 {
			h.Group = s.pick("g1", "g2")
		}
		s.made = append(s.made, h.ID)
		line = string(entry.Append(nil, h, body))
	} else {
		line = s.byHand(kind, string(body))
	}
	if s.r.IntN(12) == 0 { // a slip of the pen
		at := s.r.IntN(len(line))
		line = line[:at] + s.pick("", "x", `"`, "}", "0", " ", "\x00", "\xff", "\\") + line[min(len(line), at+s.r.IntN(3)):]
	}
	return line
}

func (s *scribe) byHand(kind, body string) string {
	fields := []string{`"at":"2026-02-25T` + fmt.Sprintf("%02d:%02d", 6+s.r.IntN(14), s.r.IntN(60)) + s.pick(":00Z", ":00.5+01:00", ":07-03:30") + `"`, `"kind":"` + kind + `"`, `"body":` + body}
	more := []string{`"v":1`, `"by":"mia"`, `"by":""`, `"device":"p1"`, `"n":` + fmt.Sprint(s.r.IntN(9)), `"group":"g"`, `"clock":null`, `"clock":{"wall_ms":-5,"mono_ms":1,"segment":"x"}`,
		`"seen":{"seq":3,"epoch":"e"}`}
	for range s.r.IntN(4) {
		fields = append(fields, s.pick(more...))
	}
	if s.r.IntN(2) == 0 {
		id := s.pick("7", "t-1", "line-9", "a name of more than sixteen letters", "a name of more than sixteen letters too", fmt.Sprint("id-", s.n))
		s.made = append(s.made, id)
		fields = append(fields, fmt.Sprintf(`"id":%q`, id))
	} else {
		s.made = append(s.made, lineID(s.n))
	}
	if s.r.IntN(3) == 0 {
		s.r.Shuffle(len(fields), func(i, j int) { fields[i], fields[j] = fields[j], fields[i] })
	}
	line := "{" + strings.Join(fields, s.pick(",", ", ", " ,\t")) + "}"
	if s.r.IntN(3) == 0 {
		line = strings.ReplaceAll(line, `":`, `" : `)
	}
	return line
}

func (s *scribe) journal() string {
	lines := make([]string, s.r.IntN(60))
	for i := range lines {
		lines[i] = s.line()
	}
	for range s.r.IntN(4) {
		if len(lines) > 0 {
			lines = append(lines, s.pick(lines...), s.pick("", " \t", "\u00a0"), s.pick("{}", "[]", "nonsense"))
		}
	}
	if s.r.IntN(2) == 0 {
		s.r.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
	}
	return strings.Join(lines, s.pick("\n", "\r\n", "\n\n")) + s.pick("", "\n")
}

// A replay gives what the fold of the phones gives, to the last byte of the state and
// of every complaint.
func TestAReplayGivesWhatTheFoldOfThePhonesGives(t *testing.T) {
	once, whole := 0, 0
	for seed := range uint64(900) {
		s := scribe{r: rand.New(rand.NewPCG(seed, 3)), now: 1_772_000_000_000}
		file := s.journal()
		var want, faults []string
		plain := slow(strings.NewReader(file), func(line int64, err error) { want = append(want, fmt.Sprint(line, ": ", err)) })
		in := &counted{Reader: strings.NewReader(file)}
		got, err := Fold(in, func(line int64, err error) { faults = append(faults, fmt.Sprint(line, ": ", err)) })
		if err != nil {
			t.Fatal(err)
		}
		if a, b := text(got, faults), text(plain, want); a != b {
			t.Fatalf("seed %d:\n%s\nwant\n%s\nof\n%s", seed, a, b, file)
		}
		if len(faults) == 0 {
			whole++
		}
		if in.seeks == 0 && got.State.Folded > 3 {
			once++
		}
	}
	if once == 0 || whole == 0 {
		t.Errorf("%d journals were read once, %d had no fault", once, whole)
	}
}

// counted counts how often a file is gone back to.
type counted struct {
	*strings.Reader
	seeks int
}

func (c *counted) Seek(to int64, from int) (int64, error) {
	c.seeks++
	return c.Reader.Seek(to, from)
}

func TestLinesOfAnyLengthAreRead(t *testing.T) {
	long := func(n int, mass string) string {
		return `{"at":"2026-03-02T06:00:00Z","kind":"powder.moved","body":{"from":"a","to":"b","mass_mg":` + mass + `,"why":"` + strings.Repeat("y", n) + `"}}`
	}
	var file []string
	for n := 1850; n < 2000; n++ { // ends of lines at every place of the reader's memory, and lines longer than it
		file = append(file, long(n, "1"), strings.Repeat(" ", 70*n))
	}
	backwards := slices.Clone(file)
	backwards[0] = strings.Replace(file[0], "06:00", "07:00", 1)
	for _, lines := range [][]string{file, backwards} {
		for _, end := range []string{"", "\n"} {
			in := strings.NewReader(strings.Join(lines, "\n") + end)
			got, err := Fold(in, func(line int64, err error) { t.Errorf("line %d: %v", line, err) })
			if err != nil || got.State.Folded != 150 {
				t.Errorf("%d folded, %v", got.State.Folded, err)
			}
		}
	}
}

func TestAFaultOfReadingIsTold(t *testing.T) {
	boom := errors.New("the disk is gone")
	in := struct {
		io.Reader
		io.Seeker
	}{io.MultiReader(strings.NewReader("{}\n"), iotest.ErrReader(boom)), strings.NewReader("")}
	if _, err := Fold(in, func(int64, error) {}); err != boom {
		t.Errorf("error = %v, want that of the reader", err)
	}
}

// changing is a file that somebody writes into while it is read.
type changing struct {
	*strings.Reader
	later string
}

func (c *changing) Seek(int64, int) (int64, error) {
	c.Reader.Reset(c.later)
	return 0, nil
}

func TestALineThatChangesMeanwhileIsNoticed(t *testing.T) {
	file := `{"at":"2026-03-02T07:00:00Z","kind":"powder.moved","body":{"from":"a","to":"b","mass_mg":1}}` + "\n" +
		`{"at":"2026-03-02T06:00:00Z","kind":"powder.moved","body":{"from":"b","to":"c","mass_mg":1}}`
	for _, later := range []string{strings.ReplaceAll(file, `"mass_mg":1`, `"mass_mg":2`), ""} {
		_, err := Fold(&changing{strings.NewReader(file), later}, func(line int64, err error) { t.Errorf("line %d: %v", line, err) })
		if err == nil || err.Error() != "line 2 changed while the file was read" {
			t.Errorf("error = %v", err)
		}
	}
}
