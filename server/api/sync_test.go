package api_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/server/api"
	"hoppertally/server/store"
	"hoppertally/sync/hub"
	"hoppertally/sync/wire"
)

func TestThePhonesHalfReadsWhatTheServerWrites(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	h, err := wire.ReadHello(ana.do("GET", "/api/v1/hello", nil).want(200).body)
	if err != nil || h.Server != p.house.ServerID() || h.Epoch != p.house.Epoch() || h.Head != p.house.Head() || h.HaveN != 0 {
		t.Errorf("hello %+v, %v", h, err)
	}
	e := ana.entry("powder.moved", moved)
	for i, want := range []string{"accepted", "duplicate"} {
		r, err := wire.ReadPushed(ana.do("POST", "/api/v1/push", pushBody(e)).want(200).body)
		if err != nil || len(r.Results) != 1 || r.Results[0].Outcome != want || r.Results[0].Seq != h.Head+1 || (r.Results[0].Stands == "accepted") != (i == 1) {
			t.Errorf("push %d: %+v, %v", i, r, err)
		}
	}
	page, err := wire.ReadPage(ana.do("GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d", h.Epoch, h.Head), nil).want(200).body)
	if err != nil || len(page.Items) != 1 || page.Items[0].ID != idOf(e) || page.Next != h.Head+1 || page.More {
		t.Errorf("pull %+v, %v", page, err)
	}
	if h, err = wire.ReadHello(ana.do("GET", "/api/v1/hello", nil).want(200).body); err != nil || h.HaveN != 1 {
		t.Errorf("hello after a push %+v, %v", h, err)
	}
}

// One such entry on the log would otherwise stop every phone's pull for ever.
func TestAnEntryFromBefore1970TravelsLikeAnyOther(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	head := p.house.Head()
	old := regexp.MustCompile(`"at":"[^"]*"`).ReplaceAll(ana.entry("powder.moved", moved), []byte(`"at":"0001-01-01T00:00:00+00:00"`))
	r, err := wire.ReadPushed(ana.do("POST", "/api/v1/push", pushBody(old)).want(200).body)
	if err != nil || len(r.Results) != 1 || r.Results[0].Outcome != "accepted" || r.Results[0].EffectiveMS >= 0 {
		t.Fatalf("push %+v, %v", r, err)
	}
	page, err := wire.ReadPage(ana.do("GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d", p.house.Epoch(), head), nil).want(200).body)
	if err != nil || len(page.Items) != 1 || page.Items[0].EffectiveMS != r.Results[0].EffectiveMS {
		t.Errorf("pull %+v, %v", page, err)
	}
}

