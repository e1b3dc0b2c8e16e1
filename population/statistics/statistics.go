// Package statistics is what the summary of a population computes: percentiles, the time
// until something happens when not everybody is seen long enough, and the limits of a
// standard deviation. It is pure.
package statistics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Percentile is the value below which a fraction of the values lies, which are ascending
// and at least one: with linear interpolation between the two nearest.
//
// Source: Hyndman and Fan 1996, Am Stat 50:361-5, definition 7.
func Percentile(ascending []float64, fraction float64) float64 {
	at := fraction * float64(len(ascending)-1)
	below := int(math.Floor(at))
	above := min(below+1, len(ascending)-1)
	return ascending[below] + (at-float64(below))*(ascending[above]-ascending[below])
}

// Observed is how long somebody was observed: until it happened, or until nobody looked
// any more. Times are not below 0.
type Observed struct {
	Time     float64
	Happened bool
}

// Step is the share of those to whom it has not happened yet, from a time on.
type Step struct {
	Time      float64
	AtRisk    int // just before
	Happened  int // at the time
	Left      int // who were not observed any further from then on
	Share     float64
	Low, High float64 // confidence band, for each time by itself
}

// KaplanMeier estimates the share to whom it has not happened yet, at every time at which
// it happened to somebody or somebody left. The band is that of the logarithm of the
// negative logarithm, which stays between 0 and 1, at a confidence such as 0.95. Where
// the share is 1 or 0, the band is that value.
//
// Source: Kaplan and Meier 1958, J Am Stat Assoc 53:457-81; Greenwood's variance; Kalbfleisch
// and Prentice 1980 for the band.
func KaplanMeier(all []Observed, confidence float64) (steps []Step) {
	sorted := slices.Clone(all)
	slices.SortFunc(sorted, func(a, b Observed) int { return compare(a.Time, b.Time) })
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	share, variance := 1.0, 0.0
	for i := 0; i < len(sorted); {
		s := Step{Time: sorted[i].Time, AtRisk: len(sorted) - i}
		for ; i < len(sorted) && sorted[i].Time == s.Time; i++ {
			if sorted[i].Happened {
				s.Happened++
			} else {
				s.Left++
			}
		}
		n, d := float64(s.AtRisk), float64(s.Happened)
		share *= 1 - d/n
		variance += d / (n * (n - d))
		s.Share, s.Low, s.High = share, share, share
		if 0 < share && share < 1 {
			reach := z * math.Sqrt(variance) / math.Log(share)
			s.Low, s.High = math.Pow(share, math.Exp(-reach)), math.Pow(share, math.Exp(reach))
		}
		steps = append(steps, s)
	}
	return steps
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// Deviation is a standard deviation with its limits.
type Deviation struct {
	Value, Low, High float64
	Pairs            int
}

// OfDifferences is the standard deviation of one measurement, from the differences between
// two measurements of the same: the root of half the mean square. The limits are those of
// a normal distribution, at a confidence such as 0.95.
//
// Source: Bland and Altman 1996, BMJ 312:1654 (within-subject standard deviation); the
// limits by the chi-square distribution with as many degrees of freedom as there are pairs.
func OfDifferences(differences []float64, confidence float64) Deviation {
	n := float64(len(differences))
	squares := 0.0
	for _, d := range differences {
		squares += d * d
	}
	d := Deviation{Value: math.Sqrt(squares / (2 * n)), Pairs: len(differences)}
	chi := distuv.ChiSquared{K: n}
	tail := (1 - confidence) / 2
	d.Low = math.Sqrt(squares / 2 / chi.Quantile(1-tail))
	d.High = math.Sqrt(squares / 2 / chi.Quantile(tail))
	return d
}
