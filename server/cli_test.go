package main

import (
	"bytes"
	"context"
	"encoding/json"
	"runtime"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

// typed is what came of a command line.
type typed struct {
	code     int
	out, err string
}

// hoppertally runs the program as somebody types it.
func hoppertally(t *testing.T, stdin string, args ...string) typed {
	t.Helper()
	var out, err bytes.Buffer
	code := run(context.Background(), args, strings.NewReader(stdin), &out, &err)
	return typed{code, out.String(), err.String()}
}

func TestWrongCommandLines(t *testing.T) {
	for _, tt := range []struct {
		name string
		args []string
		says string
	}{
		{"a command that is not there", []string{"fly"}, "fly"},
		{"an option that is not there", []string{"version", "--loud"}, "--loud"},
		{"a replay of nothing", []string{"replay"}, "<file>"},
		{"a replay of a file that is not there", []string{"replay", "/nowhere/x.journal"}, "/nowhere/x.journal"},
		{"two calculations", []string{"calc", "reclaim.charge", "reclaim.charge"}, "reclaim.charge"},
		{"a port in words", []string{"demo", "--port", "one"}, "--port"},
		{"a level of the log that is not there", []string{"serve", "--log", "loud"}, "--log"},
		{"a role that is not there", []string{"person", "add", "Ana", "--role", "king"}, "--role"},
		{"a folder without a shop", []string{"verify", "--data", t.TempDir()}, "no shop's data"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := hoppertally(t, "", tt.args...)
			if a.code != exitUsage || a.out != "" || !strings.Contains(a.err, tt.says) {
				t.Errorf("exit %d, out %q, err %q; want exit %d and an error that names %s", a.code, a.out, a.err, exitUsage, tt.says)
			}
		})
	}
}

func TestHelpListsEveryCommand(t *testing.T) {
	for _, args := range [][]string{nil, {"--help"}} {
		a := hoppertally(t, "", args...)
		if a.code != exitOK || a.err != "" {
			t.Fatalf("%q: exit %d, %s", args, a.code, a.err)
		}
		for _, command := range []string{"serve", "demo", "calc", "replay", "backup", "restore", "verify", "person", "service", "version"} {
			if !strings.Contains(a.out, "\n  "+command+" ") {
				t.Errorf("%q does not show %s:\n%s", args, command, a.out)
			}
		}
	}
}

func TestVersionSaysWhatRuns(t *testing.T) {
	a := hoppertally(t, "", "version")
	if a.code != exitOK || !strings.HasPrefix(a.out, "hoppertally "+version+"\n") || !strings.Contains(a.out, runtime.Version()) {
		t.Errorf("exit %d: %q", a.code, a.out)
	}
}

// section is the lines of one calculation in the list of all.
func section(list, name string) string {
	_, rest, _ := strings.Cut("\n"+list, "\n"+name+"\n")
	own, _, _ := strings.Cut(rest, "\n\n")
	return own
}

func TestCalcAloneListsEverything(t *testing.T) {
	a := hoppertally(t, "", "calc")
	if a.code != exitOK || a.err != "" {
		t.Fatalf("exit %d: %s", a.code, a.err)
	}
	for _, c := range calc.All() {
		own := section(a.out, c.Name)
		d, err := calc.Describe(c.Name)
		if err != nil {
			t.Fatal(err)
		}
		inputs, outputs, ok := strings.Cut(own, "\n  outputs\n")
		if !ok || !strings.Contains(inputs, "\n  inputs\n") || !strings.Contains(inputs, c.About) || !strings.Contains(inputs, "\n  source: "+c.Source+"\n") {
			t.Errorf("%s does not say what it answers, from which source and which inputs and outputs:\n%s", c.Name, own)
		}
		for _, f := range d.Inputs {
			shows(t, c.Name, inputs, f.Name, f.Unit)
		}
		for _, o := range d.Outputs {
			shows(t, c.Name, outputs, o.Name, o.Unit)
		}
	}
}

// shows wants a line that begins with the field and holds its unit.
func shows(t *testing.T, name, text, field, unit string) {
	t.Helper()
	for line := range strings.Lines(text) {
		if rest, ok := strings.CutPrefix(line, "    "+field+"  "); ok && strings.Contains(rest, unit) {
			return
		}
	}
	t.Errorf("%s shows no %s in %q:\n%s", name, field, unit, text)
}

