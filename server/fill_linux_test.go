package main

import (
	"flag"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// Somebody fills the disk to the last byte within two seconds, while phones push as
// fast as they can, and for two seconds more takes whatever becomes free.

var fills = flag.Int("fills", 2, "how many times to fill the disk within seconds")

func TestTheDiskIsFilledWithinSecondsUnderLoad(t *testing.T) {
	onASmallDisk(t, func(t *testing.T, disk string) {
		bin := build(t)
		acked := 0
		for i := range *fills {
			acked += fillFast(t, bin, disk, i)
		}
		t.Logf("%d times filled to the last byte under load, %d entries acknowledged, none missing; the program never broke", *fills, acked)
	})
}

// fillFast gives the number of acknowledged entries. Every other time the disk is
// first filled up to just above the bound at which entries are refused, so that the
// last of them are still on their way into tables when the rest goes. And in turns
// with that, the program is ended while there is no room.
func fillFast(t *testing.T, bin, disk string, round int) (acked int) {
	data, filler := filepath.Join(disk, "shop"), filepath.Join(disk, "film.mov")
	defer os.RemoveAll(data)
	p := launch(t, bin, "demo", "--port", "0", "--data", data)
	var phones []*phone
	for i, role := range []string{"clerk", "coater", "manager"} {
		phones = append(phones, signIn(t, p, role, fmt.Sprintf("fill-%d", i)))
	}
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for _, ph := range phones {
		wg.Go(func() { pushUntil(t, ph, p.base, stop) })
	}
	time.Sleep(time.Second)
	if round%2 == 0 {
		leave(t, filler, disk, 258<<20)
		time.Sleep(300 * time.Millisecond)
	}
	began := time.Now()
	leave(t, filler, disk, 0)
	took := time.Since(began)
	for time.Since(began) < took+2*time.Second {
		time.Sleep(5 * time.Millisecond)
		leave(t, filler, disk, 0)
	}
	ready(t, p.base, http.StatusServiceUnavailable)
	pullAll(t, p.base, phones[0]) // reading goes on
	isEnded := round%4 > 1
	if isEnded {
		close(stop)
		wg.Wait()
		p.end(t)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	if isEnded {
		p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", data)
	} else {
		waitReady(t, p.base)
		close(stop)
		wg.Wait()
	}
	for _, ph := range phones {
		if err := ph.flush(p.base); err != nil {
			t.Fatal(err)
		}
		acked += len(ph.acked)
	}
	log := pullAll(t, p.base, phones[0])
	p.end(t)
	checkLog(t, log, phones)
	verify(t, bin, data)
	t.Logf("filled in %v; %d entries acknowledged", took.Round(time.Millisecond), acked)
	return acked
}

// pushUntil pushes as fast as the server takes it, and again after a refusal.
func pushUntil(t *testing.T, ph *phone, base string, stop chan struct{}) {
	for {
		select {
		case <-stop:
			return
		default:
		}
		if len(ph.outbox) == 0 {
			ph.make(50)
		}
		if err := ph.flush(base); err != nil {
			if !strings.Contains(err.Error(), `"code":"server.full"`) {
				t.Errorf("push: %v", err)
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
}

func waitReady(t *testing.T, base string) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		res, err := http.Get(base + "/readyz")
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode == http.StatusOK {
			return
		}
		if time.Now().After(end) {
			t.Fatal("there is room again, and the server does not take entries")
		}
	}
}
