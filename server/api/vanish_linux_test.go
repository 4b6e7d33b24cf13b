package api_test

import (
	"bufio"
	"fmt"
	"net"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/server/api"

	"golang.org/x/sys/unix"
)

// Phones that walk out of reach send no word of it, and acknowledge nothing: here
// a filter on each socket drops whatever comes in from then on.
func TestTwoHundredPhonesThatVanishWithoutAWordAreForgottenWithinTwoBeats(t *testing.T) {
	const phones = 200
	beat := 2 * time.Second
	p := start(t, options{beat: beat})
	var tokens []string
	for i := range phones / api.OwnMax {
		tokens = append(tokens, p.hire(fmt.Sprint("p-", i)).access)
	}
	time.Sleep(50 * time.Millisecond)
	before := runtime.NumGoroutine()
	var wg sync.WaitGroup
	conns := make([]*net.TCPConn, phones)
	for i := range conns {
		wg.Go(func() { conns[i] = listenLive(t, p.base, tokens[i/api.OwnMax]) })
	}
	wg.Wait()
	if got := streams(); got != phones {
		t.Fatalf("%d streams are open, want %d", got, phones)
	}
	for _, c := range conns {
		vanish(t, c)
	}
	gone := time.Now()
	for streams() > 0 {
		if time.Since(gone) > 2*beat+beat/2 {
			t.Fatalf("%v after they vanished %d streams still run", time.Since(gone), streams())
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Logf("no stream is left after %.2f beats", time.Since(gone).Seconds()/beat.Seconds())
	// The HTTP library keeps idle workers for a while, whatever our beat.
	for runtime.NumGoroutine() > before {
		if time.Since(gone) > 2*20*time.Second {
			t.Fatalf("%v after they vanished there are %d goroutines, %d before they came", time.Since(gone), runtime.NumGoroutine(), before)
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Logf("as many goroutines as before they came after %v, a beat of the program being 20 s", time.Since(gone).Round(time.Second))
	for _, c := range conns {
		c.Close()
	}
}

// listenLive opens a stream of news and reads its first word.
func listenLive(t *testing.T, base, token string) *net.TCPConn {
	conn, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Error(err)
		return nil
	}
	fmt.Fprintf(conn, "GET /api/v1/live HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n\r\n", token)
	r := bufio.NewReader(conn)
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			t.Error(err)
			return nil
		}
		if strings.HasPrefix(line, "data: ") {
			return conn.(*net.TCPConn)
		}
	}
}

func vanish(t *testing.T, c *net.TCPConn) {
	t.Helper()
	raw, err := c.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	err = raw.Control(func(fd uintptr) {
		const returnNothing = 0x06 // BPF_RET | BPF_K: keep 0 bytes of every packet
		filter := unix.SockFprog{Len: 1, Filter: &unix.SockFilter{Code: returnNothing}}
		if err := unix.SetsockoptSockFprog(int(fd), unix.SOL_SOCKET, unix.SO_ATTACH_FILTER, &filter); err != nil {
			t.Errorf("attach the filter: %v", err)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
}
