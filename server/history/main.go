// Command history makes the data folder of a shop that has worked for years: an
// invented shop, invented powders, and a log as long as asked for. It is what the
// bench of a new phone's first start stands on.
//
//	go run ./server/history --data DIR --entries 250000 --years 5
//
// Every entry goes through the real store, at the time at which it would have come in.
// The shop's manager is p-mia, its coater p-ana.
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"math/rand/v2"
	"time"

	"hoppertally/server/auth"
	"hoppertally/server/house"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
)

func main() {
	data := flag.String("data", "", "folder to make")
	entries := flag.Int("entries", 250_000, "how many entries")
	years := flag.Float64("years", 5, "over how many years, ending now")
	flag.Parse()
	if *data == "" {
		log.Fatal("say --data FOLDER")
	}
	if err := run(*data, *entries, *years); err != nil {
		log.Fatal(err)
	}
}

const batch = 250

// shop writes the log of one shop.
type shop struct {
	r     *rand.Rand
	clock time.Time
	step  time.Duration // between two entries
	house *house.House
	n     map[string]int64 // counters of the devices
	wait  map[string][][]byte
	made  int
	sent  int
	lots  []string // of each powder, the one in use
	left  []int64  // mg of it on the shelf
}

var devices = map[string]string{"p-mia": "office", "p-cid": "room", "p-ana": "booth-1", "p-bea": "booth-2", "p-leo": "booth-3"}

func run(dir string, entries int, years float64) error {
	span := time.Duration(years * 365.25 * 24 * float64(time.Hour))
	s := &shop{r: rand.New(rand.NewPCG(1, 2)), step: span / time.Duration(entries), n: map[string]int64{}, wait: map[string][][]byte{}}
	s.clock = time.Now().Add(-span).Truncate(time.Millisecond)
	var err error
	s.house, err = house.Open(dir, house.Options{Now: func() time.Time { return s.clock }, Cost: auth.Cost{Time: 1, Memory: 64, Threads: 1}, MinFree: 1 << 20})
	if err != nil {
		return err
	}
	defer s.house.Close()
	if err := s.open(); err != nil {
		return err
	}
	for s.made < entries {
		if err := s.change(); err != nil {
			return err
		}
	}
	return s.flush()
}

// add records an entry of a person, a step later than the one before.
func (s *shop) add(by, kind, body string, args ...any) (id string, err error) {
	s.clock = s.clock.Add(s.step)
	device := devices[by]
	s.n[device]++
	id = s.id()
	raw := entry.Append(nil, entry.Header{ID: id, Kind: kind, V: 1, By: by, Device: device, N: s.n[device], AtMS: s.clock.UnixMilli(), AtOffsetMin: 60,
		Clock: entry.Clock{WallMS: s.clock.UnixMilli(), MonoMS: s.clock.UnixMilli() - 1_500_000_000_000, Segment: device}}, fmt.Appendf(nil, body, args...))
	s.wait[by] = append(s.wait[by], raw)
	s.made++
	return id, nil
}

func (s *shop) id() string {
	var rnd [10]byte
	for i := range rnd {
		rnd[i] = byte(s.r.Uint32())
	}
	return entry.NewID(s.clock.UnixMilli(), rnd)
}

// flush hands in what waits; somebody's turn after somebody else's, as from phones
// that come back from the booth.
func (s *shop) flush() error {
	for by, entries := range s.wait {
		for len(entries) > 0 {
			n := min(batch, len(entries))
			results, err := s.house.Push(context.Background(), store.PushRequest{Author: by, Device: devices[by], Entries: entries[:n]})
			if err != nil {
				return err
			}
			for i, r := range results {
				if r.Outcome != "accepted" {
					return fmt.Errorf("%s: %s %s", entries[i], r.Outcome, r.Reason)
				}
			}
			entries = entries[n:]
		}
		delete(s.wait, by)
	}
	return nil
}

const powders = 24

