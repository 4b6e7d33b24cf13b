// Package demo is the invented shop: a journal that a foreman could read, and
// its entries as bytes, dated so that the last day of work was yesterday.
package demo

import (
	_ "embed"
	"encoding/binary"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"hoppertally/sync/entry"
)

//go:embed shop.journal
var journal string

// Device is the id of the device that the demo's entries come from.
const Device = "demo"

// Entries are the journal's entries in order of time, with day 0 of the journal
// at the day of now, in the place of now. They are the same for the same day.
func Entries(now time.Time) ([][]byte, error) { return Read(journal, now) }

// Read makes entries of a journal. A line is a day relative to now, a time, a
// person, a kind and a body; lines that begin with # are remarks. In a body the
// text "@+30" stands for the day 30 days from now, "@KIND" for the id of the
// last entry of that kind. A field "_at" moves the entry to another day and time.
func Read(text string, now time.Time) ([][]byte, error) {
	var out [][]byte
	last := map[string]string{}
	midnight := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		raw, id, kind, err := makeEntry(line, midnight, int64(len(out)+1), last)
		if err != nil {
			return nil, fmt.Errorf("demo journal line %d: %w", i+1, err)
		}
		last[kind] = id
		out = append(out, raw)
	}
	return out, nil
}

var (
	dayMark = regexp.MustCompile(`"@([+-]\d+)"`)
	refMark = regexp.MustCompile(`"@([a-z]+\.[a-z]+)"`)
	atMark  = regexp.MustCompile(`,"_at":"([^"]+)"`)
)

func makeEntry(line string, midnight time.Time, n int64, last map[string]string) (raw []byte, id, kind string, err error) {
	f := strings.SplitN(line, " ", 5)
	if len(f) != 5 {
		return nil, "", "", fmt.Errorf("want day, time, person, kind and body: %q", line)
	}
	day, clock, body := f[0], f[1], f[4]
	if m := atMark.FindStringSubmatch(body); m != nil {
		day, clock, _ = strings.Cut(m[1], " ")
		body = atMark.ReplaceAllString(body, "")
	}
	body = dayMark.ReplaceAllStringFunc(body, func(s string) string {
		days, _ := strconv.Atoi(s[2 : len(s)-1])
		return strconv.Quote(midnight.AddDate(0, 0, days).Format(time.DateOnly))
	})
	body = refMark.ReplaceAllStringFunc(body, func(s string) string { return strconv.Quote(last[s[2:len(s)-1]]) })
	at, err := when(midnight, day, clock)
	if err != nil {
		return nil, "", "", err
	}
	_, offset := at.Zone()
	var rnd [10]byte
	binary.BigEndian.PutUint64(rnd[2:], uint64(n)*0x9e3779b97f4a7c15) // no secret: a demo that is the same every time
	id = entry.NewID(at.UnixMilli(), rnd)
	h := entry.Header{ID: id, Kind: f[3], V: 1, By: f[2], Device: Device, N: n, AtMS: at.UnixMilli(), AtOffsetMin: offset / 60,
		Clock: entry.Clock{WallMS: at.UnixMilli(), MonoMS: at.Sub(midnight.AddDate(0, 0, -30)).Milliseconds(), Segment: Device}}
	return entry.Append(nil, h, []byte(body)), id, f[3], nil
}

func when(midnight time.Time, day, clock string) (time.Time, error) {
	d, err := strconv.Atoi(day)
	if err != nil {
		return time.Time{}, fmt.Errorf("day %q: %w", day, err)
	}
	t, err := time.Parse("15:04", clock)
	if err != nil {
		return time.Time{}, fmt.Errorf("time %q: %w", clock, err)
	}
	date := midnight.AddDate(0, 0, d)
	return time.Date(date.Year(), date.Month(), date.Day(), t.Hour(), t.Minute(), 0, 0, midnight.Location()), nil
}
