// Command load puts a whole shop on the built server: phones that listen for news,
// some of them pushing all the time, and tells how long a push takes and how much
// memory the server needs. It ends with code 1 beyond the limits.
//
//	load -bin bin/hoppertally -phones 500 -pushing 50 -seconds 30
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"hoppertally/sync/entry"
)

var (
	bin     = flag.String("bin", "bin/hoppertally", "the built server")
	count   = flag.Int("phones", 500, "phones that listen for news")
	pushing = flag.Int("pushing", 50, "of them pushing at any moment")
	pulls   = flag.Bool("pull", false, "let every phone fetch what is new, at most once a second")
	seconds = flag.Int("seconds", 30, "how long")
	p99Max  = flag.Duration("p99", 250*time.Millisecond, "the most that 99 of 100 pushes may take")
	rssMax  = flag.Int64("mb", 250, "the most memory the server may hold, in MB")
)

func main() {
	flag.Parse()
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

func run() error {
	dir, err := os.MkdirTemp("", "hoppertally-load-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s, err := launch(dir)
	if err != nil {
		return err
	}
	defer s.stop()
	fmt.Printf("load average before   %s\n", loadAverage())
	phones, err := s.staff()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	for _, ph := range phones {
		if err := ph.listen(ctx); err != nil {
			return fmt.Errorf("listen: %w", err)
		}
	}
	fmt.Printf("connected             %d phones, each with a stream of news\n", len(phones))
	took, entries, faults := s.push(phones[:*pushing])
	return s.report(took, entries, faults, phones)
}

// server is the program at work.
type server struct {
	cmd   *exec.Cmd
	base  string
	codes map[string]string
}

var (
	address = regexp.MustCompile(`http://localhost:(\d+)`)
	invited = regexp.MustCompile(`^  (\w+) .*#in=(\S+)$`)
)

func launch(dir string) (*server, error) {
	s := &server{cmd: exec.Command(*bin, "demo", "--port", "0", "--data", dir), codes: map[string]string{}}
	s.cmd.Stderr = os.Stderr
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for (s.base == "" || len(s.codes) < 3) && lines.Scan() {
		if m := address.FindStringSubmatch(lines.Text()); m != nil {
			s.base = "http://127.0.0.1:" + m[1]
		}
		if m := invited.FindStringSubmatch(lines.Text()); m != nil {
			s.codes[m[1]] = m[2]
		}
	}
	if s.base == "" || len(s.codes) < 3 {
		s.stop()
		return nil, errors.New("the server did not start")
	}
	go io.Copy(io.Discard, out)
	return s, nil
}

func (s *server) stop() {
	s.cmd.Process.Signal(os.Interrupt)
	s.cmd.Wait()
}

// phone is one device with one person.
type phone struct {
	base, device, person, access, epoch string
	http                                *http.Client
	n                                   int64
	pokes                               atomic.Int64
	news                                chan struct{}
	pulled, after                       int64
}

// staff hires as many coaters as there are phones, and signs each in on one.
func (s *server) staff() ([]*phone, error) {
	tr := &http.Transport{MaxIdleConnsPerHost: 4 * *count, MaxIdleConns: 4 * *count}
	make := func(device string) *phone {
		return &phone{base: s.base, device: device, http: &http.Client{Transport: tr}, news: make(chan struct{}, 1)}
	}
	boss := make("load-boss")
	if err := boss.signIn(s.codes["manager"]); err != nil {
		return nil, err
	}
	var phones []*phone
	for i := range *count {
		ph := make(fmt.Sprintf("load-%d", i))
		ph.person = fmt.Sprintf("coater-%d", i)
		if _, err := boss.push(boss.entry("person.set", fmt.Sprintf(`{"person":%q,"name":%q,"role":"coater"}`, ph.person, ph.person))); err != nil {
			return nil, err
		}
		var in struct{ Link string }
		if err := boss.do("POST", "/api/v1/people/"+ph.person+"/invite", nil, &in); err != nil {
			return nil, err
		}
		_, code, _ := strings.Cut(in.Link, "#in=")
		if err := ph.signIn(code); err != nil {
			return nil, err
		}
		phones = append(phones, ph)
	}
	return phones, nil
}

func (ph *phone) signIn(code string) error {
	body, err := json.Marshal(map[string]string{"code": code, "device": ph.device, "app_version": "load"})
	if err != nil {
		return err
	}
	var g struct {
		Access, Epoch string
		Person        struct{ ID string }
	}
	if err := ph.do("POST", "/api/v1/session", body, &g); err != nil {
		return err
	}
	ph.access, ph.person, ph.epoch = g.Access, g.Person.ID, g.Epoch
	return nil
}

func (ph *phone) request(ctx context.Context, method, path string, body []byte) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, method, ph.base+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	if ph.access != "" {
		req.Header.Set("Authorization", "Bearer "+ph.access)
	}
	res, err := ph.http.Do(req)
	if err == nil && res.StatusCode != http.StatusOK {
		b, _ := io.ReadAll(res.Body)
		res.Body.Close()
		return nil, fmt.Errorf("%s %s: %d %s", method, path, res.StatusCode, b)
	}
	return res, err
}

func (ph *phone) do(method, path string, body []byte, into any) error {
	res, err := ph.request(context.Background(), method, path, body)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, into)
}

// listen reads the stream of news until ctx is done.
func (ph *phone) listen(ctx context.Context) error {
	res, err := ph.request(ctx, "GET", "/api/v1/live", nil)
	if err != nil {
		return err
	}
	go func() {
		defer res.Body.Close()
		for lines := bufio.NewScanner(res.Body); lines.Scan(); {
			if strings.HasPrefix(lines.Text(), "data:") {
				ph.pokes.Add(1)
				select {
				case ph.news <- struct{}{}:
				default:
				}
			}
		}
	}()
	if *pulls {
		go ph.follow(ctx)
	}
	return nil
}

