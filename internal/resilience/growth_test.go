package resilience

import (
	"math"
	"math/rand/v2"
	"testing"
)

// growth is by how much values taken at equal times grew from the first to the
// last, by the line of least squares, and the standard error of that.
//
// Source: least squares with an independent error of equal variance; any
// textbook.
func growth(values []float64) (grown, deviation float64) {
	n := float64(len(values))
	if n < 3 {
		return 0, math.Inf(1)
	}
	middle, mean := (n-1)/2, 0.0
	for _, v := range values {
		mean += v / n
	}
	var xx, xy float64
	for i, v := range values {
		x := float64(i) - middle
		xx += x * x
		xy += x * (v - mean)
	}
	slope, rest := xy/xx, 0.0
	for i, v := range values {
		off := v - mean - slope*(float64(i)-middle)
		rest += off * off
	}
	return slope * (n - 1), math.Sqrt(rest/(n-2)/xx) * (n - 1)
}

// grows reports whether values grew by more than is allowed, and by more than
// their scatter explains. Three standard errors are common practice.
func grows(values []float64, allowed float64) bool {
	grown, deviation := growth(values)
	return grown > allowed && grown > 3*deviation
}

func TestGrowth(t *testing.T) {
	series := func(n int, start, step, scatter float64) (values []float64) {
		random := rand.New(rand.NewPCG(1, 2))
		for i := range n {
			values = append(values, start+step*float64(i)+scatter*random.NormFloat64())
		}
		return values
	}
	tests := []struct {
		name   string
		values []float64
		grows  bool
		source string
	}{
		{"constant", series(14, 100, 0, 0), false, "definition"},
		{"10 a window", series(14, 100, 10, 0), true, "130 in all, over 10"},
		{"just below what is allowed", series(14, 100, 0.76, 0), false, "by hand: 13 x 0.76 = 9.88"},
		{"just above it", series(14, 100, 0.78, 0), true, "by hand: 13 x 0.78 = 10.14"},
		{"falling", series(14, 100, -10, 0), false, "definition"},
		{"scatter alone", series(14, 100, 0, 20), false, "no slope"},
		{"a slope in scatter", series(14, 100, 10, 20), true, "130 in all, with a standard error of about 17"},
		{"too few to tell", series(2, 100, 50, 0), false, "two points have no scatter to judge by"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := grows(tt.values, 10); got != tt.grows {
				grown, deviation := growth(tt.values)
				t.Errorf("grows: %v (%.1f with a standard error of %.1f), want %v (%s)", got, grown, deviation, tt.grows, tt.source)
			}
		})
	}
}
