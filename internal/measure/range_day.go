package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// RangeOfDay is what the latest day shows of one movement of a side, actively or passively.
type RangeOfDay struct {
	// Latest is its latest score; Lowest the one with the least of the measurements.
	Latest, Lowest *RangeScore
	Least, Most    exact.Number // of all measurements of the day
	// Disagree says that they differ by more than a real change, so that one is a slip.
	Disagree bool
}

// LatestRange is the latest active or passive range of a movement of a side; nil if it was never
// measured. Of an active range whose measurements of that day disagree the least decides.
func (m *Measurements) LatestRange(movement shoulder.Movement, side shoulder.Side, active bool, p *protocol.Protocol) *RangeScore {
	d := m.LatestRangeOfDay(movement, side, active, p)
	if active && d.Disagree {
		return d.Lowest
	}
	return d.Latest
}

// LatestRangeOfDay is what was measured of a movement of a side on the latest day that has any;
// its scores are nil if there is none. Elevation is one movement in whatever position the arm was
// recorded; a rotation in another position is another one.
func (m *Measurements) LatestRangeOfDay(movement shoulder.Movement, side shoulder.Side, active bool, p *protocol.Protocol) (d RangeOfDay) {
	elevation := movement == shoulder.Flexion || movement == shoulder.Abduction
	for i := len(m.Ranges) - 1; i >= 0; i-- {
		r := &m.Ranges[i]
		if r.Movement != movement || r.Side != side || r.Active != active {
			continue
		}
		if d.Latest != nil && DaysBetween(r.When, d.Latest.When) > 0 {
			break
		}
		if d.Latest == nil || elevation || r.Position == d.Latest.Position {
			d.add(r, p)
		}
	}
	return d
}

// add adds an earlier score of the day.
func (d *RangeOfDay) add(r *RangeScore, p *protocol.Protocol) {
	least, most := r.ends()
	if d.Latest == nil {
		d.Latest, d.Lowest, d.Least, d.Most, d.Disagree = r, r, least, most, r.Disagrees()
		return
	}
	threshold := RangeChangeThreshold(d.Latest, r, p)
	if least.Cmp(d.Least) < 0 {
		d.Least, d.Lowest = least, r
	}
	if most.Cmp(d.Most) > 0 {
		d.Most = most
	}
	d.Disagree = d.Disagree || r.Disagrees() || threshold.Met(d.Most.Sub(d.Least))
}

// ends are the least and the largest measurement of a session, its score if they agree.
func (r *RangeScore) ends() (least, most exact.Number) {
	if r.Disagrees() {
		return *r.Least, *r.Most
	}
	return r.Degrees, r.Degrees
}
