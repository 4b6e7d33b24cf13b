package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"hoppertally/pwa/core/phone"
)

const coreRounds = 9

// core has the phone's core read and fold the busy shop's pages natively, on one
// processor at a time, as e2e/bench-core.mjs has it do in a browser, and prints the
// medians in ms: decoding, folding.
func core(size, n int64) error {
	var b bytes.Buffer
	if err := writePages(&b, size, n); err != nil {
		return err
	}
	pages := bytes.Split(bytes.TrimSpace(b.Bytes()), []byte("\n"))
	debug.SetGCPercent(300) // as the core
	runtime.GOMAXPROCS(1)
	var decode, fold []time.Duration
	for range coreRounds {
		d, f, err := readPages(pages)
		if err != nil {
			return err
		}
		decode, fold = append(decode, d), append(fold, f)
	}
	slices.Sort(decode)
	slices.Sort(fold)
	_, err := fmt.Printf("%.1f %.1f\n", ms(decode[coreRounds/2]), ms(fold[coreRounds/2]))
	return err
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// readPages does what the phone does after its store was read.
func readPages(pages [][]byte) (decode, fold time.Duration, err error) {
	r := rand.New(rand.NewPCG(1, 1))
	p := phone.New(func(to []byte) {
		for i := range to {
			to[i] = byte(r.Uint32())
		}
	})
	call := func(op, args string, blobs ...[]byte) {
		in := `{"now":{"wall_ms":1900000000000,"mono_ms":1,"segment":"s","offset_min":0,"seed":1},` + args + `}`
		if _, failed := p.Call(op, []byte(in), blobs); failed != nil && err == nil {
			err = fmt.Errorf("%s: %w", op, failed)
		}
	}
	call("open", `"open":{"device":"d","person":{"id":"mia","name":"Mia","role":"manager"},"units":"","lang":"en","cursor":{"epoch":"e1","after":0},"counter":0,"server":"s","signed_in":true,"skew_ms":0},"has_snapshot":false,"rows":[]`)
	own := make([][]byte, len(pages)) // a page is the phone's to keep
	for i := range pages {
		own[i] = bytes.Clone(pages[i])
	}
	began := time.Now()
	for _, page := range own {
		call("load", `"epoch":"e1"`, page)
	}
	decode = time.Since(began)
	began = time.Now()
	call("loaded", `"epoch":"e1"`)
	call("view", `"name":"lists","params":{}`)
	return decode, time.Since(began), err
}
