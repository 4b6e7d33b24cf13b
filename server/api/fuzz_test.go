package api

import (
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"path"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
	"hoppertally/server/auth"
	"hoppertally/server/house"
	"hoppertally/sync/entry"
	"hoppertally/sync/wire"
)

// Every decoder of bytes from the network. None may panic, take more than its limit,
// or let through what it is there to stop.

func FuzzPush(f *testing.F) {
	f.Add([]byte(`{"now":{"wall_ms":1,"mono_ms":2,"segment":"s"},"entries":[{"id":"x"},7]}`))
	f.Add([]byte(`{"entries":[],"entries":[]}`))
	f.Add([]byte(` { "entries" : [ "]" ] } `))
	f.Fuzz(func(t *testing.T, b []byte) {
		now, entries, err := wire.ReadPush(bytes.Clone(b), EntriesMax)
		if err != nil {
			problemOf(err)
			return
		}
		if len(entries) > EntriesMax || now.MonoMS < 0 {
			t.Fatalf("%d entries, clock %+v", len(entries), now)
		}
		var p entry.Parser
		for _, e := range entries {
			if !bytes.Contains(b, e) {
				t.Fatalf("%q is not among %q", e, b)
			}
			p.Parse(e)
		}
	})
}

func FuzzUnpack(f *testing.F) {
	f.Add([]byte("\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff\xabV*\xc9\xcf*\x05\x00\x00\x00\xff\xff"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if out, err := unpack(b); err == nil && len(out) > BodyMax {
			t.Fatalf("%d bytes", len(out))
		}
	})
}

func FuzzForms(f *testing.F) {
	for _, s := range []string{`{"code":"A","device":"d"}`, `{"name":"A","passphrase":"b","device":"d"}`, `{"old":"a","new":"b","sign_out_others":true}`, `{"person":"p"}`, `{"wall_ms":-1,"mono_ms":1,"segment":"s"}`,
		`{"code":"x","name":"E","passphrase":"long enough","device":"d","shop":{"name":"S","zone":"../../etc/passwd","units":"metric","currency":"EUR","lang":"en"}}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, into := range []form.Fields{&signInForm{}, &setUpForm{}, &refreshForm{}, &passForm{}, &nameForm{}} {
			if err := form.Decode(b, into); err == nil {
				if err := form.Decode(form.Encode(into), into); err != nil {
					t.Fatalf("%T of %q does not come back: %v", into, b, err)
				}
			}
		}
	})
}

func FuzzHeaders(f *testing.F) {
	for _, s := range []string{"unsent=3, app=1.4, wall=1790000000000, segment=4f", `W/"x", *`, "br;q=0, gzip;q=0.5", "/a/../%2e%2e%2f", "/caf%C3%A9", "iPhone Mobile", "Android"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if c := contactOf(s); c.Unsent < -1 || c.WallMS < 0 || len(c.AppVersion) > 64 || len(c.Segment) > form.IDMax || !printable(c.AppVersion+c.Segment) {
			t.Fatalf("%q is %+v", s, c)
		}
		if straight(s) && (strings.Contains(s, "\\") || strings.Contains(s, "..") && path.Clean(s) != s) {
			t.Fatalf("%q counts as straight", s)
		}
		matchesTag(s, `"x"`)
		accepts(s, "br")
		kindOf(s)
		if c := words(s).guarded(); len(c) > 3*len(s)+1 {
			t.Fatalf("%q grew to %q", s, c)
		}
	})
}

func FuzzQuery(f *testing.F) {
	for _, kv := range [][2]string{{"max", "5"}, {"units", "us"}, {"now_ms", "-1"}, {"lang", "es"}, {"place", "x"}, {"offset_min", "99999999999"}} {
		f.Add(kv[0], kv[1])
	}
	fold := shop.NewFold()
	f.Fuzz(func(t *testing.T, key, text string) {
		r, params := view.Reader{Role: "coater", NowMS: 1}, map[string]any{}
		if set(&r, params, key, text) != nil {
			return
		}
		b := encodeParams(t, params)
		for _, name := range view.Names() {
			if _, err := view.JSON(fold, r, name, b); err != nil {
				problemOf(err)
			}
		}
	})
}

// FuzzRequest gives the whole server bytes as they come off a line.
func FuzzRequest(f *testing.F) {
	h, err := house.Open(f.TempDir(), house.Options{Cost: auth.Cost{Time: 1, Memory: 64, Threads: 1}, MinFree: 1 << 20})
	if err != nil {
		f.Fatal(err)
	}
	defer h.Close()
	s, err := New(Config{Log: h, Books: h.Books, Auth: h.Auth, Desk: h.Desk, Origins: h.Origins, Shell: fstest.MapFS{"index.html": {Data: []byte("page")}}, Slog: slog.New(slog.DiscardHandler), Version: "7"})
	if err != nil {
		f.Fatal(err)
	}
	for _, r := range s.routes() {
		f.Add([]byte(r.method + " " + r.path + " HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer a.b.c\r\nContent-Type: application/json\r\nContent-Length: 2\r\nCookie: hoppertally_refresh_0=a.b\r\n\r\n{}"))
	}
	f.Add([]byte("POST /api/v1/session HTTP/1.1\r\nHost: localhost\r\nOrigin: null\r\nContent-Encoding: gzip\r\nTransfer-Encoding: chunked\r\nContent-Type: application/json\r\n\r\n1\r\nx\r\n0\r\n\r\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if bytes.Contains(b, []byte("/live")) {
			return // it never ends
		}
		conn := &lineConn{in: bytes.NewReader(b)}
		s.app.Server().ServeConn(conn)
		if out := conn.out.String(); strings.Contains(out, "server.internal") || strings.HasPrefix(out, "HTTP/1.1 5") && !strings.Contains(out, "server.busy") && !strings.Contains(out, "501") {
			t.Fatalf("%q\n%s", b, out)
		}
	})
}

// lineConn is a line that gives its bytes and hangs up.
type lineConn struct {
	in  io.Reader
	out bytes.Buffer
}

func (c *lineConn) Read(p []byte) (int, error)       { return c.in.Read(p) }
func (c *lineConn) Write(p []byte) (int, error)      { return c.out.Write(p) }
func (c *lineConn) Close() error                     { return nil }
func (c *lineConn) LocalAddr() net.Addr              { return &net.TCPAddr{} }
func (c *lineConn) RemoteAddr() net.Addr             { return &net.TCPAddr{} }
func (c *lineConn) SetDeadline(time.Time) error      { return nil }
func (c *lineConn) SetReadDeadline(time.Time) error  { return nil }
func (c *lineConn) SetWriteDeadline(time.Time) error { return nil }

func encodeParams(t *testing.T, params map[string]any) []byte {
	t.Helper()
	b, err := json.Marshal(params)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
