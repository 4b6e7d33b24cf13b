package calc

// stockCalcs are the calculations of domain/stock.
func stockCalcs() []Calc { return nil }
