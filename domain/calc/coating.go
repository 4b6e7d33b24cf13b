package calc

// coatingCalcs are the calculations of domain/coating.
func coatingCalcs() []Calc { return nil }
