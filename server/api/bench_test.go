package api_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/server/api"
	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/house"
	"hoppertally/sync/entry"
)

// BenchmarkSinglesOverHTTP: 64 connections, each pushes one entry and waits for
// the answer, through everything: HTTP, token, judge, commit, fold. Clients and
// server share the processors.
func BenchmarkSinglesOverHTTP(b *testing.B) {
	log := slog.New(slog.DiscardHandler)
	h, err := house.Open(b.TempDir(), house.Options{Slog: log, Cost: cheap, MinFree: 1 << 20})
	if err != nil {
		b.Fatal(err)
	}
	defer h.Close()
	for i := range 4 { // a person has at most 20 sessions
		d := books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: fmt.Sprintf("p-%d", i), Name: fmt.Sprintf("Mia %d", i), Role: "manager"}}
		if err := h.Desk.Record(context.Background(), "p-0", d); err != nil {
			b.Fatal(err)
		}
	}
	srv, err := api.New(api.Config{Log: h, Books: h.Books, Auth: h.Auth, Desk: h.Desk, Shell: fstest.MapFS{}, Slog: log, Version: "7"})
	if err != nil {
		b.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(ctx, ln) }()
	defer func() { cancel(); <-ended }()

	const connections = 64
	var left atomic.Int64
	left.Store(int64(b.N))
	var wg sync.WaitGroup
	ready := make(chan struct{})
	for i := range connections {
		device := fmt.Sprintf("dev-%d", i)
		person := fmt.Sprintf("p-%d", i%4)
		code, _, err := h.Auth.Invite(person)
		if err != nil {
			b.Fatal(err)
		}
		g, err := h.Auth.SignInByCode(code, auth.Device{ID: device, AppVersion: "7"})
		if err != nil {
			b.Fatal(err)
		}
		wg.Go(func() {
			conn, err := net.Dial("tcp", ln.Addr().String())
			if err != nil {
				b.Error(err)
				return
			}
			defer conn.Close()
			in := bufio.NewReader(conn)
			<-ready
			for n := int64(1); left.Add(-1) >= 0; n++ {
				if err := pushOne(conn, in, g.Access, person, device, n); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	before := h.Head()
	b.ResetTimer()
	close(ready)
	wg.Wait()
	b.StopTimer()
	b.ReportMetric(float64(h.Head()-before)/b.Elapsed().Seconds(), "entries/s")
}

func pushOne(conn net.Conn, in *bufio.Reader, token, person, device string, n int64) error {
	ms := time.Now().UnixMilli()
	rnd := [10]byte{4: device[len(device)-1], 5: device[len(device)-2], 6: byte(n >> 24), 7: byte(n >> 16), 8: byte(n >> 8), 9: byte(n)}
	raw := entry.Append(nil, entry.Header{ID: entry.NewID(ms, rnd), Kind: "place.set", V: 1, By: person, Device: device, N: n, AtMS: ms,
		Clock: entry.Clock{WallMS: ms, MonoMS: n, Segment: "s"}}, []byte(`{"place":"shelf-1","name":"Shelf 1","kind":"shelf"}`))
	body := fmt.Appendf(nil, `{"now":{"wall_ms":%d,"mono_ms":%d,"segment":"s"},"entries":[%s]}`, ms, n, raw)
	req := fmt.Appendf(nil, "POST /api/v1/push HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n", token, len(body))
	if _, err := conn.Write(append(req, body...)); err != nil {
		return err
	}
	res, err := http.ReadResponse(in, nil)
	if err != nil {
		return err
	}
	answer, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != 200 || !bytes.Contains(answer, []byte(`"accepted"`)) {
		return fmt.Errorf("%d %s, %v", res.StatusCode, answer, err)
	}
	return nil
}
