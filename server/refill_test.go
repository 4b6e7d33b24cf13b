package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// A shop loses its server a day after the backup: the backup is restored under the
// same address, the phones come back one by one and send again what it lacks. The
// phones are the real replica, the server is the built program.
func TestPhonesRefillAServerThatWasRestoredFromAnOlderBackup(t *testing.T) {
	bin, tmp := build(t), t.TempDir()
	first, second, file := filepath.Join(tmp, "first"), filepath.Join(tmp, "second"), filepath.Join(tmp, "monday")
	port := freePort(t)
	p := launch(t, bin, "demo", "--port", port, "--data", first)
	ana, bea, cid := newReplica(t, "dev-ana", port), newReplica(t, "dev-bea", port), newReplica(t, "dev-cid", port)
	ana.signIn(p.codes["coater"])
	bea.signIn(p.codes["clerk"])
	cid.signIn(p.codes["manager"])
	want := map[string]bool{}
	work := func(r *replicaPhone, n int) {
		for range n {
			want[r.record()] = true
		}
	}
	work(ana, 30)
	work(bea, 20)
	work(cid, 10)
	for _, r := range []*replicaPhone{ana, bea, cid} {
		r.settle()
	}
	command(t, bin, "backup", file, "--data", first)
	for _, r := range []*replicaPhone{ana, bea, cid} {
		r.step(replica.SyncNow{})
		r.settle()
		if left := len(r.state.Own()); left != 0 {
			t.Errorf("%s keeps %d of its entries although a backup has them", r.device, left)
		}
	}
	work(ana, 25) // after the backup
	work(bea, 15)
	ana.settle()
	bea.settle()
	ana.restart() // it exchanges its refresh token: the backup knows the old one only
	work(cid, 5)  // without signal
	if ana.signIns+bea.signIns+cid.signIns != 3 {
		t.Fatal("somebody signed in twice before anything happened")
	}
	p.kill(t)

	command(t, bin, "restore", file, "--data", second)
	person := command(t, bin, "person", "--data", second, "invite", ana.person)
	p = launch(t, bin, "serve", "--addr", "127.0.0.1:"+port, "--data", second)
	ana.code = codeMark.FindStringSubmatch(person)[1]
	ana.restart()
	bea.step(replica.SyncNow{})
	cid.restart()
	for range 2 { // once to send, once to hear of what the others sent
		for _, r := range []*replicaPhone{ana, bea, cid} {
			r.step(replica.SyncNow{})
			r.settle()
		}
	}
	for _, r := range []*replicaPhone{ana, bea, cid} {
		if r.signIns > 2 {
			t.Errorf("%s was asked %d times to sign in", r.device, r.signIns-1)
		}
		if !slices.Contains(r.told, "new_epoch") {
			t.Errorf("%s did not notice the restore: %v", r.device, r.told)
		}
		r.holdsOnce(want)
	}
	counted := map[string]int{}
	for _, l := range pullAll(t, p.base, &phone{http: bea.http, access: bea.access, epoch: bea.cursor.Epoch}) {
		counted[idOf(t, l.Entry)]++
	}
	for id := range want {
		if counted[id] != 1 {
			t.Errorf("entry %s stands %d times in the restored log", id, counted[id])
		}
	}
	p.kill(t)
	verify(t, bin, second)
	t.Logf("%d entries of three phones, each once in the restored log; asked to sign in again: %d, %d, %d times", len(want), ana.signIns-1, bea.signIns-1, cid.signIns-1)
}

func freePort(t *testing.T) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	return strconv.Itoa(ln.Addr().(*net.TCPAddr).Port)
}

// replicaPhone carries out what a replica asks for, one thing after the other, on
// a store in memory. Time passes only from timer to timer.
type replicaPhone struct {
	t              *testing.T
	http           *http.Client
	base           string
	device, person string
	code           string // to sign in with when the session is over
	access, server string
	shown          string // the proof that goes with the next request
	signIns        int
	told           []string

	state  *replica.State
	inbox  []replica.Input
	timer  int64
	monoMS int64

	own     map[int64]replica.Own
	cursor  replica.Cursor
	proof   replica.Proof
	counter int64
	log     map[int64]string // id by seq, of the present epoch
	head    int64            // of the server's log, as far as it was told
}

func newReplica(t *testing.T, device, port string) *replicaPhone {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	r := &replicaPhone{t: t, device: device, base: "http://127.0.0.1:" + port, http: &http.Client{Jar: jar, Timeout: 10 * time.Second},
		own: map[int64]replica.Own{}, log: map[int64]string{}, monoMS: 1}
	t.Cleanup(r.http.CloseIdleConnections)
	r.open(false)
	return r
}

