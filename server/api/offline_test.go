package api_test

import (
	"fmt"
	"testing"
	"time"

	"hoppertally/sync/entry"
)

const day = 24 * time.Hour

// away is a phone that records for weeks without a network, with a clock that is
// off. It knows nothing of the server's time.
type away struct {
	*phone
	off     time.Duration // its clock less the right one
	segment int
	zero    time.Time // when the monotonic clock of the segment stood at 0
	outbox  [][]byte
	truth   map[string]time.Time // when each entry really happened
}

// record makes an entry at a true moment, as the phone's clocks tell it.
func (a *away) record(at time.Time) {
	a.n++
	wall := at.Add(a.off).UnixMilli()
	var rnd [10]byte
	s := serial.Add(1)
	for i := range 7 {
		rnd[3+i] = byte(s >> (8 * i))
	}
	raw := entry.Append(nil, entry.Header{ID: entry.NewID(wall, rnd), Kind: "powder.moved", V: 1, By: a.person, Device: a.device, N: a.n, AtMS: wall,
		Clock: entry.Clock{WallMS: wall, MonoMS: at.Sub(a.zero).Milliseconds(), Segment: fmt.Sprint("s", a.segment)}}, []byte(moved))
	a.outbox = append(a.outbox, raw)
	a.truth[idOf(raw)] = at
}

// restart is a battery that ran out: the monotonic clock begins anew.
func (a *away) restart(at time.Time) { a.segment, a.zero = a.segment+1, at }

// send hands everything in, in pushes of 256, and gives the results by id.
func (a *away) send(now time.Time) map[string]result {
	a.t.Helper()
	all := map[string]result{}
	for len(a.outbox) > 0 {
		n := min(256, len(a.outbox))
		b := fmt.Appendf(nil, `{"now":{"wall_ms":%d,"mono_ms":%d,"segment":"s%d"},"entries":[`, now.Add(a.off).UnixMilli(), now.Sub(a.zero).Milliseconds(), a.segment)
		for i, raw := range a.outbox[:n] {
			if i > 0 {
				b = append(b, ',')
			}
			b = append(b, raw...)
		}
		var out struct{ Results []result }
		a.do("POST", "/api/v1/push", append(b, "]}"...)).want(200).json(&out)
		for _, r := range out.Results {
			all[r.ID] = r
		}
		a.outbox = a.outbox[n:]
	}
	return all
}

func TestThirtyDaysWithoutANetworkAndAClockTwoDaysOff(t *testing.T) {
	for _, tt := range []struct {
		name    string
		off     time.Duration
		days    int
		signIns int
	}{
		{"two days slow", -2 * day, 30, 0},
		{"two days fast", 2 * day, 30, 0},
		{"right, and away for longer than a session lives", 0, 190, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := start(t, options{})
			left := time.Now()
			a := &away{phone: p.signIn("p-ana", "dev-ana"), off: tt.off, zero: left, truth: map[string]time.Time{}}
			for d := range tt.days {
				for i := range 20 {
					a.record(left.Add(time.Duration(d)*day + time.Duration(i)*20*time.Minute))
				}
				if d%7 == 6 {
					a.restart(left.Add(time.Duration(d)*day + 10*time.Hour))
				}
			}
			made := map[string]string{}
			for _, raw := range a.outbox {
				made[idOf(raw)] = string(raw)
			}

			// meanwhile the server went on, was started anew, and has another signing key
			p.stop()
			q := start(t, options{dir: p.dir, empty: true})
			q.ahead.Store((time.Duration(tt.days) * day).Milliseconds())
			if err := q.house.Auth.RotateKeys(); err != nil {
				t.Fatal(err)
			}
			cookies := a.phone.cookies()
			a.place = q
			back := time.Now().Add(time.Duration(tt.days) * day)

			// back on the network: the old token, then the refresh cookie, then at most the door
			a.do("POST", "/api/v1/push", pushBody()).refused("auth.expired")
			signIns := 0
			re := a.refreshWith(cookies[0])
			if re.status != 200 {
				re.refused("auth.ended")
				a.as("p-ana")
				signIns++
			} else {
				a.take(re)
			}
			if signIns != tt.signIns {
				t.Errorf("signed in %d times, want %d", signIns, tt.signIns)
			}
			results := a.send(back)
			wrong, worst := 0, time.Duration(0)
			for id, at := range a.truth {
				r := results[id]
				if r.Outcome != "accepted" {
					t.Errorf("entry %s is %q %s", id, r.Outcome, r.Reason)
				}
				if off := time.UnixMilli(r.EffectiveAt).Sub(at).Abs(); off > worst {
					worst = off
				}
				if r.Reason == "clock.wrong" {
					wrong++
				}
			}
			if want := len(made) * b2i(tt.off != 0); wrong != want {
				t.Errorf("%d entries carry the flag of a wrong clock, want %d", wrong, want)
			}
			if worst > 5*time.Second { // the clock's error was measured at the push, whose way takes time
				t.Errorf("an entry counts %v from when it happened", worst)
			}
			log := q.signIn("p-mia", "dev-mia").pull()
			for id, raw := range made {
				if log[id] != raw {
					t.Errorf("entry %s is not in the log as it was made", id)
				}
			}
			if _, _, err := q.house.Books.Check(); err != nil {
				t.Error(err)
			}
			t.Logf("%d entries of %d days accepted, dated within %v, %d sign-ins", len(made), tt.days, worst.Round(time.Millisecond), signIns)
		})
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
