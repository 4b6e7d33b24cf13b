package kind_test

import (
	"testing"

	"hoppertally/domain/form"
	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/kind"
)

func BenchmarkDecodeBody(b *testing.B) {
	es := shoptest.BusyShop(10_000)
	raws := make([][]byte, len(es))
	for i, e := range es {
		raws[i] = form.Encode(e.Body)
	}
	var in kind.Bodies
	b.ResetTimer()
	for i := range b.N {
		if _, err := in.Decode(es[i%len(es)].Kind, 1, raws[i%len(raws)]); err != nil {
			b.Fatal(err)
		}
	}
}
