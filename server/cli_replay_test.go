package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/shop"
	"hoppertally/server/replay"
	"hoppertally/sync/entry"
)

// shift is a small shift. Each row: clock, kind, body.
var shift = [][3]string{
	{"05:00", "powder.set", `{"powder":"white","name":"Salt Flat White","chemistry":"polyester","sg_milli":1600,"film_um10":{"min":500,"target":650,"max":900},"reclaim_max_pm":300}`},
	{"05:00", "booth.set", `{"booth":"b1","name":"Booth 1"}`},
	{"05:00", "place.set", `{"place":"shelf","name":"Rack A","kind":"shelf"}`},
	{"05:00", "place.set", `{"place":"hopper","name":"Hopper","kind":"vessel","booth":"b1"}`},
	{"05:00", "place.set", `{"place":"bin","name":"Reclaim bin","kind":"vessel","booth":"b1"}`},
	{"06:00", "lot.received", `{"lot":"W1","powder":"white","batch":"W-771","place":"shelf","mass_mg":50000000}`},
	{"06:10", "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":20000000,"lot":"W1"}`},
	{"06:20", "run.opened", `{"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}`},
	{"08:00", "powder.recovered", `{"run":"r1","from":"hopper","to":"bin","mass_mg":3000000,"sieved":true}`},
	{"08:10", "parts.coated", `{"run":"r1","job":"gates","count":180,"area_cm2":5000}`},
	{"08:20", "film.read", `{"run":"r1","spots":[600,700,800]}`},
	{"08:30", "place.weighed", `{"place":"hopper","mass_mg":2000000}`},
	{"08:40", "run.closed", `{"run":"r1"}`},
}

// shiftReport is the shift worked out by hand, in kg:
//
//	shelf     50 - 20 = 30, never sprayed
//	bin       3, once through the gun
//	hopper    2 as weighed; the books had 20 - 3 = 17, so 15 left it for good (net)
//	gross     15 + 3 = 18 went through the gun
//	on parts  180 × 5000 cm² × 70 µm × 1.6 g/cm³ = 900 000 cm² × 0.007 cm × 1.6 g/cm³ = 10.08
//	lost      15 - 10.08 = 4.92
//	transfer  10.08 / 18 = 560 ‰
//	all       30 + 3 + 2 + 10.08 + 4.92 - 50 = 0
const shiftReport = `{
  "places": [
    {
      "place": "bin",
      "mass_mg": 3000000,
      "content": [
        {
          "lot": "W1",
          "passes": 1,
          "mass_mg": 3000000
        }
      ]
    },
    {
      "place": "hopper",
      "mass_mg": 2000000,
      "content": [
        {
          "lot": "W1",
          "passes": 0,
          "mass_mg": 2000000
        }
      ]
    },
    {
      "place": "shelf",
      "mass_mg": 30000000,
      "content": [
        {
          "lot": "W1",
          "passes": 0,
          "mass_mg": 30000000
        }
      ]
    }
  ],
  "accounts": [
    {
      "account": "lost",
      "mass_mg": 4920000
    },
    {
      "account": "parts",
      "mass_mg": 10080000
    },
    {
      "account": "received",
      "mass_mg": -50000000
    },
    {
      "account": "variance",
      "mass_mg": 0
    }
  ],
  "runs": [
    {
      "run": "r1",
      "booth": "b1",
      "powder": "white",
      "open": false,
      "gross_mg": 18000000,
      "net_mg": 15000000,
      "on_parts_mg": 10080000,
      "recovered_mg": 3000000,
      "scrapped_mg": 0,
      "lost_mg": 4920000,
      "te_pm": 560,
      "estimated": false,
      "lots": [
        {
          "lot": "W1",
          "passes": 0,
          "mass_mg": 10080000
        }
      ]
    }
  ],
  "attention": []
}
`

// phoneLine is a row of the shift as a phone writes it.
func phoneLine(t testing.TB, i int, row [3]string) string {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", "2026-03-02 "+row[0])
	if err != nil {
		t.Fatal(err)
	}
	h := entry.Header{ID: entry.NewID(at.UnixMilli(), [10]byte{9: byte(i), 8: byte(i >> 8), 7: byte(i >> 16)}), Kind: row[1], V: 1, By: "ana", Device: "phone-1",
		N: int64(i + 1), AtMS: at.UnixMilli(), Clock: entry.Clock{WallMS: at.UnixMilli(), Segment: "s"}}
	return string(entry.Append(nil, h, []byte(row[2])))
}

// handLine is the same as a person writes it: at, kind and body.
func handLine(_ testing.TB, _ int, row [3]string) string {
	return fmt.Sprintf(`{"at":"2026-03-02T%s:00Z", "kind":%q, "body":%s}`, row[0], row[1], row[2])
}

func lines(t testing.TB, write func(testing.TB, int, [3]string) string) []string {
	var out []string
	for i, row := range shift {
		out = append(out, write(t, i, row))
	}
	return out
}

func shuffled(seed uint64, in []string) []string {
	out := slices.Clone(in)
	rand.New(rand.NewPCG(seed, 1)).Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

func journalFile(t *testing.T, lines []string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "shift.journal")
	if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestAShiftInAnyOrderComesOutAsByHand(t *testing.T) {
	for seed := range uint64(20) {
		for _, w := range []struct {
			who   string
			write func(testing.TB, int, [3]string) string
		}{{"a phone", phoneLine}, {"a person", handLine}} {
			a := hoppertally(t, "", "replay", journalFile(t, shuffled(seed, lines(t, w.write))))
			if a.code != exitOK || a.out != shiftReport || a.err != "" {
				t.Fatalf("written by %s, order %d: exit %d, %s\n%s", w.who, seed, a.code, a.err, a.out)
			}
		}
	}
}

func TestAJournalComesThroughStandardInput(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	defer func() {
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("%v stayed behind, %v", left, err)
		}
	}()
	in := strings.Join(lines(t, phoneLine), "\r\n\n \n") // ends of line of another system, empty lines
	if a := hoppertally(t, in+"\n", "replay", "-"); a.code != exitOK || a.out != shiftReport {
		t.Fatalf("exit %d, %s\n%s", a.code, a.err, a.out)
	}
	twice := in + "\n" + in
	if a := hoppertally(t, twice, "replay", "-"); a.code != exitOK || a.out != shiftReport {
		t.Fatalf("each line twice: exit %d, %s\n%s", a.code, a.err, a.out)
	}
	empty := "{\n  \"places\": [],\n  \"accounts\": [\n    {\n      \"account\": \"lost\",\n      \"mass_mg\": 0\n    },\n"
	if a := hoppertally(t, "", "replay", "-"); a.code != exitOK || !strings.HasPrefix(a.out, empty) {
		t.Fatalf("nothing: exit %d, %s\n%s", a.code, a.err, a.out)
	}
}

func TestMalformedLinesAreNamedAndTheRestCounts(t *testing.T) {
	good := lines(t, phoneLine)
	at := `"at":"2026-03-02T06:00:00Z"`
	for _, tt := range []struct{ name, line, says string }{
		{"no JSON", `what is this`, "entry.syntax"},
		{"cut short", good[6][:len(good[6])-1], "entry.syntax"},
		{"a list", `[]`, "entry.syntax"},
		{"by hand and cut short", `{"kind":"run.closed",` + at, "entry.syntax"},
		{"by hand with NaN in the body", `{` + at + `,"kind":"run.closed","body":{"run":NaN}}`, `"body": got byte 63 "NaN}}"`},
		{"by hand with an id and NaN in the body", `{"id":"e7",` + at + `,"kind":"run.closed","body":{"run":NaN}}`, `got invalid character 'N'`},
		{"by hand with an id and half a character in the body", `{"id":"e7",` + at + `,"kind":"run.closed","body":{"run":"\ud83d"}}`, `"body": want surrogates in pairs`},
		{"a field that no entry has", strings.Replace(good[6], `"v":1`, `"v":1,"w":2`, 1), "entry.unknown_field"},
		{"by hand with a clock that is no JSON", `{"clock":{"wall_ms":+1},` + at + `,"kind":"run.closed","body":{"run":"r1"}}`, "entry.syntax"},
		{"by hand with a clock of 400 levels", `{"clock":` + strings.Repeat("[", 400) + strings.Repeat("]", 400) + `,` + at + `,"kind":"run.closed","body":{"run":"r1"}}`, "entry.too_deep"},
		{"by hand with a field that no entry has", `{` + at + `,"kind":"run.closed","who":"ana","body":{"run":"r1"}}`, "entry.unknown_field"},
		{"by hand with a field twice", `{` + at + `,` + at + `,"kind":"run.closed","body":{"run":"r1"}}`, "entry.twice"},
		{"by hand without a time", `{"kind":"run.closed","body":{"run":"r1"}}`, `"at"`},
		{"by hand with a time without offset", `{"at":"2026-03-02T06:00:00","kind":"run.closed","body":{"run":"r1"}}`, `"at"`},
		{"by hand without a kind", `{` + at + `,"body":{"run":"r1"}}`, `"kind"`},
		{"by hand without a body", `{` + at + `,"kind":"run.closed"}`, `"body"`},
		{"by hand with version 0", `{` + at + `,"kind":"run.closed","v":0,"body":{"run":"r1"}}`, `"v"`},
		{"by hand with a person who is a number", `{` + at + `,"kind":"run.closed","by":7,"body":{"run":"r1"}}`, `"by"`},
		{"by hand with an id that is a list", `{` + at + `,"kind":"run.closed","id":[1],"body":{"run":"r1"}}`, `"id"`},
		{"by hand with a counter in words", `{` + at + `,"kind":"run.closed","n":"one","body":{"run":"r1"}}`, `"n"`},
		{"a body that lacks a field", `{` + at + `,"kind":"powder.moved","body":{"from":"shelf","to":"hopper"}}`, `field "mass_mg"`},
		{"a body with a mass below zero", `{` + at + `,"kind":"powder.moved","body":{"from":"shelf","to":"hopper","mass_mg":-1}}`, `field "mass_mg": got -1`},
		{"an id that stands in a line before with other bytes", strings.Replace(good[3], `"Hopper"`, `"Hopper 2"`, 1), "this id stands in an earlier line"},
		{"more than 64 KiB", `{"at":"` + strings.Repeat("x", entry.EntryMax) + `"}`, "entry.too_large"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := slices.Insert(slices.Clone(good), 6, tt.line)
			a := hoppertally(t, "", "replay", journalFile(t, in))
			if a.code != exitLines || a.out != shiftReport {
				t.Errorf("exit %d, want %d and the report of the good lines\n%s", a.code, exitLines, a.out)
			}
			if !strings.HasPrefix(a.err, "line 7: ") || !strings.Contains(a.err, tt.says) || !strings.Contains(a.err, "1 malformed lines left out") {
				t.Errorf("standard error = %q, want line 7, %q and the count", a.err, tt.says)
			}
		})
	}
}

