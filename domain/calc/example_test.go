package calc_test

import (
	"fmt"

	"hoppertally/domain/calc"
)

func ExampleRun() {
	out, err := calc.Run("reclaim.charge", []byte(`{"want_mg":20000000,"share_pm":300,"reclaim_mg":2000000,"virgin_mg":50000000}`))
	fmt.Println(string(out), err)
	_, err = calc.Run("reclaim.chrge", nil)
	fmt.Println(err)
	// Output:
	// {"reclaim_mg":2000000,"virgin_mg":18000000,"short_mg":0,"reclaim_after_mg":2000000,"total_after_mg":20000000,"ratio":"90:10","binding":"reclaim","over_by_mg":0,"dilutes":false,"dilute_mg":0,"take_out_mg":0,"virgin_in_mg":0} <nil>
	// no calculation is called "reclaim.chrge"; near it: reclaim.charge, reclaim.choose, reclaim.worth, reclaim.passes, reclaim.settle
}
