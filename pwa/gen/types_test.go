package main

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

func TestEveryViewHasAType(t *testing.T) {
	if err := untyped(); err != nil {
		t.Error(err)
	}
}

func TestEveryViewAnswersItsType(t *testing.T) {
	f := shop.NewFold()
	params := map[string]string{"run": `{"run":"none"}`, "place": `{"place":"none"}`, "need": `{"booth":"b","powder":"p"}`, "trace": `{"job":"none"}`}
	for _, v := range views {
		out, err := view.Value(f, view.Reader{}, v.name, []byte(params[v.name]))
		if err == nil && reflect.TypeOf(out) != v.of {
			t.Errorf("view %s answers %T, its type here is %v", v.name, out, v.of)
		}
	}
}

func TestTheGeneratedTypesAreFresh(t *testing.T) {
	have, err := os.ReadFile("../src/bridge/types.gen.ts")
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != string(generate()) {
		t.Error("pwa/src/bridge/types.gen.ts is stale: run go run ./pwa/gen")
	}
}

func TestSpelling(t *testing.T) {
	type inner struct {
		Mass int64 `json:"mass_mg"`
	}
	type outer struct {
		Name  string            `json:"name"`
		Lab   *[3]float64       `json:"lab,omitempty"`
		In    []inner           `json:"in"`
		By    map[string]string `json:"by"`
		Bytes []byte            `json:"-"`
	}
	w := writer{seen: map[string]string{}}
	w.name(reflect.TypeFor[outer]())
	want := "export interface outer {\n  name: string;\n  lab?: [number, number, number];\n  in: inner[];\n  by: Record<string, string>;\n}\n"
	if w.seen["outer"] != want {
		t.Errorf("got %q, want %q", w.seen["outer"], want)
	}
	if !strings.Contains(w.seen["inner"], "mass_mg: number;") {
		t.Errorf("the struct inside is not declared: %q", w.seen["inner"])
	}
}
