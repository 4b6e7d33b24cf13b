package calc

// gunCalcs are the calculations of domain/gun.
func gunCalcs() []Calc { return nil }
