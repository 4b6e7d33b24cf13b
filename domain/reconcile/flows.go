package reconcile

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"hoppertally/domain/measure"
)

// Measured is a mass, or any figure, that was measured.
type Measured struct {
	Name      string
	Value, SD float64 // in one unit for all; SD is the standard uncertainty, above 0
}

// Balance says that what goes in is what comes out, both by name.
type Balance struct{ In, Out []string }

// Flows reconciles measurements under balances by name; a name that stands on
// both sides of a balance cancels.
// The errors are those of [Solve], on measured[i].value and measured[i].sd, and
// *measure.Fault on measured[i].id (a name that stands twice), balances[k].in[j]
// or balances[k].out[j] (unknown measurement).
func Flows(measured []Measured, balances []Balance) (Solution, error) {
	at := map[string]int{}
	x, sd := make([]float64, len(measured)), make([]float64, len(measured))
	for i, m := range measured {
		if _, twice := at[m.Name]; twice {
			return Solution{}, measure.Refuse(fmt.Sprintf("measured[%d].id", i), m.Name, "a name that stands once")
		}
		at[m.Name], x[i], sd[i] = i, m.Value, m.SD
	}
	a := make([][]float64, len(balances))
	for k, b := range balances {
		a[k] = make([]float64, len(measured))
		for side, names := range [][]string{b.In, b.Out} {
			for j, name := range names {
				i, known := at[name]
				if !known {
					field := fmt.Sprintf("balances[%d].%s[%d]", k, []string{"in", "out"}[side], j)
					return Solution{}, measure.Refuse(field, name, "the name of a measurement (this one is unknown)")
				}
				a[k][i] += 1 - 2*float64(side)
			}
		}
	}
	s, err := Solve(a, x, sd)
	return s, renamed(err, func(i int) (string, string) {
		return fmt.Sprintf("measured[%d].value", i), fmt.Sprintf("measured[%d].sd", i)
	})
}

// renamed makes a fault of Solve on a value or an uncertainty name it as the
// caller's input does.
func renamed(err error, names func(i int) (value, sd string)) error {
	var f *measure.Fault
	if !errors.As(err, &f) {
		return err
	}
	list, at, indexed := strings.Cut(strings.TrimSuffix(f.What, "]"), "[")
	i, no := strconv.Atoi(at)
	if !indexed || no != nil {
		return err
	}
	value, sd := names(i)
	switch list {
	case "measured":
		return measure.Refuse(value, f.Got, f.Want)
	case "sd":
		return measure.Refuse(sd, f.Got, f.Want)
	}
	return err
}

// Named gives the names of measurements by index, as [Solution.Suspects] lists them.
func Named(measured []Measured, list []int) []string {
	names := make([]string, 0, len(list))
	for _, i := range slices.Sorted(slices.Values(list)) {
		names = append(names, measured[i].Name)
	}
	return names
}
