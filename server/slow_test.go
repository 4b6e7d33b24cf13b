package main

import (
	"io"
	"net"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Slow and silent clients on the program as it is built: they wait, the others do not.

// dial opens a connection to the program.
func (p *process) dial(t *testing.T) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(p.base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

func TestSlowAndIdleClientsDoNotStopTheOthers(t *testing.T) {
	const idle, slow = 2000, 300
	p := launch(t, build(t), "demo", "--port", "0", "--data", filepath.Join(t.TempDir(), "shop"))
	ph := signIn(t, p, "coater", "busy")
	before := ph.longest(t, p, 20)
	for range idle {
		p.dial(t) // says nothing
	}
	var drip []net.Conn
	for i := range slow { // slowloris: a request that never ends, a byte at a time
		c := p.dial(t)
		head := "GET /api/v1/hello HTTP/1.1\r\nHost: localhost\r\n"
		if i%2 == 0 {
			head = "POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 500000\r\n\r\n{"
		}
		io.WriteString(c, head)
		drip = append(drip, c)
	}
	began := time.Now()
	closed := func() (n int) { // those that the server hung up on
		for _, c := range drip {
			c.SetReadDeadline(time.Now().Add(time.Millisecond))
			if _, err := c.Read(make([]byte, 512)); err == nil || !isTimeout(err) {
				n++
			}
		}
		return n
	}
	worst := time.Duration(0)
	for time.Since(began) < 3*time.Second {
		for _, c := range drip {
			c.SetWriteDeadline(time.Now().Add(time.Second))
			io.WriteString(c, "X")
		}
		worst = max(worst, ph.longest(t, p, 10))
	}
	t.Logf("the slowest of 20 pushes before: %v; of all beside %d idle and %d slow connections: %v", before, idle, slow, worst)
	if worst > 2*time.Second {
		t.Errorf("a push took %v beside slow clients", worst)
	}
	for closed() < slow {
		if time.Since(began) > 75*time.Second {
			t.Fatalf("%d of %d slow requests still hold their connection after %v", slow-closed(), slow, time.Since(began))
		}
		for _, c := range drip {
			c.SetWriteDeadline(time.Now().Add(time.Second))
			io.WriteString(c, "X")
		}
		time.Sleep(500 * time.Millisecond)
	}
	t.Logf("every slow request was cut off within %v", time.Since(began).Round(time.Second))
	ph.longest(t, p, 5)
}

func isTimeout(err error) bool {
	e, ok := err.(net.Error)
	return ok && e.Timeout()
}

// longest hands entries in one by one, with a breath between two so that the limit of
// requests is not met, and gives the longest wait.
func (ph *phone) longest(t *testing.T, p *process, times int) (worst time.Duration) {
	t.Helper()
	for range times {
		began := time.Now()
		ph.make(1)
		if err := ph.flush(p.base); err != nil {
			t.Fatal(err)
		}
		worst = max(worst, time.Since(began))
		time.Sleep(20 * time.Millisecond)
	}
	return worst
}
