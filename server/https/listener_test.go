package https

import (
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"
)

// here is a server of the shop's own with two names.
func here(t *testing.T, most int) (l *Local, addr string) {
	t.Helper()
	var c clock
	c.pass(time.Since(began))
	var m machine
	m.set()
	l = newLocal(t, t.TempDir(), &c, &m, 0, "hopper.lan")
	return l, serveHere(t, l.TLS(), most)
}

func TestOldProtocolsAndHTTP2AreNotSpoken(t *testing.T) {
	_, addr := here(t, 0)
	for _, tt := range []struct {
		name string
		cfg  *tls.Config
		ok   bool
	}{
		{"TLS 1.3", &tls.Config{MinVersion: tls.VersionTLS13}, true},
		{"TLS 1.2", &tls.Config{MaxVersion: tls.VersionTLS12}, true},
		{"TLS 1.1", &tls.Config{MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}, false},
		{"HTTP/2 beside HTTP/1.1", &tls.Config{NextProtos: []string{"h2", "http/1.1"}}, true},
		{"HTTP/2 alone", &tls.Config{NextProtos: []string{"h2"}}, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tt.cfg.InsecureSkipVerify = true // only the protocol is asked about here
			c, err := tls.Dial("tcp", addr, tt.cfg)
			if (err == nil) != tt.ok {
				t.Fatalf("%v", err)
			}
			if err == nil {
				if p := c.ConnectionState().NegotiatedProtocol; p == "h2" {
					t.Error("HTTP/2 was chosen")
				}
				c.Close()
			}
		})
	}
}

func TestHTTPOnThePortOfHTTPSIsToldSo(t *testing.T) {
	_, addr := here(t, 0)
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: x\r\n\r\n")
	b, err := io.ReadAll(c)
	if err != nil || !strings.HasPrefix(string(b), "HTTP/1.1 400 ") || !strings.Contains(string(b), "type https://") || !strings.Contains(string(b), "escriba https://") {
		t.Errorf("%v: %q", err, b)
	}
}

// 300 handshakes that never come to an end and 300 that send a byte now and then.
func TestSlowHandshakesKeepNobodyWaiting(t *testing.T) {
	l, addr := here(t, 0)
	var open []net.Conn
	for i := range 600 {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		if open = append(open, c); i%2 == 0 {
			c.Write([]byte{22, 3, 1, 2, 0})
		}
	}
	from := time.Now()
	serial1(t, phone(t, l, "hopper.lan", time.Now), addr)
	if took := time.Since(from); took > 3*time.Second {
		t.Errorf("answered after %v", took)
	}
	for _, i := range []int{0, 1, 598, 599} {
		open[i].SetReadDeadline(time.Now().Add(handshakeMax + 5*time.Second))
		if _, err := io.Copy(io.Discard, open[i]); err != nil && strings.Contains(err.Error(), "timeout") {
			t.Errorf("a handshake that does not end is still open: %v", err)
		}
	}
	for _, c := range open {
		c.Close()
	}
}

// crowdOf makes a crowd over pipes, with connections from addresses as the test says.
func crowdOf(most int) *crowd { return newCrowd(nil, most, true) }

type fakeAddr string

func (fakeAddr) Network() string  { return "tcp" }
func (a fakeAddr) String() string { return string(a) }

// pipe is one end of a connection that says where it comes from.
type pipe struct {
	net.Conn
	from fakeAddr
}

func (p pipe) RemoteAddr() net.Addr { return p.from }

func (c *crowd) join(from string) (g *guest, isOpen func() bool) {
	mine, theirs := net.Pipe()
	g = c.add(pipe{mine, fakeAddr(from)})
	var mu sync.Mutex
	ended := false
	go func() {
		io.Copy(io.Discard, theirs)
		mu.Lock()
		defer mu.Unlock()
		ended = true
	}()
	return g, func() bool {
		c.mu.Lock()
		_, ok := c.open[g]
		c.mu.Unlock()
		for end := time.Now().Add(time.Second); !ok && time.Now().Before(end); time.Sleep(time.Millisecond) {
			mu.Lock()
			done := ended
			mu.Unlock()
			if done {
				return false
			}
		}
		return true
	}
}

func TestWhoGoesWhenTheCrowdIsFull(t *testing.T) {
	c := crowdOf(16)
	_, phoneOpen := c.join("192.168.1.50:1000")
	var idle []func() bool
	for i := range 15 {
		g, isOpen := c.join(fmt.Sprintf("192.168.1.66:%d", 2000+i))
		if i == 0 || i == 3 { // these two got an answer, the first one longest ago
			g.Write([]byte("x"))
		}
		idle = append(idle, isOpen)
	}
	if len(c.open) != 16 {
		t.Fatalf("%d open", len(c.open))
	}
	for i, want := range []int{1, 2, 4} { // of the address with the most: without an answer, the longest there
		c.join(fmt.Sprintf("192.168.1.%d:3000", 70+i))
		if idle[want]() {
			t.Errorf("newcomer %d: connection %d is still open", i, want)
		}
	}
	for range 9 {
		c.join("192.168.1.66:4000")
	}
	if len(c.open) != 16 || !phoneOpen() || !idle[0]() || !idle[3]() {
		t.Errorf("%d open; phone %v, answered ones %v %v", len(c.open), phoneOpen(), idle[0](), idle[3]())
	}
}

func TestOfAnsweredOnesTheStillestGoes(t *testing.T) {
	c := crowdOf(16)
	var guests []*guest
	var open []func() bool
	for i := range 16 {
		g, isOpen := c.join(fmt.Sprintf("[fd00::%x]:1", i+1)) // one household
		g.Write([]byte("x"))
		guests, open = append(guests, g), append(open, isOpen)
	}
	guests[0].Write([]byte("x")) // a stream that still says something
	c.join("[fd00::99]:1")
	if !open[0]() || open[1]() {
		t.Errorf("the talking one %v, the still one %v", open[0](), open[1]())
	}
}

func TestAClosedConnectionLeavesTheCrowdOnce(t *testing.T) {
	c := crowdOf(16)
	g, _ := c.join("10.0.0.1:1")
	c.join("10.0.0.1:2")
	g.Close()
	g.Close()
	if len(c.open) != 1 || c.from[g.home] != 1 {
		t.Errorf("%d open, %v", len(c.open), c.from)
	}
}

// A machine that opens more connections than are allowed only shuts its own out: an
// open one that was answered stays, and new ones get through.
func TestAFloodOfConnectionsDoesNotStopTheOthers(t *testing.T) {
	l, addr := here(t, 64)
	keep, err := tls.Dial("tcp", addr, &tls.Config{InsecureSkipVerify: true}) // certificates are not the matter here
	if err != nil {
		t.Fatal(err)
	}
	defer keep.Close()
	ask := func() error {
		keep.SetDeadline(time.Now().Add(5 * time.Second))
		fmt.Fprintf(keep, "GET / HTTP/1.1\r\nHost: hopper.lan\r\n\r\n")
		b := make([]byte, 4096)
		n, err := keep.Read(b)
		if err == nil && !strings.Contains(string(b[:n]), "200 OK") {
			err = fmt.Errorf("%q", b[:n])
		}
		return err
	}
	if err := ask(); err != nil {
		t.Fatal(err)
	}
	for range 500 {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
	}
	if err := ask(); err != nil {
		t.Errorf("the open connection: %v", err)
	}
	serial1(t, phone(t, l, "hopper.lan", time.Now), addr)
}