// open starts the replica on what the store holds.
func (r *replicaPhone) open(signedIn bool) {
	r.state = &replica.State{}
	r.step(replica.Started{Cursor: r.cursor, Proof: r.proof, Counter: r.counter, Server: r.server, SignedIn: signedIn, Own: r.rows()})
	r.step(replica.Leads{Yes: true})
	r.step(replica.Visible{Yes: true})
}

// restart is the app closed and opened: of the session the cookie remains.
func (r *replicaPhone) restart() {
	r.access = ""
	r.open(true)
	r.settle()
}

func (r *replicaPhone) rows() (rows []replica.Own) {
	for _, o := range r.own {
		rows = append(rows, o)
	}
	slices.SortFunc(rows, func(a, b replica.Own) int { return int(a.N - b.N) })
	return rows
}

func (r *replicaPhone) signIn(code string) {
	r.t.Helper()
	var g struct {
		Access   string
		ServerID string `json:"server_id"`
		Person   struct{ ID string }
	}
	if why := r.call("POST", "/api/v1/session", map[string]string{"code": code, "device": r.device}, &g); why != "" {
		r.t.Fatalf("%s cannot sign in: %s", r.device, why)
	}
	r.access, r.server, r.person = g.Access, g.ServerID, g.Person.ID
	r.signIns++
	r.step(replica.SignedIn{Server: g.ServerID})
	r.settle()
}

func (r *replicaPhone) record() (id string) {
	r.counter++
	ms := time.Now().UnixMilli()
	id = entry.NewID(ms, [10]byte{4: r.device[len(r.device)-1], 8: byte(r.counter >> 8), 9: byte(r.counter)})
	raw := entry.Append(nil, entry.Header{ID: id, Kind: "powder.moved", V: 1, By: r.person, Device: r.device, N: r.counter, AtMS: ms,
		Clock: entry.Clock{WallMS: ms, MonoMS: r.monoMS, Segment: "s"}}, []byte(`{"from":"rack-a","to":"drum","mass_mg":1,"lot":"lot-k107"}`))
	o := replica.Own{N: r.counter, ID: id, By: r.person, Bytes: raw, RecordedMS: ms}
	r.own[o.N] = o
	r.step(replica.Recorded{Own: []replica.Own{o}})
	return id
}

// step gives the replica an input and carries out what it asks for, except going
// to the server: that waits for settle.
func (r *replicaPhone) step(in replica.Input) {
	r.monoMS++
	for _, e := range r.state.Step(replica.Moment{MonoMS: r.monoMS, WallMS: time.Now().UnixMilli(), Segment: "s", Seed: 1}, in) {
		r.do(e)
	}
}

// settle goes on until nothing is left to send and to fetch.
func (r *replicaPhone) settle() {
	r.t.Helper()
	for range 500 {
		for len(r.inbox) > 0 {
			in := r.inbox[0]
			r.inbox = r.inbox[1:]
			r.step(in)
		}
		st := r.state.Status()
		if st.SessionEnded && r.code != "" {
			code := r.code
			r.code = ""
			r.signIn(code)
			continue
		}
		if st.Unsent == 0 && st.Online == replica.Yes && r.cursor.After >= r.head && r.cursor.Epoch != "" {
			return
		}
		r.monoMS += r.timer
		r.step(replica.Timer{})
	}
	r.t.Fatalf("%s does not come to rest: %+v, cursor %+v, told %v", r.device, r.state.Status(), r.cursor, r.told)
}

func (r *replicaPhone) hear(in replica.Input) { r.inbox = append(r.inbox, in) }

