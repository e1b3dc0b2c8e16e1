package chart

import (
	"math"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// axis is the scale of the index in per cent, the same in each panel.
type axis struct{ low, high float64 }

// The axis shows at least the part from 50 to 125 and at most that from 0 to
// 200: an interval or index beyond leaves the panel, and its number says where
// to.
const (
	step      = 25.0
	leastLow  = 50.0
	leastHigh = 125.0
	mostHigh  = 200.0
)

// axisOf holds all indices, their intervals and the thresholds.
func axisOf(all []*measure.Symmetry, thresholds []protocol.Threshold) axis {
	a := axis{leastLow, leastHigh}
	for _, s := range all {
		a.include(s.Index.Float64())
		if s.Interval.Bounds == measure.Bounded {
			a.include(s.Interval.Low)
			a.include(s.Interval.High)
		}
	}
	for _, t := range thresholds {
		a.include(t.Value.Float64())
	}
	return a
}

func (a *axis) include(x float64) {
	a.low = max(0, min(a.low, math.Floor(x/step)*step))
	a.high = min(mostHigh, max(a.high, math.Ceil(x/step)*step))
}

// ticks are the marks of the axis, not too many.
func (a axis) ticks() []float64 {
	apart := step
	if a.high-a.low > 5*step {
		apart = 2 * step
	}
	var ticks []float64
	for x := math.Ceil(a.low/apart) * apart; x <= a.high; x += apart {
		ticks = append(ticks, x)
	}
	return ticks
}

// share is how far up the axis x lies, from 0 to 1; beyond the ends it is at
// the end.
func (a axis) share(x float64) float64 {
	return (min(max(x, a.low), a.high) - a.low) / (a.high - a.low)
}

func (a axis) holds(x float64) bool { return a.low <= x && x <= a.high }
