package coating

import (
	"fmt"
	"math"

	m "hoppertally/domain/measure"
)

// positive wants pairs of name and float64 above 0 and finite; the first fault wins.
func positive(pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if x := pairs[i+1].(float64); !(x > 0) || math.IsInf(x, 0) {
			return m.Refuse(pairs[i].(string), x, "above 0")
		}
	}
	return nil
}

// notNegative wants pairs of name and float64, 0 or more and finite.
func notNegative(pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if x := pairs[i+1].(float64); !(x >= 0) || math.IsInf(x, 0) {
			return m.Refuse(pairs[i].(string), x, "0 or more")
		}
	}
	return nil
}

func fraction(name string, x float64) error {
	if !(x > 0 && x <= 1) {
		return m.Refuse(name, x, "above 0 to 1")
	}
	return nil
}

// at names a field of the i-th element of a list, or the element itself.
func at(list string, i int, field string) string {
	if field == "" {
		return fmt.Sprintf("%s[%d]", list, i)
	}
	return fmt.Sprintf("%s[%d].%s", list, i, field)
}
