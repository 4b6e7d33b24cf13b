package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hoppertally/sync/entry"
)

// The built program as whoever reaches it over HTTP finds it.

// attacked is a shop of the built program: a manager Mia and a coater Ana, added on the
// command line.
type attacked struct {
	t         *testing.T
	bin, data string
	p         *process
}

func attack(t *testing.T) *attacked {
	t.Helper()
	return &attacked{t: t, bin: build(t), data: filepath.Join(t.TempDir(), "shop")}
}

// serve starts the program; stop ends it.
func (a *attacked) serve() {
	a.t.Helper()
	a.p = launch(a.t, a.bin, "serve", "--data", a.data, "--addr", "127.0.0.1:0")
}

func (a *attacked) stop() { a.p.kill(a.t) }

// person runs a person command and gives what it says, and the code that it prints.
func (a *attacked) person(args ...string) (said, code string) {
	a.t.Helper()
	out, err := exec.Command(a.bin, append([]string{"person", "--data", a.data}, args...)...).CombinedOutput()
	if err != nil {
		a.t.Fatalf("person %v: %v\n%s", args, err, out)
	}
	if m := codeMark.FindSubmatch(out); m != nil {
		code = string(m[1])
	}
	return string(out), code
}

// caller is whoever talks to the program, as one device.
type caller struct {
	a              *attacked
	http           *http.Client
	device, secret string
	person, access string
	n              int64
}

func (a *attacked) caller(device, secret string) *caller {
	a.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		a.t.Fatal(err)
	}
	c := &caller{a: a, device: device, secret: secret, http: &http.Client{Jar: jar, Timeout: time.Minute}}
	a.t.Cleanup(c.http.CloseIdleConnections)
	return c
}

// ask makes a request and gives status and answer.
func (c *caller) ask(method, path string, body any) (int, string) {
	c.a.t.Helper()
	b, err := json.Marshal(body)
	if err != nil {
		c.a.t.Fatal(err)
	}
	req, err := http.NewRequest(method, c.a.p.base+"/api/v1/"+path, bytes.NewReader(b))
	if err != nil {
		c.a.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "made of "+c.secret)
	if c.access != "" {
		req.Header.Set("Authorization", "Bearer "+c.access)
	}
	res, err := c.http.Do(req)
	if err != nil {
		c.a.t.Fatal(err)
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		c.a.t.Fatal(err)
	}
	return res.StatusCode, string(answer)
}

// enter signs in by a code; want is the code of the refusal, "" for none.
func (c *caller) enter(code, want string) {
	c.a.t.Helper()
	form := map[string]any{"code": code, "device": c.device, "app_version": "of " + c.secret}
	if c.secret != "" {
		form["device_secret"] = c.secret
	}
	status, answer := c.ask("POST", "session", form)
	c.must(want, status, answer)
	if want == "" {
		var g struct {
			Access string
			Person struct{ ID string }
		}
		c.read(answer, &g)
		c.access, c.person = g.Access, g.Person.ID
	}
}

func (c *caller) read(answer string, into any) {
	c.a.t.Helper()
	if err := json.Unmarshal([]byte(answer), into); err != nil {
		c.a.t.Fatalf("%v in %.300s", err, answer)
	}
}

// must holds an answer against the code of a refusal, "" for none.
func (c *caller) must(want string, status int, answer string) {
	c.a.t.Helper()
	var problem struct{ Code string }
	if status >= 400 {
		c.read(answer, &problem)
	}
	if problem.Code != want {
		c.a.t.Errorf("%s on %s: %d %.300s, want %q", c.person, c.device, status, answer, want)
	}
}

// push records one entry and gives its id, and what the server made of it.
func (c *caller) push(kind, body string) (id, said string) {
	c.a.t.Helper()
	ids, said := c.pushAll(kind, body)
	return ids[0], said
}

// pushAll records entries of one kind in one push, and gives their ids and what the server
// made of them, with commas between.
func (c *caller) pushAll(kind string, bodies ...string) (ids []string, said string) {
	c.a.t.Helper()
	var raws []json.RawMessage
	for _, body := range bodies {
		id, raw := c.made(kind, body)
		ids, raws = append(ids, id), append(raws, raw)
	}
	status, answer := c.ask("POST", "push", map[string]any{"entries": raws})
	c.must("", status, answer)
	var out struct {
		Results []struct{ Outcome, Reason string }
	}
	c.read(answer, &out)
	var each []string
	for _, r := range out.Results {
		each = append(each, strings.TrimSpace(r.Outcome+" "+r.Reason))
	}
	return ids, strings.Join(each, ", ")
}

// made is an entry as a phone makes it.
func (c *caller) made(kind, body string) (id string, raw []byte) {
	c.n++
	now := time.Now().UnixMilli()
	id = entry.NewID(now, [10]byte{2: c.device[0], 3: c.device[len(c.device)-1], 8: byte(c.n >> 8), 9: byte(c.n)})
	return id, entry.Append(nil, entry.Header{ID: id, Kind: kind, V: 1, By: c.person, Device: c.device, N: c.n, AtMS: now,
		Clock: entry.Clock{WallMS: now, Segment: "s"}}, []byte(body))
}

func (c *caller) says(kind, body, want string) {
	c.a.t.Helper()
	if _, got := c.push(kind, body); got != want {
		c.a.t.Errorf("%s %s by %s: %s, want %s", kind, body, c.person, got, want)
	}
}

func setPerson(id, name, role string, gone bool) string {
	return fmt.Sprintf(`{"person":%q,"name":%q,"role":%q,"gone":%v}`, id, name, role, gone)
}

// setOf is the id of the entry that made somebody.
func (c *caller) setOf(person string) string {
	c.a.t.Helper()
	_, hello := c.ask("GET", "hello", nil)
	var h struct{ Epoch string }
	c.read(hello, &h)
	_, answer := c.ask("GET", "pull?max=500&epoch="+h.Epoch, nil)
	var page struct {
		Entries []struct {
			Entry struct {
				ID, Kind string
				Body     struct{ Person string }
			}
		}
	}
	c.read(answer, &page)
	for _, e := range page.Entries {
		if e.Entry.Kind == "person.set" && e.Entry.Body.Person == person {
			return e.Entry.ID
		}
	}
	c.a.t.Fatalf("nothing makes %s", person)
	return ""
}
