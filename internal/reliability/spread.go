package reliability

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// difference is one between two repetitions of one target, on the logarithm.
type difference struct {
	pair  pair
	value float64
}

// pair is which two repetitions are compared, by their places in a list.
type pair [2]int

// differences are those of each subject, who counts once, however many sides and tests
// of them were measured: what is measured of one person on one day goes together.
type differences map[string][]difference

func (d differences) add(subject string, p pair, value float64) {
	d[subject] = append(d[subject], difference{p, value})
}

// spread is the variance of one repetition about what it repeats.
type spread struct {
	// agreement has all differences in it, consistency none between the means of the
	// repetitions.
	agreement, consistency float64
	subjects               int
}

// spread estimates the variances from half the mean squares of the differences. In a
// complete design with one target a subject, agreement is the mean square within subjects
// of the one-way analysis of variance, and consistency the mean square of error of the
// two-way one.
//
// Source: Bland and Altman 1996, BMJ 313:744 (pairs: half the mean squared difference);
// the correction for the estimated means is that of a variance, by subjects.
func (d differences) spread() spread {
	s := spread{subjects: len(d)}
	shifts := d.shifts()
	for _, subject := range sortedKeys(d) {
		var all, rest float64
		for _, x := range d[subject] {
			all += square(x.value)
			rest += square(x.value - shifts[x.pair].mean)
		}
		weight := 1 / float64(2*len(d)*len(d[subject]))
		s.agreement += weight * all
		s.consistency += weight * rest
	}
	for _, p := range sortedPairs(shifts) {
		s.consistency += shifts[p].variance / float64(2*shifts[p].subjects*len(shifts))
	}
	return s
}

// shift is how far the second repetition of a pair lies from the first, in the mean of
// the subjects, with the variance of that among them.
type shift struct {
	mean, variance float64
	subjects       int
}

func (d differences) shifts() map[pair]shift {
	means := map[pair][]float64{} // of each subject
	for _, subject := range sortedKeys(d) {
		of := map[pair][]float64{}
		for _, x := range d[subject] {
			of[x.pair] = append(of[x.pair], x.value)
		}
		for p, values := range of {
			means[p] = append(means[p], stat.Mean(values, nil))
		}
	}
	shifts := map[pair]shift{}
	for p, of := range means {
		s := shift{subjects: len(of)}
		if s.mean = stat.Mean(of, nil); len(of) > 1 {
			s.variance = stat.Variance(of, nil)
		}
		shifts[p] = s
	}
	return shifts
}

// systematic is the part of agreement that the means of the repetitions make, with
// their own error.
func (d differences) systematic() (variance float64) {
	shifts := d.shifts()
	for _, p := range sortedPairs(shifts) {
		variance += square(shifts[p].mean) / float64(2*len(shifts))
	}
	return variance
}

// dayCovariance is that of two tests of one side on one day, from the products of
// their differences.
func dayCovariance(products map[string][]float64) float64 {
	var sum float64
	for _, subject := range sortedKeys(products) {
		sum += stat.Mean(products[subject], nil) / 2
	}
	return sum / float64(len(products))
}

// limits are those of a standard deviation in per cent, by a chi-squared distribution.
func limits(variance, degrees, alpha float64) Estimate {
	chi := distuv.ChiSquared{K: degrees}
	at := func(p float64) float64 { return percent(variance * degrees / chi.Quantile(p)) }
	return Estimate{Value: percent(variance), Low: at(1 - alpha/2), High: at(alpha / 2)}
}

// satterthwaite is the degrees of freedom of a sum of two mean squares.
//
// Source: Satterthwaite 1946, Biometrics Bulletin 2:110-4.
func satterthwaite(a, degreesA, b, degreesB float64) float64 {
	return square(a+b) / (square(a)/degreesA + square(b)/degreesB)
}

// percent is the coefficient of variation of what has a variance on the logarithm.
//
// Source: moments of the log-normal distribution.
func percent(variance float64) float64 { return 100 * math.Sqrt(math.Expm1(math.Max(variance, 0))) }

// Sums are made in one order, so that the same file gives the same digits.
func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func sortedPairs(m map[pair]shift) []pair {
	return slices.SortedFunc(maps.Keys(m), func(a, b pair) int { return slices.Compare(a[:], b[:]) })
}
