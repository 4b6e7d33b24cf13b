package api_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"hoppertally/domain/calc"
)

// Every calculation answers over HTTP what it answers in this program.
func TestEveryCalculationIsReachableOverHTTP(t *testing.T) {
	p := start(t, options{})
	ana := p.signIn("p-ana", "dev-ana")
	for _, c := range calc.All() {
		want, err := calc.Run(c.Name, []byte(c.Example))
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		var tight, here bytes.Buffer
		if err := json.Compact(&here, want); err != nil {
			t.Fatal(err)
		}
		a := ana.do("POST", "/api/v1/calc/"+c.Name, []byte(c.Example))
		if err := json.Compact(&tight, a.body); err != nil || a.status != 200 || !bytes.Equal(tight.Bytes(), here.Bytes()) {
			t.Errorf("%s: status %d: %.200s\nwant %.200s", c.Name, a.status, a.body, want)
		}
	}
}
