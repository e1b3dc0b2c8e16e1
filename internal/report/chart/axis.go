package chart

import (
	"math"
	"slices"

	"evenreach.example/internal/measure"
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

// axis holds all indices, their intervals, what all sessions show, and the thresholds.
func (c *canvas) axis() axis {
	a := axis{leastLow, leastHigh}
	for _, r := range c.rows {
		for _, p := range r.panels {
			a.includePanel(&p)
		}
	}
	for _, t := range c.thresholds() {
		a.include(t.Value.Float64())
	}
	return a
}

func (a *axis) includePanel(p *panel) {
	for _, s := range p.sessions {
		a.include(s.Index.Float64())
		if p.track == nil && s.Interval.Bounds == measure.Bounded {
			a.include(s.Interval.Low)
			a.include(s.Interval.High)
		}
	}
	for _, m := range slices.Concat(p.track, p.fan) {
		a.include(m.Low)
		a.include(m.High)
	}
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
