package booth

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func TestChangeCostAddsUp(t *testing.T) {
	// By hand: 2 × 45 min × 30.00/h = 45.00; 45 min × 80.00/h = 60.00;
	// 0.4 kg × 9.50 = 3.80; 2.50.
	w := ChangeWork{People: 2, Minutes: 45, Labour: 3000, Idle: 8000, Lost: 400_000, Price: 950, Consumables: 250}
	want := ChangeCost{4500, 6000, 380, 250, 11130}
	if got, err := w.Cost(); err != nil || got != want {
		t.Errorf("cost %+v, %v; want %+v", got, err, want)
	}
	if got, err := (ChangeWork{}).Cost(); err != nil || got != (ChangeCost{}) {
		t.Errorf("nothing costs %+v, %v", got, err)
	}
}

func TestChangeErrorsNameTheField(t *testing.T) {
	for what, w := range map[string]ChangeWork{
		"people":      {People: peopleMax + 1},
		"minutes":     {Minutes: math.NaN()},
		"labour":      {Labour: -1},
		"idle":        {Idle: RateMax + 1},
		"lost_mg":     {Lost: 1000*measure.Kilogram + 1},
		"price":       {Price: -1},
		"consumables": {Consumables: RateMax + 1},
	} {
		var e *measure.Fault
		if _, err := w.Cost(); !errors.As(err, &e) || e.What != what {
			t.Errorf("%v, want a fault of %s", err, what)
		}
	}
}

func TestExpectShrinksTowardsTheRule(t *testing.T) {
	log := []Logged{{"K", "W", 60}, {"K", "W", 50}, {"K", "W", 70}, {"W", "K", 20}, {"K", "W", 0}, {"K", "W", 1441}}
	l := Learn(log)
	tests := []struct {
		name     string
		from, to string
		rule     float64
		want     Expectation
		source   string
	}{
		{"three changes weigh as much as the rule", "K", "W", 45, Expectation{52.5, 3, 60}, "by hand: (3·45 + 180)/6"},
		{"one change moves the rule by a quarter", "W", "K", 10, Expectation{12.5, 1, 20}, "by hand: (3·10 + 20)/4"},
		{"no change, the rule alone", "K", "B", 45, Expectation{Minutes: 45}, "our rule"},
	}
	for _, tt := range tests {
		if got := l.Expect(tt.from, tt.to, tt.rule); got != tt.want {
			t.Errorf("%s: %+v, want %+v (%s)", tt.name, got, tt.want, tt.source)
		}
	}
}

func TestExpectLiesBetweenRuleAndMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := rapid.Float64Range(1, 120).Draw(t, "rule")
		var log []Logged
		for range rapid.IntRange(1, 30).Draw(t, "changes") {
			log = append(log, Logged{"A", "B", rapid.Float64Range(1, 200).Draw(t, "minutes")})
		}
		e := Learn(log).Expect("A", "B", rule)
		if e.Minutes < min(rule, e.Mean)-0.1 || e.Minutes > max(rule, e.Mean)+0.1 {
			t.Fatalf("%+v with the rule at %g", e, rule)
		}
		back := rapid.Permutation(log).Draw(t, "another order")
		if again := Learn(back).Expect("A", "B", rule); again != e {
			t.Fatalf("in another order: %+v, want %+v", again, e)
		}
	})
}

func ExampleLearned_Expect() {
	l := Learn([]Logged{{"black", "white", 70}, {"black", "white", 62}})
	e := l.Expect("black", "white", 45)
	fmt.Printf("%g min from %d changes of %g min on average\n", e.Minutes, e.Changes, e.Mean)
	// Output:
	// 53.4 min from 2 changes of 66 min on average
}
