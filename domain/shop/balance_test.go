package shop_test

import (
	"testing"

	"hoppertally/domain/shop"
)

func TestPartsMass(t *testing.T) {
	for _, tt := range []struct {
		name                           string
		count, area, film, n, sg, want int64
		source                         string
	}{
		{"one square metre at 70 µm and 1.6", 1, 10_000, 700, 1, 1600, 112_000, "deposit SG·µm = 112 g/m²"},
		{"halves round up", 1, 1, 1, 1, 50_000, 1, "by hand: 0.5 mg"},
		{"mean of three readings", 1, 10_000, 2100, 3, 1600, 112_000, "by hand: mean 70 µm"},
		{"nothing read, nothing on parts", 1, 10_000, 0, 0, 1600, 0, "the design's rule"},
		{"absurd figures saturate", 10_000_000, 100_000_000, 20_000, 1, 5000, 1_000_000_000_000_000_000, "by hand: 10⁷·10⁸·2·10⁴·5·10³/10⁵ = 10¹⁸"},
	} {
		if got := shop.PartsMass(tt.count, tt.area, tt.film, tt.n, tt.sg); int64(got) != tt.want {
			t.Errorf("%s: %d, want %d (%s)", tt.name, got, tt.want, tt.source)
		}
	}
}
