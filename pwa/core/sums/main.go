//go:build js && wasm

// Command sums is the phone's calculations, apart from its core: a phone that
// records a shift never loads them, one that opens the sums loads them once. They
// carry the matrices and distributions that nothing else needs. It answers
//
//	hoppertallySums("calcs", "")                    → every calculation described
//	hoppertallySums("calc", {"name": …, "params": …}) → its result
//
// each as {json} | {problem} | {panic}, like package core.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"syscall/js"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

type problem struct {
	Code   string `json:"code"`
	Title  string `json:"title"`
	Detail string `json:"detail,omitempty"`
}

func main() {
	js.Global().Set("hoppertallySums", js.FuncOf(func(_ js.Value, in []js.Value) any {
		return call(in[0].String(), []byte(in[1].String()))
	}))
	select {}
}

func call(op string, in []byte) (out map[string]any) {
	defer func() {
		if r := recover(); r != nil {
			out = map[string]any{"panic": fmt.Sprint(r)}
		}
	}()
	answer, err := answer(op, in)
	if err != nil {
		b, err := json.Marshal(problemOf(err))
		if err != nil {
			panic(err) // three strings always encode
		}
		return map[string]any{"problem": string(b)}
	}
	return map[string]any{"json": string(answer), "blobs": []any{}}
}

func answer(op string, in []byte) ([]byte, error) {
	if op == "calcs" {
		out := []calc.Description{}
		for _, c := range calc.All() {
			d, err := calc.Describe(c.Name)
			if err != nil {
				return nil, err
			}
			out = append(out, d)
		}
		return json.Marshal(out)
	}
	var ask struct {
		Name   string          `json:"name"`
		Params json.RawMessage `json:"params"`
	}
	if err := json.Unmarshal(in, &ask); err != nil {
		return nil, err
	}
	return calc.Run(ask.Name, ask.Params)
}

func problemOf(err error) problem {
	var field *form.Error
	var unknown *calc.UnknownError
	var span *calc.RangeError
	switch {
	case errors.As(err, &field):
		return problem{string(field.Code), field.Error(), field.Field}
	case errors.As(err, &unknown):
		return problem{"calc.unknown", unknown.Error(), ""}
	case errors.As(err, &span):
		return problem{"calc.input", span.Error(), span.Field}
	}
	return problem{"internal", err.Error(), ""}
}
