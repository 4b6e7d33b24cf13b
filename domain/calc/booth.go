package calc

// boothCalcs are the calculations of domain/booth.
func boothCalcs() []Calc { return nil }
