package api_test

import (
	"strings"
	"testing"
)

// Of two lists one would be dropped without a word, and which one is a matter of taste.
func TestAttackAPushWithTwoListsIsRefusedWhole(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	first, second := string(ana.entry("powder.moved", moved)), string(ana.entry("powder.moved", moved))
	const clock = `{"wall_ms":1790000000000,"mono_ms":1,"segment":"s"}`
	for name, body := range map[string]string{
		"two lists":                   `{"entries":[` + first + `],"entries":[` + second + `]}`,
		"two lists, one of them none": `{"entries":[` + first + `],"entries":[]}`,
		"two lists round the clock":   `{"entries":[` + first + `],"now":` + clock + `,"entries":[` + second + `]}`,
		"two clocks":                  `{"now":` + clock + `,"entries":[` + first + `],"now":` + clock + `}`,
		"a second list by escapes":    `{"entries":[` + first + `],"entr\u0069es":[` + second + `]}`,
		"a second list in capitals":   `{"entries":[` + first + `],"Entries":[` + second + `]}`,
	} {
		a := ana.do("POST", "/api/v1/push", []byte(body))
		a.what = name
		a.refused("request.body")
	}
	log := ana.pull()
	for _, raw := range []string{first, second} {
		if log[idOf([]byte(raw))] != "" {
			t.Errorf("of a push that was refused an entry is in the log: %s", raw)
		}
	}
	if r := ana.push([]byte(first), []byte(second)); r[0].Outcome != "accepted" || r[1].Outcome != "accepted" {
		t.Errorf("in one list: %+v", r)
	}
	if a := ana.do("POST", "/api/v1/push", []byte(`{"entries":[],"entries":[]}`)).refused("request.body"); !strings.Contains(string(a.body), "twice") {
		t.Errorf("the answer does not say what is wrong: %s", a.body)
	}
}
