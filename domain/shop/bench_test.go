package shop_test

import (
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
)

func BenchmarkFold(b *testing.B) {
	es := shoptest.BusyShop(100_000)
	b.ResetTimer()
	for range b.N {
		f := shop.NewFold()
		f.Add(es...)
		f.State()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(es)), "ns/entry")
}