func TestHelpOfEveryCalculationHasAnExampleThatRuns(t *testing.T) {
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			a := hoppertally(t, "", "calc", c.Name, "--help")
			if a.code != exitOK || a.err != "" {
				t.Fatalf("exit %d: %s", a.code, a.err)
			}
			if b := hoppertally(t, "", "calc", "--help", c.Name); b != a {
				t.Errorf("--help before the name says something else:\n%s", b.out)
			}
			_, rest, _ := strings.Cut(a.out, "\n    echo '")
			example, rest, ok := strings.Cut(rest, "' | hoppertally calc "+c.Name+"\n    ")
			if !ok {
				t.Fatalf("no example:\n%s", a.out)
			}
			if strings.Contains(example, "'") {
				t.Errorf("a shell would cut the example %s at its '", example)
			}
			ran := hoppertally(t, example, "calc", c.Name)
			if ran.code != exitOK || ran.err != "" || ran.out != rest || !json.Valid([]byte(ran.out)) {
				t.Errorf("the example gives exit %d, %s%s\nwant %s", ran.code, ran.out, ran.err, rest)
			}
		})
	}
}

// calcRefusal is the JSON on standard error.
type calcRefusal struct {
	Code   string
	Detail string
	Near   []string
	Fault  struct{ Field, Got, Want string }
}

func refusal(t *testing.T, a typed) calcRefusal {
	t.Helper()
	var r calcRefusal
	if a.code != exitUsage || a.out != "" {
		t.Errorf("exit %d, out %q; want exit %d and nothing", a.code, a.out, exitUsage)
	}
	if err := json.Unmarshal([]byte(a.err), &r); err != nil || r.Detail == "" {
		t.Errorf("standard error is not a JSON error: %v: %q", err, a.err)
	}
	return r
}

func TestBadInputNamesTheField(t *testing.T) {
	for _, tt := range []struct{ name, calc, in, code, field string }{
		{"no JSON", "reclaim.charge", "kg", "request.field", ""},
		{"nothing", "reclaim.charge", "", "request.field", ""},
		{"a field that is unknown", "reclaim.charge", `{"vessel":1}`, "request.field", ""},
		{"a share above the whole", "reclaim.charge", `{"want_mg":20000000,"share_pm":1001,"reclaim_mg":1,"virgin_mg":1}`, "request.field", "share_pm"},
		{"a mass in words", "reclaim.charge", `{"want_mg":"20 kg","share_pm":300,"reclaim_mg":1,"virgin_mg":1}`, "request.field", "want_mg"},
		{"a field deep inside", "reclaim.sizes", `{"parts":[{"mass_mg":1,"curve":[{"um":2,"under":0},{"um":10,"under":2}]}]}`, "request.field", "parts[0].curve[1].under"},
		{"more reclaim in the hopper than powder", "reclaim.topup", `{"holds_mg":1,"holds_reclaim_mg":2,"capacity_mg":9,"share_pm":300,"reclaim_mg":1,"virgin_mg":1}`, "calc.input", "holds_reclaim_mg"},
		{"too long an input", "reclaim.charge", strings.Repeat(" ", calcInputMax+1), "request.field", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := refusal(t, hoppertally(t, tt.in, "calc", tt.calc))
			if r.Code != tt.code || tt.field != "" && r.Fault.Field != tt.field {
				t.Errorf("refusal %+v, want code %s at field %q", r, tt.code, tt.field)
			}
		})
	}
}

// Every required field of every calculation, left out of its example, is named.
func TestALackingFieldIsNamed(t *testing.T) {
	for _, c := range calc.All() {
		for _, f := range form.Describe(c.In()) {
			if f.Optional {
				continue
			}
			var in map[string]json.RawMessage
			if err := json.Unmarshal([]byte(c.Example), &in); err != nil {
				t.Fatal(err)
			}
			delete(in, f.Name)
			b, err := json.Marshal(in)
			if err != nil {
				t.Fatal(err)
			}
			r := refusal(t, hoppertally(t, string(b), "calc", c.Name))
			if r.Code != "request.field" || r.Fault.Field != f.Name {
				t.Errorf("%s without %s: %+v", c.Name, f.Name, r)
			}
		}
	}
}

func TestAnUnknownCalculationShowsNearNames(t *testing.T) {
	for _, tt := range []struct {
		args []string
		near string
	}{
		{[]string{"calc", "reclaim.chagre"}, "reclaim.charge"},
		{[]string{"calc", "charge"}, "reclaim.charge"},
		{[]string{"calc", "reclaim.charg", "--help"}, "reclaim.charge"},
	} {
		r := refusal(t, hoppertally(t, "{}", tt.args...))
		if r.Code != "calc.unknown" || !slices.Contains(r.Near, tt.near) {
			t.Errorf("%q: %+v, want %s near it", tt.args, r, tt.near)
		}
	}
	if r := refusal(t, hoppertally(t, "{}", "calc", "zzzzzzzzzzzzzzzzzz")); r.Code != "calc.unknown" || len(r.Near) != 0 {
		t.Errorf("a name like no other has %q near it", r.Near)
	}
}
