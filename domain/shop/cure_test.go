package shop_test

import (
	"fmt"
	"strings"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/view"
)

func TestACureIsJudgedByItsPowder(t *testing.T) {
	const asks = `{"powder":"red","name":"Ember","chemistry":"hybrid","sg_milli":1600,"film_um10":{"min":500,"target":600,"max":800},"reclaim_max_pm":100,"cure_dc":1800,"cure_s":600,"cure_max_s":1200}`
	for _, tt := range []struct {
		name, points, powder string
		verdict, issue       string
	}{
		{"ten minutes at 180 °C are asked and given", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1200,"temp_dc":1800},{"s":1500,"temp_dc":300}]`, asks, "cure_good", ""},
		{"a second less", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1199,"temp_dc":1800},{"s":1500,"temp_dc":300}]`, asks, "cure_under", "cure_under"},
		{"twenty minutes and a second", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1800},{"s":1801,"temp_dc":1800},{"s":2000,"temp_dc":300}]`, asks, "cure_over", "cure_over"},
		{"never hot enough", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":1799}]`, asks, "cure_under", "cure_under"},
		{"a powder that asks nothing is not judged", `[{"s":0,"temp_dc":200},{"s":600,"temp_dc":900}]`, strings.Replace(asks, `,"cure_dc":1800,"cure_s":600,"cure_max_s":1200`, "", 1), "", ""},
	} {
		f := shoptest.FoldOf(t, fmt.Sprintf(shoptest.Morning+`
	05:20 mia powder.set %s
	06:00 ana run.opened {"run":"r1","booth":"b1","powder":"red","feed":"hopper","mode":"waste"}
	06:30 ana cure.read {"run":"r1","points":%s}
	`, tt.powder, tt.points))
		out, err := view.Value(f, shoptest.Reader, "run", []byte(`{"run":"r1"}`))
		if err != nil {
			t.Fatal(err)
		}
		if c := out.(view.RunView).Cures; len(c) != 1 || c[0].Verdict != tt.verdict || shoptest.Codes(f) != tt.issue {
			t.Errorf("%s: %+v, attention %q", tt.name, c, shoptest.Codes(f))
		}
	}
}
