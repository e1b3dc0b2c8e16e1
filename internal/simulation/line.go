package simulation

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// A line through the indices of a test is what the dates of the model are compared
// with. The product does not use it.

// Slope is a robust line through points: the median of all pairwise slopes.
type Slope struct {
	Slope     float64
	Intercept float64 // median(y) - slope median(x)
	Low, High float64 // Sen's interval of the slope
}

// TheilSen fits a line to points with at least two different x. The interval
// has the given confidence in per cent; ties in x and y narrow the variance of
// Kendall's statistic. It reports false if no slope exists.
//
// Source: Sen 1968, J Am Stat Assoc 63:1379-89; Theil 1950.
func TheilSen(x, y []float64, confidence float64) (Slope, bool) {
	slopes := pairwiseSlopes(x, y)
	if len(slopes) == 0 {
		return Slope{}, false
	}
	s := Slope{Slope: median(slopes)}
	orderedX, orderedY := sorted(x), sorted(y)
	s.Intercept = median(orderedY) - s.Slope*median(orderedX)
	n, count := float64(len(x)), float64(len(slopes))
	variance := (n*(n-1)*(2*n+5) - tieTerm(orderedX) - tieTerm(orderedY)) / 18
	reach := distuv.UnitNormal.Quantile((1+confidence/100)/2) * math.Sqrt(math.Max(variance, 0))
	low := int(math.RoundToEven((count-reach)/2)) - 1
	high := int(math.RoundToEven((count + reach) / 2))
	s.Low, s.High = slopes[max(low, 0)], slopes[min(high, len(slopes)-1)]
	return s, true
}

// pairwiseSlopes returns the slopes of all pairs with different x, ascending.
func pairwiseSlopes(x, y []float64) []float64 {
	slopes := make([]float64, 0, len(x)*(len(x)-1)/2)
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	slices.Sort(slopes)
	return slopes
}

// tieTerm is the sum of t (t - 1)(2t + 5) over groups of t equal values, which
// are ascending.
func tieTerm(ordered []float64) (total float64) {
	for len(ordered) > 0 {
		n := 1
		for n < len(ordered) && ordered[n] == ordered[0] {
			n++
		}
		t := float64(n)
		total += t * (t - 1) * (2*t + 5)
		ordered = ordered[n:]
	}
	return total
}

// sorted is the values ascending: themselves if they are, else a copy.
func sorted(values []float64) []float64 {
	if slices.IsSorted(values) {
		return values
	}
	values = slices.Clone(values)
	slices.Sort(values)
	return values
}

// median is the median of ascending values, of which there is at least one.
func median(ordered []float64) float64 {
	n := len(ordered)
	if n%2 == 1 {
		return ordered[n/2]
	}
	return (ordered[n/2-1] + ordered[n/2]) / 2
}

// lineDates is what a line through the indices of a test says about evenness: whether
// it gives a date, and the ends of its interval in days from the latest session; latest
// is -1 if it lies beyond the horizon.
func lineDates(indices []*measure.Symmetry, p *protocol.Protocol) (given bool, earliest, latest int) {
	last := indices[len(indices)-1]
	weeks, values := make([]float64, len(indices)), make([]float64, len(indices))
	for i, s := range indices {
		weeks[i] = float64(measure.DaysBetween(indices[0].When, s.When)) / daysPerWeek
		values[i] = s.Index.Float64()
	}
	line, ok := TheilSen(weeks, values, p.Error.Interval.Float())
	if !ok || line.Low <= 0 || p.Symmetry.Even.Met(last.Index) {
		return false, 0, 0
	}
	missing := math.Max(p.Symmetry.Even.Value.Float64()-(line.Intercept+line.Slope*weeks[len(weeks)-1]), 0)
	horizon, days := p.Trend.Horizon.Value.Float64(), func(rate float64) int { return int(math.Ceil(missing / rate * daysPerWeek)) }
	if missing/line.Slope > horizon {
		return false, 0, 0
	}
	latest = -1
	if missing/line.Low <= horizon {
		latest = days(line.Low)
	}
	return true, days(line.High), latest
}

const daysPerWeek = 7
