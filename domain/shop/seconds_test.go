package shop

import (
	"math"
	"math/rand/v2"
	"testing"

	"hoppertally/domain/coating"
	"hoppertally/domain/kind"
)

// The whole numbers of the fold against the calculation coating.cure, which works
// with floats; without an activation energy its equivalent time is the plain time.
func TestTimeAtCureTemperatureIsTheCalculations(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 500 {
		curve := []kind.CurePoint{{Sec: 0, TempDC: r.Int64N(400)}}
		floats := []coating.Logged{{Minute: 0, C: float64(curve[0].TempDC) / 10}}
		for range 1 + r.IntN(8) {
			last := curve[len(curve)-1]
			p := kind.CurePoint{Sec: last.Sec + 1 + r.Int64N(600), TempDC: r.Int64N(2300)}
			curve = append(curve, p)
			floats = append(floats, coating.Logged{Minute: float64(p.Sec) / 60, C: float64(p.TempDC) / 10})
		}
		want, err := coating.JudgeCure(floats, coating.Window{RefC: 180, FromC: 180, MinMin: 1, EaKJ: 0})
		if err != nil {
			t.Fatal(err)
		}
		if got := secondsAbove(curve, 1800); math.Abs(float64(got)-want.AtTempMin*60) > 0.51 {
			t.Fatalf("%v: %d s, the calculation says %.3f s", curve, got, want.AtTempMin*60)
		}
	}
}
