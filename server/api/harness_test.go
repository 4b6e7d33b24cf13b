package api_test

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/server/api"
	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/house"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// place is a whole server on a real disk and a real socket, with a small shop in it.
type place struct {
	t     *testing.T
	house *house.House
	dir   string
	base  string
	ahead atomic.Int64 // ms that the server's clock is ahead
	still atomic.Int64 // Unix ms at which it stands still; 0: it goes
	log   *lockedBuffer
	stop  func()
}

type options struct {
	dir     string
	shell   fs.FS
	beat    time.Duration
	wrap    func(api.Log) api.Log
	isTLS   bool
	proxied bool
	empty   bool     // leave the shop out
	names   []string // that lead here besides localhost

	cost        auth.Cost      // of a passphrase; zero: cheap
	remote      string         // where connections come from; "" as it is
	local       string         // and at which address of this machine they arrive
	metricsFrom []netip.Prefix // who besides this machine may read /metrics
}

// lockedBuffer is a log that the test may read while the server writes.
type lockedBuffer struct {
	mu chan struct{}
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu <- struct{}{}
	defer func() { <-l.mu }()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu <- struct{}{}
	defer func() { <-l.mu }()
	return l.b.String()
}

type (
	pushRequest = store.PushRequest
	pushResult  = hub.Result
)

// cheap makes tests quick; nothing in the code depends on the cost.
var cheap = auth.Cost{Time: 1, Memory: 64, Threads: 1}

