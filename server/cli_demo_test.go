package main

import (
	"context"
	"strings"
	"testing"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/server/books"
	"hoppertally/server/house"
)

func TestTheDemoPrintsALinkPerRole(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out := make(lineWriter, 16)
	ended := make(chan int, 1)
	var fault strings.Builder
	go func() { ended <- run(ctx, []string{"demo", "--port", "0"}, strings.NewReader(""), out, &fault) }()
	for _, want := range []string{"hoppertally ", "Open one of these", "  coater   Davi Orrel", "  clerk    Noor Pelling", "  manager  Rosa Ilmary"} {
		select {
		case got := <-out:
			if !strings.HasPrefix(got, want) {
				t.Errorf("line %q, want %q", got, want)
			}
		case <-time.After(20 * time.Second):
			t.Fatalf("no line %q", want)
		}
	}
	stop()
	if code := <-ended; code != exitOK || fault.Len() > 0 {
		t.Errorf("exit %d, %s", code, fault.String())
	}
}

// lineWriter hands on what is written, line by line.
type lineWriter chan string

func (w lineWriter) Write(b []byte) (int, error) {
	for line := range strings.Lines(string(b)) {
		w <- line
	}
	return len(b), nil
}

func TestHalfADemoIsNotShown(t *testing.T) {
	dir := t.TempDir()
	h, err := house.Open(dir, house.Options{})
	if err != nil {
		t.Fatal(err)
	}
	err = h.Desk.Record(context.Background(), "p-1", books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: "p-1", Name: "Mia", Role: "manager"}})
	if err != nil {
		t.Fatal(err)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	a := hoppertally(t, "", "demo", "--port", "0", "--data", dir)
	if a.code != exitFailed || !strings.Contains(a.err, "take another folder") {
		t.Errorf("exit %d, out %s, err %s", a.code, a.out, a.err)
	}
}

// The demo's links sign anybody in, again and again: never on somebody's own shop.
func TestTheDemoKeepsOffARealShop(t *testing.T) {
	dir := t.TempDir()
	h, err := house.Open(dir, house.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, role := range kind.Roles {
		err = h.Desk.Record(context.Background(), "p-1", books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: "p-" + role, Name: role, Role: role}})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := h.Auth.MarkSetUp(); err != nil {
		t.Fatal(err)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	a := hoppertally(t, "", "demo", "--port", "0", "--data", dir)
	if a.code != exitFailed || strings.Contains(a.out, "#in=") || !strings.Contains(a.err, "not the demo") {
		t.Errorf("exit %d, out %s, err %s", a.code, a.out, a.err)
	}
}
