package shoptest

import (
	"fmt"
	"strings"
)

// Pour moves a share of all that is in one naive place into another.
func Pour(from, to map[string]float64, share float64, pass bool) {
	for k, m := range from {
		part := m * share
		from[k] -= part
		if pass {
			lot, passes, _ := strings.Cut(k, "/")
			var p int
			fmt.Sscan(passes, &p)
			k = fmt.Sprintf("%s/%d", lot, min(p+1, 99))
		}
		to[k] += part
	}
}
