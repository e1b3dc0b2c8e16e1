// Package lookup finds in an assessment what more than one form of a report
// shows.
package lookup

import (
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// Current reports whether a measurement is young enough to decide with.
func Current(a *assess.Assessment, when time.Time) bool {
	return a.Protocol.Pairing.Current.Met(exact.Int(int64(measure.DaysBetween(when, a.AsOf))))
}

// Unlike reports whether a current score of the involved side found no score of
// the other side to be compared with.
func Unlike(a *assess.Assessment, r shoulder.Rotation, p shoulder.ArmPosition) bool {
	for i := range a.Measurements.Unpaired {
		u := a.Measurements.Unpaired[i].Involved
		if u.Rotation == r && u.Position == p && Current(a, u.When) {
			return true
		}
	}
	return false
}

// Series is the deciding index of each session of one rotation in one position,
// oldest first: of several conditions in one session the one that suits a
// decision best, which comes first. It is empty if the sides were never
// compared.
func Series(a *assess.Assessment, r shoulder.Rotation, p shoulder.ArmPosition) []*measure.Symmetry {
	var series []*measure.Symmetry
	for i := range a.Measurements.Symmetries {
		s := &a.Measurements.Symmetries[i]
		if s.Rotation != r || s.Position != p {
			continue
		}
		if n := len(series); n == 0 || series[n-1].Session != s.Session {
			series = append(series, s)
		}
	}
	return series
}