func TestEntriesComeBackByteForByteHoweverManyPhonesPush(t *testing.T) {
	p := start(t, options{})
	const phones, rounds = 6, 8
	var mu sync.Mutex
	sent := map[string]string{}
	var all sync.WaitGroup
	for i := range phones {
		ph := p.signIn("p-ana", fmt.Sprint("dev-", i))
		all.Go(func() {
			for r := range rounds {
				var batch [][]byte
				for k := range 1 + (i+r)%5 {
					batch = append(batch, ph.entry("entry.noted", fmt.Sprintf(`{"entry":"x","text":"%d ünï %s"}`, k, strings.Repeat("z", 100*i))))
				}
				for j, res := range ph.push(batch...) {
					if res.Outcome != "accepted" || res.ID != idOf(batch[j]) {
						t.Errorf("%+v", res)
					}
				}
				mu.Lock()
				for _, raw := range batch {
					sent[idOf(raw)] = string(raw)
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	got := p.signIn("p-mia", "dev-mia").pull()
	for id, raw := range sent {
		if got[id] != raw {
			t.Fatalf("sent %s\ngot  %s", raw, got[id])
		}
	}
}

func TestWhatWasAcknowledgedIsThereAfterARestart(t *testing.T) {
	dir := t.TempDir()
	p := start(t, options{dir: dir})
	ana := p.signIn("p-ana", "dev-ana")
	e := ana.entry("powder.moved", moved)
	ana.push(e)
	hash, n, err := p.house.Books.Check()
	if err != nil {
		t.Fatal(err)
	}
	jar := ana.http.Jar
	p.stop()
	q := start(t, options{dir: dir, empty: true})
	again, m, err := q.house.Books.Check()
	if err != nil || again != hash || m != n {
		t.Errorf("after the restart %d entries with state %s (%v), before %d with %s", m, again, err, n, hash)
	}
	back := q.newPhone("dev-ana")
	back.http.Jar = jar // cookies know no ports
	back.take(back.do("POST", "/api/v1/session/refresh", nil).want(200))
	if r := back.push(e); r[0].Outcome != "duplicate" {
		t.Errorf("pushed again: %+v", r[0])
	}
	if refolded, err := q.house.Refold(); err != nil || refolded != hash {
		t.Errorf("refolded %s, %v", refolded, err)
	}
}

// listen opens the stream of news and gives its lines.
func (ph *phone) listen(ctx context.Context) <-chan string {
	ph.t.Helper()
	req, err := http.NewRequestWithContext(ctx, "GET", ph.base+"/api/v1/live", nil)
	if err != nil {
		ph.t.Fatal(err)
	}
	if ph.access != "" {
		req.Header.Set("Authorization", "Bearer "+ph.access)
	}
	tr := &http.Transport{}
	ph.t.Cleanup(tr.CloseIdleConnections)
	res, err := tr.RoundTrip(req)
	if err != nil {
		ph.t.Fatal(err)
	}
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "text/event-stream" || res.Header.Get("Cache-Control") != "no-store" {
		ph.t.Fatalf("live: %d %v", res.StatusCode, res.Header)
	}
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		defer res.Body.Close()
		for s := bufio.NewScanner(res.Body); s.Scan(); {
			if s.Text() != "" {
				lines <- s.Text()
			}
		}
	}()
	return lines
}

func next(t *testing.T, lines <-chan string, within time.Duration) string {
	t.Helper()
	select {
	case l := <-lines:
		return l
	case <-time.After(within):
		t.Fatalf("no news within %v", within)
		return ""
	}
}

func TestNewsOfAPushComesWithinASecond(t *testing.T) {
	p := start(t, options{})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	ana := p.signIn("p-ana", "dev-ana")
	lines := p.newPhone("x").listen(ctx)
	head := p.house.Head()
	if l := next(t, lines, time.Second); l != fmt.Sprintf(`data: {"head":%d}`, head) {
		t.Errorf("first line %q", l)
	}
	for i := range int64(5) {
		ana.push(ana.entry("powder.moved", moved))
		if l := next(t, lines, time.Second); l != fmt.Sprintf(`data: {"head":%d}`, head+i+1) {
			t.Errorf("after push %d: %q", i, l)
		}
	}
}

func TestAStreamBeatsAndEndsWithTheServerAtOnce(t *testing.T) {
	p := start(t, options{beat: 30 * time.Millisecond})
	lines := p.newPhone("x").listen(context.Background())
	next(t, lines, time.Second)
	if l := next(t, lines, time.Second); l != ": here" {
		t.Errorf("beat %q", l)
	}
	before := time.Now()
	p.stop()
	if took := time.Since(before); took > 2*time.Second {
		t.Errorf("shutting down with an open stream took %v", took)
	}
	for range lines { // ends
	}
}

// Phones vanish from a steel booth without saying so.
func TestStreamsOfPhonesThatVanishedEnd(t *testing.T) {
	const beat, phones = 100 * time.Millisecond, 200
	p := start(t, options{beat: beat})
	var ana *phone
	var conns []net.Conn
	for i := range phones {
		if i%api.OwnMax == 0 {
			ana = p.hire(fmt.Sprint("p-", i))
		}
		c, err := net.Dial("tcp", strings.TrimPrefix(p.base, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "GET /api/v1/live HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n\r\n", ana.access)
		if _, err := c.Read(make([]byte, 64)); err != nil {
			t.Fatal(err)
		}
		conns = append(conns, c)
	}
	if n := streams(); n != phones {
		t.Fatalf("%d streams run, want %d", n, phones)
	}
	for _, c := range conns {
		c.(*net.TCPConn).SetLinger(0) // no FIN
		c.Close()
	}
	gone := time.Now()
	for streams() > 0 {
		if time.Since(gone) > 50*beat {
			t.Fatalf("%d streams still run %v after their phones vanished", streams(), time.Since(gone))
		}
		time.Sleep(beat / 4)
	}
	t.Logf("%d streams ended %v after their phones vanished, a beat being %v", phones, time.Since(gone), beat)
}

// streams counts the goroutines that write news. All goroutines together would not
// do: the HTTP library keeps its idle workers for 10 s, and looks every 10 s.
func streams() int {
	stacks := make([]byte, 8<<20)
	stacks = stacks[:runtime.Stack(stacks, true)]
	return strings.Count(string(stacks), "api.(*Server).stream(")
}

func TestGuestsDoNotTakeThePlacesOfPhonesThatListen(t *testing.T) {
	p := start(t, options{beat: time.Hour})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	x, ana := p.newPhone("x"), p.signIn("p-ana", "dev-ana")
	for range api.GuestsMax {
		next(t, x.listen(ctx), 5*time.Second)
	}
	if a := x.do("GET", "/api/v1/live", nil).refused("server.busy"); a.head.Get("Retry-After") != "30" {
		t.Errorf("Retry-After %q", a.head.Get("Retry-After"))
	}
	for range 8 {
		for range api.OwnMax {
			next(t, ana.listen(ctx), 5*time.Second)
		}
		ana = p.hire(fmt.Sprint("p-", serial.Add(1)))
	}
}

// faulty is a log whose disk is full, or whose code is broken.
type faulty struct {
	api.Log
	err error
}

func (f *faulty) Push(ctx context.Context, req store.PushRequest) ([]hub.Result, error) {
	if f.err != nil {
		return nil, f.err
	}
	return f.Log.Push(ctx, req)
}

func (f *faulty) Ready() error { return f.err }

func (f *faulty) HaveN(string) (int64, error) { panic("a defect") }

func TestTheServersOwnFaultsAreProblemsToo(t *testing.T) {
	var f *faulty
	p := start(t, options{wrap: func(l api.Log) api.Log { f = &faulty{Log: l}; return f }})
	ana := p.signIn("p-ana", "dev-ana")
	push := func() *answer { return ana.do("POST", "/api/v1/push", pushBody(ana.entry("powder.moved", moved))) }
	for _, tt := range []struct {
		err  error
		code string
	}{
		{store.ErrDiskLow, "server.full"},
		{fmt.Errorf("push: %w", store.ErrClosed), "server.busy"},
		{store.ErrTooMany, "request.too_many"},
		{errors.New("secret path /home/x"), "server.internal"},
	} {
		f.err = tt.err
		if a := push().refused(tt.code); strings.Contains(string(a.body), "/home/x") {
			t.Errorf("the answer tells what is inside: %s", a.body)
		}
		ana.do("GET", "/readyz", nil).refused("server.full")
	}
	f.err = nil
	push().want(200)
	ana.do("GET", "/readyz", nil).want(200)
	ana.do("GET", "/api/v1/hello", nil).refused("server.internal")
	ana.do("GET", "/healthz", nil).want(200)
	if !strings.Contains(p.log.String(), "a defect") {
		t.Error("a panic is not in the log")
	}
}

func TestSlowHeadersAreCutOff(t *testing.T) {
	p := start(t, options{})
	c, err := net.Dial("tcp", strings.TrimPrefix(p.base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "GET /healthz HTTP/1.1\r\nHost: localhost\r\nBroken\x00: yes\r\n\r\n")
	c.SetReadDeadline(time.Now().Add(5 * time.Second))
	b, err := io.ReadAll(c)
	if err != nil || !strings.Contains(string(b), "application/problem+json") || strings.Contains(string(b), "200 OK") {
		t.Errorf("a broken header is answered with %q, %v", b, err)
	}
}

// A phone that unpacks gets a page of the log packed, and the same page as one that
// does not.
func TestLargeAnswersArePacked(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	var list [][]byte
	for range 50 {
		list = append(list, ana.entry("powder.moved", moved))
	}
	ana.push(list...)
	at := "/api/v1/pull?epoch=" + p.house.Epoch() + "&after=0&max=100"
	plain := ana.do("GET", at, nil, "Accept-Encoding", "identity").want(200)
	packed := ana.do("GET", at, nil, "Accept-Encoding", "gzip, br").want(200)
	if packed.head.Get("Content-Encoding") != "gzip" || plain.head.Get("Content-Encoding") != "" {
		t.Fatalf("encodings %q and %q", packed.head.Get("Content-Encoding"), plain.head.Get("Content-Encoding"))
	}
	z, err := gzip.NewReader(bytes.NewReader(packed.body))
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(z)
	if err != nil || !bytes.Equal(b, plain.body) || len(packed.body)*3 > len(b) {
		t.Errorf("%d bytes packed into %d, %v", len(b), len(packed.body), err)
	}
	if h := ana.do("GET", "/api/v1/hello", nil, "Accept-Encoding", "gzip").want(200).head; h.Get("Content-Encoding") != "" {
		t.Error("a small answer is packed")
	}
}

// A closing that came from a phone that was shut out waits for a manager. Once it is
// released the books are closed, and what happened before counts after it, marked as
// late; also after a start anew.
func TestAClosingThatIsReleasedClosesTheBooksForLateEntries(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-mia")
	other := p.signIn("p-mia", "dev-2")
	ana := p.signIn("p-ana", "dev-ana")
	other.do("POST", "/api/v1/phones/dev-mia/revoke", map[string]any{}).want(204)
	through := time.Now().Add(-time.Second).Truncate(time.Second)
	old := func() []byte {
		raw := string(ana.entry("powder.moved", moved))
		before, rest, _ := strings.Cut(raw, `"at":"`)
		_, after, _ := strings.Cut(rest, `"`)
		return []byte(before + `"at":"` + through.Add(-2*time.Hour).UTC().Format(time.RFC3339) + `"` + after)
	}
	closing := mia.entry("books.closed", `{"through":"`+through.UTC().Format(time.RFC3339)+`"}`)
	if r := mia.push(closing)[0]; r.Outcome != "held" {
		t.Fatalf("the closing of a phone that was shut out: %+v", r)
	}
	if r := ana.push(old())[0]; r.Late {
		t.Errorf("a held closing closes the books: %+v", r)
	}
	if r := other.push(other.entry("entry.released", `{"entry":"`+idOf(closing)+`","why":"ok"}`))[0]; r.Outcome != "accepted" {
		t.Fatalf("the release: %+v", r)
	}
	if r := ana.push(old())[0]; !r.Late || r.EffectiveAt <= through.UnixMilli() {
		t.Errorf("books closed through %d: %+v", through.UnixMilli(), r)
	}
}