func (s *shop) open() error {
	set := func(kind, body string, args ...any) { s.add("p-mia", kind, body, args...) }
	set("shop.set", `{"name":"Lindwurm Coating","zone":"Europe/Madrid","units":"metric","currency":"EUR","lang":"en"}`)
	for id, name := range map[string]string{"p-mia": "Mia", "p-cid": "Cid", "p-ana": "Ana", "p-bea": "Bea", "p-leo": "Leo"} {
		role := map[string]string{"p-mia": "manager", "p-cid": "clerk"}[id]
		if role == "" {
			role = "coater"
		}
		set("person.set", `{"person":%q,"name":%q,"role":%q,"gone":false}`, id, name, role)
	}
	set("place.set", `{"place":"shelf","name":"Shelf","kind":"shelf"}`)
	set("place.set", `{"place":"drum","name":"Scrap drum","kind":"scrap"}`)
	for b := 1; b <= 3; b++ {
		set("booth.set", `{"booth":"b%d","name":"Booth %d","exhaust_m3h":12000,"te_pm":620,"recovery_pm":900}`, b, b)
		set("place.set", `{"place":"hop%d","name":"Hopper %d","kind":"vessel","booth":"b%d","capacity_mg":60000000}`, b, b, b)
		set("place.set", `{"place":"bin%d","name":"Bin %d","kind":"vessel","booth":"b%d"}`, b, b, b)
	}
	for p := range powders {
		set("powder.set", `{"powder":"pw%02d","name":"Powder %02d","chemistry":"polyester","finish":"gloss","sg_milli":%d,"film_um10":{"min":600,"target":700,"max":900},"reclaim_max_pm":300,"price":%d}`, p, p, 1300+10*p, 500+7*p)
	}
	s.lots, s.left = make([]string, powders), make([]int64, powders)
	return s.flush()
}

// change is one colour change and the run after it, about fifteen entries.
func (s *shop) change() error {
	b := 1 + s.r.IntN(3)
	by := []string{"p-ana", "p-bea", "p-leo"}[b-1]
	p := s.r.IntN(powders)
	need := int64(8_000_000 + s.r.Int64N(22_000_000))
	if s.left[p] < need {
		s.lots[p], s.left[p] = s.id(), 25_000_000*int64(8+s.r.IntN(16))
		s.add("p-cid", "lot.received", `{"lot":%q,"powder":"pw%02d","batch":"%06d","place":"shelf","mass_mg":%d,"packs":%d,"made":%q,"use_by":%q,"price":%d}`, s.lots[p], p,
			s.r.IntN(1_000_000), s.left[p], s.left[p]/25_000_000, s.clock.AddDate(0, -1, 0).Format(time.DateOnly), s.clock.AddDate(1, 0, 0).Format(time.DateOnly), 400+s.r.IntN(900))
	}
	s.left[p] -= need
	change, _ := s.add(by, "change.started", `{"booth":"b%d","powder":"pw%02d","level":"full","crew":2}`, b, p)
	s.add(by, "place.weighed", `{"place":"hop%d","mass_mg":0}`, b)
	s.add(by, "place.weighed", `{"place":"bin%d","mass_mg":0}`, b)
	s.add(by, "booth.cleaned", `{"booth":"b%d","level":"full","minutes":%d,"crew":2}`, b, 15+s.r.IntN(40))
	s.add(by, "change.finished", `{"booth":"b%d","change":%q}`, b, change)
	runID := s.id()
	s.add(by, "run.opened", `{"run":%q,"booth":"b%d","powder":"pw%02d","feed":"hop%d","mode":"collect"}`, runID, b, p, b)
	s.add(by, "powder.moved", `{"from":"shelf","to":"hop%d","mass_mg":%d,"lot":%q}`, b, need, s.lots[p])
	s.add(by, "place.weighed", `{"place":"hop%d","mass_mg":%d,"sd_mg":20000}`, b, need)
	area := 2000 + s.r.Int64N(20_000)
	s.add(by, "parts.coated", `{"run":%q,"job":"J%06d","count":%d,"area_cm2":%d,"coats":1}`, runID, s.r.IntN(1_000_000), 1+need/2/(area*10)*1000/1000/15, area)
	s.add(by, "film.read", `{"run":%q,"spots":[%d,%d,%d]}`, runID, 600+s.r.IntN(250), 600+s.r.IntN(250), 600+s.r.IntN(250))
	s.add(by, "powder.recovered", `{"run":%q,"from":"hop%d","to":"bin%d","mass_mg":%d,"sieved":true}`, runID, b, b, need/4)
	s.add(by, "place.weighed", `{"place":"hop%d","mass_mg":%d,"sd_mg":20000}`, b, need/5)
	s.add(by, "powder.moved", `{"from":"hop%d","to":"drum","mass_mg":%d}`, b, need/5)
	s.add(by, "powder.moved", `{"from":"bin%d","to":"drum","mass_mg":%d}`, b, need/4)
	s.add(by, "run.closed", `{"run":%q}`, runID)
	if s.made-s.sent < batch {
		return nil
	}
	s.sent = s.made
	return s.flush()
}