func TestLinesWithoutIDsThatLookAlikeBothCount(t *testing.T) {
	in := lines(t, handLine)
	in = append(in, in[5]) // the same 50 kg again
	a := hoppertally(t, strings.Join(in, "\n"), "replay", "-")
	var r shop.Report
	if err := json.Unmarshal([]byte(a.out), &r); err != nil || a.code != exitOK {
		t.Fatalf("exit %d, %s, %v", a.code, a.err, err)
	}
	if r.Places[2].Place != "shelf" || r.Places[2].Mass != 80_000_000 { // 30 kg + 50 kg
		t.Errorf("shelf = %+v, want 80 kg", r.Places[2])
	}
}

func TestALaterVersionNeedsAttention(t *testing.T) {
	in := append(lines(t, handLine), `{"id":"x1","at":"2026-03-02T09:00:00Z","kind":"run.closed","v":2,"body":{"run":"r1","how":"well"}}`)
	a := hoppertally(t, strings.Join(in, "\n"), "replay", "-")
	want := strings.Replace(shiftReport, `"attention": []`,
		"\"attention\": [\n    {\n      \"code\": \"newer_version\",\n      \"entry\": \"x1\",\n      \"text\": \"newer_version run.closed v2\"\n    }\n  ]", 1)
	if a.code != exitOK || a.out != want {
		t.Errorf("exit %d, %s\n%s", a.code, a.err, a.out)
	}
}

// BenchmarkReplay folds 10 000 lines, as phones and as people write them.
func BenchmarkReplay(b *testing.B) {
	for _, w := range []struct {
		who   string
		write func(testing.TB, int, [3]string) string
	}{{"phone", phoneLine}, {"person", handLine}} {
		in := lines(b, w.write)
		for i := len(in); i < 10_000; i++ {
			in = append(in, w.write(b, i, [3]string{fmt.Sprintf("%02d:%02d", 9+i%10, i%60), "powder.moved", `{"from":"shelf","to":"hopper","mass_mg":1000,"lot":"W1"}`}))
		}
		text := strings.Join(shuffled(1, in), "\n")
		b.Run(w.who, func(b *testing.B) {
			for b.Loop() {
				got, err := replay.Fold(strings.NewReader(text), func(int64, error) {})
				if err != nil || got.Bad > 0 || got.State.Check() != nil {
					b.Fatal(got.Bad, err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(in)), "ns/line")
		})
	}
}
