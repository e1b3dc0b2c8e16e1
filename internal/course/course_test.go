package course

import (
	"math"
	"testing"

	"evenreach.example/internal/protocol"
)

func defaultParameters() parameters { return parametersOf(protocol.Default()) }

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, within)
	}
}

// tenVisits is six tests of both sides at ten visits a fortnight apart.
func tenVisits() (observations []Observation) {
	for visit := range 10 {
		for test := range 6 {
			wobble := 0.05 * math.Sin(float64(7*visit+3*test))
			observations = append(observations,
				Observation{Day: 14 * visit, Test: test, Comparison: true, Log: math.Log(120) + wobble, Own: 0.07, Shared: 0.07},
				Observation{Day: 14 * visit, Test: test, Log: math.Log(120) - 0.4*math.Exp(-float64(visit)/3) + wobble, Own: 0.07, Shared: 0.07})
		}
	}
	return observations
}

var sixTests = []int{0, 1, 2, 3, 4, 5}

func BenchmarkTenVisits(b *testing.B) {
	observations, p := tenVisits(), protocol.Default()
	b.ReportAllocs()
	for b.Loop() {
		Of(observations, 6, sixTests, p).AllEven()
	}
}
