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
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
)

// slow is what [Fold] must give, made the plain way: line after line by the
// strict reader, then the fold of the phones.
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

func (s *scribe) body() (string, shop.Body) {
	switch s.r.IntN(16) {
	case 0, 1:
		lot := s.lot()
		return "lot.received", &shop.LotReceived{Lot: lot, Powder: s.pick("pa", "pb", "nopowder"), Batch: lot, Place: s.place(), Mass: s.mass()}
	case 2, 3, 4, 5:
		m := &shop.PowderMoved{From: s.place(), To: s.place(), Mass: s.mass()}
		if s.r.IntN(2) == 0 {
			m.Lot = s.lot()
		}
		if s.r.IntN(4) == 0 {
			m.Why = s.pick("low", "two\nlines", "tambor lleno é")
		}
		return "powder.moved", m
	case 6, 7:
		return "powder.recovered", &shop.PowderRecovered{Run: s.run(), From: s.place(), To: s.place(), Mass: s.mass(), Sieved: s.r.IntN(2) == 0}
	case 8, 9:
		m := &shop.PlaceWeighed{Place: s.place(), Mass: s.mass(), SD: measure.Mass(s.r.Int64N(3) * 5000 << (s.r.IntN(2) * 20))}
		if s.r.IntN(3) == 0 {
			m.Lot = s.lot()
		}
		return "place.weighed", m
	case 10:
		return "run.opened", &shop.RunOpened{Run: s.run(), Booth: "b1", Powder: "pa", Feed: s.place(), Mode: s.pick(shop.Modes...)}
	case 11:
		return "run.closed", &shop.RunClosed{Run: s.run()}
	case 12:
		if len(s.made) > 0 {
			return "entry.voided", &shop.EntryVoided{Entry: s.pick(s.made...), Why: "mistake"}
		}
	case 13:
		if len(s.made) > 0 {
			return "entry.released", &shop.EntryReleased{Entry: s.pick(s.made...)}
		}
	case 14:
		return "powder.set", &shop.PowderSet{Powder: s.pick("pa", "pb"), Name: "P", Chemistry: "epoxy", SGMilli: 1500, FilmMin: 500, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: 300}
	}
	return "place.set", &shop.PlaceSet{Place: s.place(), Name: "a place", Kind: s.pick(shop.PlaceKinds...), Booth: "b1"}
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

// The quick way gives what the plain way gives, to the last byte of the state and
// of every complaint, wherever the file is cut into chunks.
func TestTheQuickWayGivesWhatThePlainWayGives(t *testing.T) {
	quickly := 0
	for seed := range uint64(300) {
		s := scribe{r: rand.New(rand.NewPCG(seed, 3)), now: 1_772_000_000_000}
		file := s.journal()
		var want []string
		plain := slow(strings.NewReader(file), func(line int64, err error) { want = append(want, fmt.Sprint(line, ": ", err)) })
		for _, size := range []int{1, 300, chunkSize} {
			var faults []string
			got, err := fold(strings.NewReader(file), size, func(line int64, err error) { faults = append(faults, fmt.Sprint(line, ": ", err)) })
			if err != nil {
				t.Fatal(err)
			}
			if a, b := text(got, faults), text(plain, want); a != b {
				t.Fatalf("seed %d, chunks of %d:\n%s\nwant\n%s\nof\n%s", seed, size, a, b, file)
			}
			if len(faults) == 0 {
				quickly++
			}
		}
	}
	if quickly == 0 {
		t.Error("every journal had a fault")
	}
}

func TestPhoneLinesAreReadTheQuickWay(t *testing.T) {
	w := worker{names: names{list: newNameList()}, out: &chunk{}}
	w.quick.names = &w.names
	s := scribe{r: rand.New(rand.NewPCG(1, 3)), now: 1_772_000_000_000}
	for i, b := range []shop.Body{&shop.PowderMoved{From: "rack", To: "hop", Mass: 5, Lot: "A"}, &shop.PowderMoved{From: "hop", To: "bin", Mass: 5, Why: "over"},
		&shop.PowderRecovered{Run: "r", From: "hop", To: "bin", Mass: 5, Sieved: true}, &shop.PlaceWeighed{Place: "hop", Mass: 9, SD: 5000}} {
		kind := kindNames[[]kind{moved, moved, recovered, weighed}[i]]
		h := entry.Header{ID: entry.NewID(s.now, [10]byte{}), Kind: kind, V: 1, By: "ana", Device: "p1", N: 4, AtMS: s.now, Clock: entry.Clock{Segment: "s"}, Seen: entry.Seen{Epoch: "e"}, Group: "g"}
		for _, line := range []string{string(entry.Append(nil, h, form.Encode(b))), fmt.Sprintf(`{"at": "2026-03-02T06:00:00Z", "kind": %q, "body": %s}`, kind, form.Encode(b))} {
			if _, ok := w.quick.read([]byte(line), 1, &w.out.long); !ok {
				t.Errorf("the quick way leaves %s", line)
			}
		}
	}
}

func TestALineLongerThanAChunk(t *testing.T) {
	long := `{"at":"2026-03-02T06:00:00Z","kind":"powder.moved","body":{"from":"a","to":"b","mass_mg":1,"why":"` + strings.Repeat("y", 1900) + `"}}`
	file := long + "\n" + strings.Repeat(" ", 5000) + "\n" + long
	for _, in := range []io.Reader{strings.NewReader(file), iotest.OneByteReader(strings.NewReader(file)), iotest.DataErrReader(strings.NewReader(file))} {
		got, err := fold(in, 7, func(line int64, err error) { t.Errorf("line %d: %v", line, err) })
		if err != nil || got.State.Folded != 2 {
			t.Errorf("%d folded, %v", got.State.Folded, err)
		}
	}
}

func TestAFaultOfReadingIsTold(t *testing.T) {
	boom := errors.New("the disk is gone")
	_, err := Fold(io.MultiReader(strings.NewReader("{}\n"), iotest.ErrReader(boom)), func(int64, error) {})
	if err != boom {
		t.Errorf("error = %v, want that of the reader", err)
	}
}

// Ids that look alike are one only if they are alike.
func TestIDsArePackedAndComeBack(t *testing.T) {
	ids := []string{"a", "line-1", "sixteen letters.", "seventeen letters", "seventeen letterS", "019caa52-7dc0-7000-8000-000000000006", "019caa52-7dc0-7000-8000-00000000000A",
		"019caa5207dc0-7000-8000-000000000006", "a\x00", strings.Repeat("é", 64)}
	var long []string
	var packed []packedID
	for _, id := range ids {
		p := packID(id, &long)
		if p.text(long) != id {
			t.Errorf("%q comes back as %q", id, p.text(long))
		}
		for i, q := range packed {
			if p.equal(long, q, long) {
				t.Errorf("%q equals %q", id, ids[i])
			}
		}
		again := packID([]byte(id), &long)
		if !again.equal(long, p, long) || again.hash() != p.hash() {
			t.Errorf("%q does not equal itself", id)
		}
		packed = append(packed, p)
	}
	if !slices.Contains(long, "seventeen letters") {
		t.Error("no long id was tried")
	}
}
