package measure

import "fmt"

// MassMax is the bound of every mass that leaves the core, exclusive: 2^53 mg,
// about 9 million tonnes, what JavaScript can still carry exactly.
const MassMax Mass = 1 << 53

// Fault is the error of a calculation for an argument that lies outside its range
// or does not fit the others, such as a curve whose settings fall.
// What is the argument as the input form of the calculation names it, such as
// "hopper_reclaim_mg" or "curve[3]"; Want says in words what is allowed.
type Fault struct {
	What string `json:"what"`
	Got  string `json:"got"`
	Want string `json:"want"`
}

// Error is one English line.
func (e *Fault) Error() string {
	return fmt.Sprintf("%s: got %s, want %s", e.What, e.Got, e.Want)
}

// Refuse makes a *Fault as an error.
func Refuse(what string, got any, want string) error {
	return &Fault{What: what, Got: fmt.Sprint(got), Want: want}
}