func (r *replicaPhone) do(e replica.Effect) {
	switch e := e.(type) {
	case replica.SetTimer:
		r.timer = e.AfterMS
	case replica.Hello:
		r.request(e.Op, "GET", "/api/v1/hello", e.Proof, nil, func(b []byte) (replica.Input, error) {
			h, err := wire.ReadHello(b)
			r.head = h.Head
			return replica.HelloAnswered{Op: e.Op, Hello: h}, err
		})
	case replica.Refresh:
		var g struct{ Access string }
		switch why := r.call("POST", "/api/v1/session/refresh", map[string]string{"person": r.person}, &g); {
		case why == "":
			r.access = g.Access
			r.hear(replica.Refreshed{Op: e.Op})
		case strings.Contains(why, "auth.ended"):
			r.hear(replica.Failed{Op: e.Op, Why: replica.SessionEnded})
		default:
			r.hear(replica.Failed{Op: e.Op, Why: replica.NoServer})
		}
	case replica.Push:
		r.request(e.Op, "POST", "/api/v1/push", e.Proof, json.RawMessage(e.Body), func(b []byte) (replica.Input, error) {
			a, err := wire.ReadPushed(b)
			r.head = max(r.head, a.Head)
			return replica.PushAnswered{Op: e.Op, Pushed: a}, err
		})
	case replica.Pull:
		r.request(e.Op, "GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d&max=%d", e.Cursor.Epoch, e.Cursor.After, e.Max), e.Proof, nil, func(b []byte) (replica.Input, error) {
			page, err := wire.ReadPage(b)
			r.head = page.Head
			return replica.PullAnswered{Op: e.Op, Page: page}, err
		})
	case replica.FetchBase:
		r.hear(replica.Failed{Op: e.Op, Why: replica.NoSnapshot}) // this phone reads the whole log
	case replica.StorePulled:
		r.cursor = e.To
		for _, it := range e.Page.Items {
			r.log[it.Seq] = it.ID
		}
		r.keep(e.Own, e.Proof)
		r.hear(replica.Stored{Op: e.Op})
	case replica.MarkOutcome:
		r.keep(e.Own, e.Proof)
		r.hear(replica.Stored{Op: e.Op})
	case replica.Forget:
		for _, n := range e.N {
			delete(r.own, n)
		}
		r.hear(replica.Stored{Op: e.Op})
	case replica.Reset:
		r.cursor, r.log, r.proof = replica.Cursor{Epoch: e.Epoch}, map[int64]string{}, replica.Proof{}
		r.keep(e.Own, r.proof)
		r.hear(replica.Stored{Op: e.Op})
	case replica.ReadStore:
		r.hear(replica.Reread{Cursor: r.cursor, Proof: r.proof, Counter: r.counter, Own: r.rows()})
	case replica.RaiseCounter:
		r.counter = max(r.counter, e.N)
	case replica.Notify:
		r.told = append(r.told, e.Code)
	case replica.OpenLive, replica.CloseLive, replica.Changed:
	default:
		r.t.Fatalf("an effect that this phone does not know: %T", e)
	}
}

func (r *replicaPhone) keep(rows []replica.Own, proof replica.Proof) {
	for _, o := range rows {
		o.Bytes = r.own[o.N].Bytes
		r.own[o.N] = o
	}
	if proof.Beyond(r.proof, r.cursor) {
		r.proof = proof
	}
}

// request asks the server and lets the replica hear the answer.
func (r *replicaPhone) request(op int64, method, path, proof string, body any, read func([]byte) (replica.Input, error)) {
	var raw json.RawMessage
	r.shown = proof
	why := r.call(method, path, body, &raw)
	r.shown = ""
	var in replica.Input
	var err error
	if why == "" {
		in, err = read(raw)
	}
	switch {
	case strings.Contains(why, `"status":401`):
		r.hear(replica.Failed{Op: op, Why: replica.TokenOld})
	case strings.Contains(why, `"status":409`):
		r.hear(replica.Failed{Op: op, Why: replica.EpochGone})
	case why != "" || err != nil:
		r.t.Logf("%s: %s %s: %s %v", r.device, method, path, why, err)
		r.hear(replica.Failed{Op: op, Why: replica.NoServer})
	default:
		r.hear(in)
	}
}

// call makes a request; why is empty when it was answered.
func (r *replicaPhone) call(method, path string, body, into any) (why string) {
	b, err := json.Marshal(body)
	if err != nil {
		r.t.Fatal(err)
	}
	req, err := http.NewRequest(method, r.base+path, bytes.NewReader(b))
	if err != nil {
		r.t.Fatal(err)
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if r.access != "" {
		req.Header.Set("Authorization", "Bearer "+r.access)
	}
	if r.shown != "" {
		req.Header.Set("X-Hoppertally-Proof", r.shown)
	}
	res, err := r.http.Do(req)
	if err != nil {
		return err.Error()
	}
	answer, err := io.ReadAll(res.Body)
	if err = errors.Join(err, res.Body.Close()); err != nil {
		return err.Error()
	}
	if res.StatusCode != http.StatusOK {
		return string(answer)
	}
	if err := json.Unmarshal(answer, into); err != nil {
		return err.Error()
	}
	return ""
}

// holdsOnce checks that the phone's copy of the log has every entry, once.
func (r *replicaPhone) holdsOnce(want map[string]bool) {
	r.t.Helper()
	counted := map[string]int{}
	for _, id := range r.log {
		counted[id]++
	}
	for id := range want {
		if counted[id] != 1 {
			r.t.Errorf("%s holds entry %s %d times", r.device, id, counted[id])
		}
	}
}