// follow fetches what is new, as a phone that somebody looks at.
func (ph *phone) follow(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-ph.news:
		}
		for more := true; more; {
			var page struct {
				Next    int64
				More    bool
				Entries []json.RawMessage
			}
			if err := ph.do("GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d", ph.epoch, ph.after), nil, &page); err != nil {
				return
			}
			ph.pulled += int64(len(page.Entries))
			ph.after, more = page.Next, page.More
		}
		time.Sleep(time.Second)
	}
}

func (ph *phone) entry(kind, body string) []byte {
	ph.n++
	ms := time.Now().UnixMilli()
	var rnd [10]byte
	copy(rnd[3:], ph.device[len(ph.device)-min(4, len(ph.device)):])
	rnd[7], rnd[8], rnd[9] = byte(ph.n>>16), byte(ph.n>>8), byte(ph.n)
	return entry.Append(nil, entry.Header{ID: entry.NewID(ms, rnd), Kind: kind, V: 1, By: ph.person, Device: ph.device, N: ph.n, AtMS: ms,
		Clock: entry.Clock{WallMS: ms, MonoMS: ph.n, Segment: "s"}}, []byte(body))
}

// push hands entries in and tells how long that took.
func (ph *phone) push(entries ...[]byte) (time.Duration, error) {
	body := fmt.Appendf(nil, `{"now":{"wall_ms":%d,"mono_ms":%d,"segment":"s"},"entries":[%s]}`, time.Now().UnixMilli(), ph.n, bytes.Join(entries, []byte(",")))
	var out struct {
		Results []struct{ Outcome, Reason string }
	}
	began := time.Now()
	err := ph.do("POST", "/api/v1/push", body, &out)
	took := time.Since(began)
	for _, r := range out.Results {
		if err == nil && r.Outcome != "accepted" {
			err = fmt.Errorf("an entry is %s: %s", r.Outcome, r.Reason)
		}
	}
	return took, err
}

// push lets every one of the phones hand in one to five entries, again and again.
func (s *server) push(phones []*phone) (took []time.Duration, entries int, faults []error) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	until := time.Now().Add(time.Duration(*seconds) * time.Second)
	for _, ph := range phones {
		wg.Go(func() {
			for time.Now().Before(until) {
				batch := make([][]byte, 1+ph.n%5)
				for i := range batch {
					batch[i] = ph.entry("powder.moved", `{"from":"rack-a","to":"drum","mass_mg":1,"lot":"lot-k107"}`)
				}
				d, err := ph.push(batch...)
				mu.Lock()
				if took, entries = append(took, d), entries+len(batch); err != nil {
					faults = append(faults, err)
				}
				mu.Unlock()
				if err != nil {
					return
				}
			}
		})
	}
	wg.Wait()
	return took, entries, faults
}

func (s *server) report(took []time.Duration, entries int, faults []error, phones []*phone) error {
	if len(took) == 0 {
		return errors.New("nothing was pushed")
	}
	slices.Sort(took)
	at := func(share float64) time.Duration { return took[min(len(took)-1, int(share*float64(len(took))))] }
	var pokes, pulled int64
	for _, ph := range phones {
		pokes += ph.pokes.Load()
		pulled += ph.pulled
	}
	m := s.memory()
	per := float64(*seconds)
	fmt.Printf("pushed                %d times, %d entries in %d s by %d phones at once (%.0f pushes/s, %.0f entries/s)\n", len(took), entries, *seconds, *pushing, float64(len(took))/per, float64(entries)/per)
	fmt.Printf("a push took           p50 %v  p90 %v  p99 %v  longest %v\n", ms(at(.5)), ms(at(.9)), ms(at(.99)), ms(took[len(took)-1]))
	fmt.Printf("news                  %d pokes read, %d entries pulled\n", pokes, pulled)
	fmt.Printf("memory of the server  %d MB (%d of its own, %d of files), at most %d MB\n", m.now, m.own, m.files, m.most)
	fmt.Printf("load average after    %s\n", loadAverage())
	var all []error
	if len(faults) > 0 {
		all = append(all, fmt.Errorf("%d pushes failed, the first: %w", len(faults), faults[0]))
	}
	if p99 := at(.99); p99 > *p99Max {
		all = append(all, fmt.Errorf("p99 is %v, want at most %v", ms(p99), *p99Max))
	}
	if m.most > *rssMax {
		all = append(all, fmt.Errorf("the server held %d MB, want at most %d", m.most, *rssMax))
	}
	return errors.Join(all...)
}

func ms(d time.Duration) time.Duration { return d.Round(100 * time.Microsecond) }

// memory is what the server holds in MB (Linux; else 0): now and at most, and of now
// the part that is its own and the part that mirrors files, which the system may take
// away at any time.
type memory struct{ now, most, own, files int64 }

func (s *server) memory() memory {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
	if err != nil {
		return memory{}
	}
	field := func(name string) int64 {
		m := regexp.MustCompile(`(?m)^` + name + `:\s+(\d+) kB`).FindSubmatch(b)
		if m == nil {
			return 0
		}
		kb, _ := strconv.ParseInt(string(m[1]), 10, 64)
		return kb / 1000
	}
	return memory{now: field("VmRSS"), most: field("VmHWM"), own: field("RssAnon"), files: field("RssFile")}
}

func loadAverage() string {
	b, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "not known"
	}
	return strings.Join(strings.Fields(string(b))[:3], " ")
}
