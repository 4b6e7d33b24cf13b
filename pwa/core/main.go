//go:build js && wasm

// Command core is the phone's core: it puts [phone.Phone] behind one JavaScript
// function,
//
//	hoppertallyCore(op, json, ...Uint8Array) → {json, blobs} | {problem} | {panic}
//
// which runs to its end before it returns. After {panic} the books in memory may
// be half-changed: the worker throws this instance away and opens a new one from
// the store, which has everything.
package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"syscall/js"

	"hoppertally/pwa/core/phone"
)

var bytesOf = js.Global().Get("Uint8Array")

// Reading the books makes much garbage beside little that stays, and a collection
// costs more here than natively: it may wait until there is four times as much, but
// not beyond memoryMax.
const (
	gcPercent = 300
	memoryMax = 192 << 20 // bytes
)

func main() {
	debug.SetGCPercent(gcPercent)
	debug.SetMemoryLimit(memoryMax)
	reserve()
	ballast = make([]byte, reserveSize*100/(100+gcPercent))
	p := phone.New(random)
	js.Global().Set("hoppertallyCore", js.FuncOf(func(_ js.Value, in []js.Value) any { return call(p, in) }))
	select {}
}

// reserveSize is enough for the books of most shops.
const reserveSize = 64 << 20 // bytes

// reserve takes addresses, not memory, for the heap to grow into, and gives them back
// to it. Otherwise the heap asks for half a megabyte more each time, and at each of
// a hundred times the browser may look for garbage of its own.
// Nor need it look itself before that much is full: it counts what lies idle here as in
// use. Nobody writes there, so it takes no memory; the first collection came in the
// middle of ten thousand entries and took longer than reading them.
var ballast []byte

func reserve() { runtime.KeepAlive(make([]byte, reserveSize)) }

// rest collects garbage that would soon be collected anyway: nobody waits just now.
func rest() {
	var m runtime.MemStats
	if runtime.ReadMemStats(&m); m.HeapAlloc > m.NextGC/3*2 {
		runtime.GC()
	}
}

// random fills b from the browser's own generator; crypto/rand ends in the same
// place and would bring 80 KB of ciphers along.
func random(b []byte) {
	v := bytesOf.New(len(b))
	js.Global().Get("crypto").Call("getRandomValues", v)
	js.CopyBytesToGo(b, v)
}

// page is where stored pages lie, one after the other, while they are read: nothing
// of one is kept, and hundreds come in a row.
var page []byte

const pageMax = 4 << 20 // bytes; larger ones get memory of their own

// room is where n bytes go that come alone with an op.
func room(op string, n int) []byte {
	if op != "load" && op != "append" && op != "piece" || n > pageMax {
		return make([]byte, n)
	}
	if cap(page) < n {
		page = make([]byte, n+n/4)
	}
	return page[:n]
}

func call(p *phone.Phone, in []js.Value) (out any) {
	defer func() {
		if r := recover(); r != nil {
			out = map[string]any{"panic": fmt.Sprintf("%v\n%s", r, debug.Stack())}
		}
	}()
	op := in[0].String()
	blobs := make([][]byte, 0, max(0, len(in)-2))
	for _, v := range in[2:] {
		n := v.Get("length").Int()
		var b []byte
		if len(in) == 3 {
			b = room(op, n)
		} else {
			b = make([]byte, n)
		}
		js.CopyBytesToGo(b, v)
		blobs = append(blobs, b)
	}
	switch op {
	case "loaded":
		page = nil
	case "rest":
		rest()
		return map[string]any{"json": "", "blobs": []any{}}
	}
	answer, err := p.Call(op, []byte(in[1].String()), blobs)
	if err != nil {
		return map[string]any{"problem": string(phone.ProblemOf(err).JSON())}
	}
	given := make([]any, 0, len(answer.Blobs))
	for _, b := range answer.Blobs {
		v := bytesOf.New(len(b))
		js.CopyBytesToJS(v, b)
		given = append(given, v)
	}
	return map[string]any{"json": string(answer.JSON), "blobs": given}
}
