package measure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Bounds says what a confidence set of a ratio looks like.
type Bounds uint8

// The shapes of Fieller's confidence set.
const (
	// Unbounded is the whole line: the measurements say nothing about the ratio.
	Unbounded Bounds = iota
	// Bounded is the usual interval from Low to High.
	Bounded
	// Exclusive is everything but the open interval from Low to High: the
	// comparison side cannot be told from zero.
	Exclusive
)

// String names the shape.
func (b Bounds) String() string { return [...]string{"unbounded", "bounded", "exclusive"}[b] }

// Interval is a confidence set. Low and High are meaningful unless Unbounded.
type Interval struct {
	Bounds Bounds
	Low    float64
	High   float64
}

// Contains reports whether x belongs to the set.
func (i Interval) Contains(x float64) bool {
	switch i.Bounds {
	case Bounded:
		return i.Low <= x && x <= i.High
	case Exclusive:
		return x <= i.Low || i.High <= x
	}
	return true
}

// scaled is the interval with both limits multiplied by k > 0.
func (i Interval) scaled(k float64) Interval {
	return Interval{i.Bounds, i.Low * k, i.High * k}
}

// ofStrength is the interval without what is below 0, which no strength is.
func (i Interval) ofStrength() Interval {
	if i.Bounds == Bounded {
		i.Low = math.Max(i.Low, 0)
	}
	return i
}

// Fieller returns the confidence set of the ratio a / b of two independent
// normal estimates with standard errors sa and sb, for the two-sided standard
// normal (or t) quantile z. With g = (z sb / b)^2 below 1 the set is bounded.
//
// Source: Fieller 1954, J R Stat Soc B 16:175-185.
func Fieller(a, sa, b, sb, z float64) Interval {
	// The limits are the roots r of (a - r b)^2 = z^2 (sa^2 + r^2 sb^2).
	A := b*b - z*z*sb*sb
	B := a * b
	C := a*a - z*z*sa*sa
	discriminant := B*B - A*C
	switch {
	case A > 0:
		root := math.Sqrt(math.Max(discriminant, 0))
		return Interval{Bounded, (B - root) / A, (B + root) / A}
	case A < 0 && discriminant > 0:
		root := math.Sqrt(discriminant)
		return Interval{Exclusive, (B + root) / A, (B - root) / A}
	}
	return Interval{Bounds: Unbounded}
}

// ProbabilityAtLeast is the probability that the true ratio of two independent
// normal quantities is at least t, given their estimates a and b with standard
// errors sa and sb: Phi((a - t b) / sqrt(sa^2 + t^2 sb^2)). Without error it is
// 0 or 1.
//
// Source: the pivot of Fieller 1954, J R Stat Soc B 16:175-185.
func ProbabilityAtLeast(t, a, sa, b, sb float64) float64 {
	margin, spread := a-t*b, math.Hypot(sa, t*sb)
	if spread == 0 {
		if margin >= 0 {
			return 1
		}
		return 0
	}
	return distuv.UnitNormal.CDF(margin / spread)
}

// quantile is the two-sided standard normal quantile of a confidence in per
// cent: 1.644854 for 90.
func quantile(confidence float64) float64 {
	return distuv.UnitNormal.Quantile((1 + confidence/100) / 2)
}

// detectable is the smallest difference between two scores that is beyond
// measurement error, for the two-sided quantile z of a confidence: z sqrt(a^2 +
// b^2) with the standard errors of both, which is z sqrt(2) SEM if they are the
// same. It is in the unit of the errors.
//
// Source: Weir 2005, J Strength Cond Res 19:231-40.
func detectable(z, a, b float64) float64 { return z * math.Hypot(a, b) }