func start(t *testing.T, o options) *place {
	t.Helper()
	if o.dir == "" {
		o.dir = t.TempDir()
	}
	if o.shell == nil {
		o.shell = fstest.MapFS{}
	}
	p := &place{t: t, dir: o.dir, log: &lockedBuffer{mu: make(chan struct{}, 1)}}
	log := slog.New(slog.NewTextHandler(p.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	now := func() time.Time {
		if at := p.still.Load(); at != 0 {
			return time.UnixMilli(at).Add(time.Duration(p.ahead.Load()) * time.Millisecond)
		}
		return time.Now().Add(time.Duration(p.ahead.Load()) * time.Millisecond)
	}
	h, err := house.Open(o.dir, house.Options{Slog: log, Now: now, Cost: cmp.Or(o.cost, cheap), MinFree: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	p.house = h
	if !o.empty {
		p.furnish()
	}
	var l api.Log = h
	if o.wrap != nil {
		l = o.wrap(h)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p.base = "http://" + ln.Addr().String()
	srv, err := api.New(api.Config{Names: o.names, MetricsFrom: o.metricsFrom, Home: func() string { return p.base },
		Log: l, Books: h.Books, Auth: h.Auth, Desk: h.Desk, Origins: h.Origins, Shell: o.shell, Slog: log, Version: "7", Beat: o.beat, Now: now, IsTLS: o.isTLS, Proxied: o.proxied})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	if o.remote != "" {
		ln = from{ln, o.remote, cmp.Or(o.local, "192.168.1.1")}
	}
	go func() { ended <- srv.Serve(ctx, ln) }()
	stopped := false
	p.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("serve: %v", err)
		}
		if err := h.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	}
	t.Cleanup(p.stop)
	return p
}

// furnish puts a small shop into the books: a manager, a clerk and a coater, one
// powder with a price, one shelf with a lot, one hopper.
func (p *place) furnish() {
	p.t.Helper()
	d := func(kind string, b form.Fields) books.Draft { return books.Draft{Kind: kind, Body: b} }
	err := p.house.Desk.Record(context.Background(), "p-mia",
		d("shop.set", &kind.ShopSet{Name: "Testwerk", Zone: "Europe/Madrid", Units: "metric", Currency: "EUR", Lang: "en"}),
		d("person.set", &kind.PersonSet{Person: "p-mia", Name: "Mia", Role: "manager"}),
		d("person.set", &kind.PersonSet{Person: "p-cid", Name: "Cid", Role: "clerk"}),
		d("person.set", &kind.PersonSet{Person: "p-ana", Name: "Ana", Role: "coater"}),
		d("person.set", &kind.PersonSet{Person: "p-bea", Name: "Bea", Role: "coater"}),
		d("powder.set", &kind.PowderSet{Powder: "pw-1", Name: "=cmd|'x'", Chemistry: "polyester", Finish: "gloss", SGMilli: 1500,
			FilmMin: 600, FilmTarget: 700, FilmMax: 900, ReclaimMaxPM: 300, Price: 777}),
		d("place.set", &kind.PlaceSet{Place: "shelf-1", Name: "Shelf 1", Kind: "shelf"}),
		d("place.set", &kind.PlaceSet{Place: "hopper-1", Name: "Hopper 1", Kind: "vessel"}),
		d("lot.received", &kind.LotReceived{Lot: "lot-1", Powder: "pw-1", Batch: "B-1", Place: "shelf-1", Mass: 20_000_001, Price: 777}),
	)
	if err != nil {
		p.t.Fatal(err)
	}
	if err := p.house.Auth.MarkSetUp(); err != nil {
		p.t.Fatal(err)
	}
}

// phone is one device with a person signed in.
type phone struct {
	*place
	http   *http.Client
	person string
	device string
	access string
	n      int64
}

// newPhone is a device that nobody signed in on.
func (p *place) newPhone(device string) *phone {
	jar, err := cookiejar.New(nil)
	if err != nil {
		p.t.Fatal(err)
	}
	tr := &http.Transport{DisableCompression: true}
	p.t.Cleanup(tr.CloseIdleConnections)
	return &phone{place: p, device: device, http: &http.Client{Jar: jar, Transport: tr, Timeout: time.Minute}} // a busy machine may take its time
}

func (p *place) signIn(person, device string) *phone {
	p.t.Helper()
	ph := p.newPhone(device)
	code, _, err := p.house.Auth.Invite(person)
	if err != nil {
		p.t.Fatal(err)
	}
	ph.enter(code)
	return ph
}

func (ph *phone) enter(code string) {
	ph.t.Helper()
	a := ph.do("POST", "/api/v1/session", map[string]any{"code": code, "device": ph.device, "device_secret": ph.secret(), "app_version": "7"})
	a.want(200)
	ph.take(a)
}

// secret is the device's own, the same for everybody who signs in on it.
func (ph *phone) secret() string { return "the secret of the phone " + ph.device }

type grant struct {
	Access    string `json:"access"`
	ExpiresIn int64  `json:"expires_in"`
	Person    struct{ ID, Name, Role string }
	ServerID  string `json:"server_id"`
	Epoch     string
}

func (ph *phone) take(a *answer) {
	ph.t.Helper()
	var g grant
	a.json(&g)
	ph.access, ph.person = g.Access, g.Person.ID
}

// answer is what came back.
type answer struct {
	t      *testing.T
	what   string
	status int
	head   http.Header
	body   []byte
}

func (a *answer) want(status int) *answer {
	a.t.Helper()
	if a.status != status {
		a.t.Fatalf("%s: status %d, want %d: %.300s", a.what, a.status, status, a.body)
	}
	return a
}

func (a *answer) json(v any) {
	a.t.Helper()
	if err := json.Unmarshal(a.body, v); err != nil {
		a.t.Fatalf("%s: %v in %.300s", a.what, err, a.body)
	}
}

// code is the code of a problem document, after a look at the rest of it.
func (a *answer) code() string {
	a.t.Helper()
	var d struct {
		Type, Title, Code string
		Status            int
	}
	a.json(&d)
	if a.head.Get("Content-Type") != "application/problem+json" || d.Status != a.status || d.Title == "" || d.Type != "urn:hoppertally:problem:"+d.Code {
		a.t.Errorf("%s: no good problem document: %d %s %s", a.what, a.status, a.head.Get("Content-Type"), a.body)
	}
	if a.head.Get("X-Hoppertally") == "" {
		a.t.Errorf("%s: the answer does not say whose it is", a.what)
	}
	return d.Code
}

func (a *answer) refused(code string) *answer {
	a.t.Helper()
	if a.status < 400 {
		a.t.Errorf("%s: status %d, want problem %s: %.200s", a.what, a.status, code, a.body)
	} else if got := a.code(); got != code {
		a.t.Errorf("%s: problem %s, want %s: %s", a.what, got, code, a.body)
	}
	return a
}

// do makes a request with the phone's access token. body may be nil, []byte, or
// anything that becomes JSON.
func (ph *phone) do(method, path string, body any, head ...string) *answer {
	ph.t.Helper()
	var r io.Reader
	switch b := body.(type) {
	case nil:
	case []byte:
		r = bytes.NewReader(b)
	default:
		j, err := json.Marshal(b)
		if err != nil {
			ph.t.Fatal(err)
		}
		r = bytes.NewReader(j)
	}
	req, err := http.NewRequest(method, ph.base+path, r)
	if err != nil {
		ph.t.Fatal(err)
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if ph.access != "" {
		req.Header.Set("Authorization", "Bearer "+ph.access)
	}
	for i := 0; i+1 < len(head); i += 2 {
		req.Header.Set(head[i], head[i+1])
	}
	res, err := ph.http.Do(req)
	if err != nil {
		ph.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		ph.t.Fatalf("%s %s: %v", method, path, err)
	}
	return &answer{ph.t, method + " " + path, res.StatusCode, res.Header, b}
}

// entry makes an entry of the phone's person, as a phone does.
func (ph *phone) entry(kind, body string) []byte { return ph.entryBy(ph.person, kind, body) }

var serial atomic.Uint64

func (ph *phone) entryBy(by, kind, body string) []byte {
	ph.n++
	now := time.Now()
	var rnd [10]byte
	s := serial.Add(1)
	for i := range 7 {
		rnd[3+i] = byte(s >> (8 * i))
	}
	return entry.Append(nil, entry.Header{ID: entry.NewID(now.UnixMilli(), rnd), Kind: kind, V: 1, By: by, Device: ph.device, N: ph.n,
		AtMS: now.UnixMilli() - 1, Clock: entry.Clock{WallMS: now.UnixMilli(), MonoMS: 1000, Segment: "s"}}, []byte(body))
}

// pushBody is a push as a phone sends it.
func pushBody(entries ...[]byte) []byte {
	b := []byte(fmt.Sprintf(`{"now":{"wall_ms":%d,"mono_ms":2000,"segment":"s"},"entries":[`, time.Now().UnixMilli()))
	b = append(b, bytes.Join(entries, []byte(","))...)
	return append(b, "]}"...)
}

type result struct {
	ID, Outcome, Stands, Reason string
	Seq                         int64
	ReceivedAt                  int64 `json:"received_at"`
	EffectiveAt                 int64 `json:"effective_at"`
	Late                        bool
}

func (ph *phone) push(entries ...[]byte) []result {
	ph.t.Helper()
	var out struct{ Results []result }
	ph.do("POST", "/api/v1/push", pushBody(entries...)).want(200).json(&out)
	if len(out.Results) != len(entries) {
		ph.t.Fatalf("%d results for %d entries", len(out.Results), len(entries))
	}
	return out.Results
}

// pull reads the whole log page by page and gives each entry's bytes by id.
func (ph *phone) pull() map[string]string {
	ph.t.Helper()
	all, after := map[string]string{}, int64(0)
	for {
		var p struct {
			Next    int64
			More    bool
			Entries []struct{ Entry json.RawMessage }
		}
		ph.do("GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d&max=100", ph.house.Epoch(), after), nil).want(200).json(&p)
		for _, e := range p.Entries {
			var id struct{ ID string }
			if err := json.Unmarshal(e.Entry, &id); err != nil {
				ph.t.Fatal(err)
			}
			all[id.ID] = string(e.Entry)
		}
		if !p.More {
			return all
		}
		after = p.Next
	}
}

const moved = `{"from":"shelf-1","to":"hopper-1","mass_mg":1000,"lot":"lot-1"}`

func idOf(raw []byte) string {
	_, rest, _ := strings.Cut(string(raw), `"id":"`)
	id, _, _ := strings.Cut(rest, `"`)
	return id
}
