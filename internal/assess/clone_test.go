package assess

import (
	"slices"

	"evenreach.example/internal/shoulder"
)

// clone is a copy whose sessions can be changed.
func clone(e *shoulder.Episode) *shoulder.Episode {
	copied := *e
	copied.Sessions = slices.Clone(e.Sessions)
	for i := range copied.Sessions {
		s := &copied.Sessions[i]
		s.Trials, s.Grades, s.Ranges = slices.Clone(s.Trials), slices.Clone(s.Grades), slices.Clone(s.Ranges)
		s.Pains, s.Steady, s.Outcomes = slices.Clone(s.Pains), slices.Clone(s.Steady), slices.Clone(s.Outcomes)
	}
	return &copied
}

// latest is the latest session of an episode, nil without a measurement.
func latest(e *shoulder.Episode) *shoulder.Session {
	if at := e.Latest(); at >= 0 {
		return &e.Sessions[at]
	}
	return nil
}
