// Package shouldertest builds small episodes for tests.
package shouldertest

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Visit is one re-check of a right shoulder. Strengths are per cent of the
// left side, which pulls 100 N; an empty text is not measured.
type Visit struct {
	Day                int
	ER, IR             [3]string // at the side, flexion, abduction
	Grades             [3]shoulder.MuscleGrade
	Flexion, Abduction string // active, degrees
	Pain               string // during the resisted test
	Steady             []shoulder.ArmPosition
	Unsteady           []shoulder.ArmPosition
	Belt               bool // belt-stabilised, otherwise hand-held
}

var source shoulder.SourceID // tests of one package run in one goroutine

// Next is a source that nothing else has.
func Next() shoulder.SourceID { source++; return source }

// Day is nine in the morning of the n-th day.
func Day(n int) time.Time { return time.Date(2026, 3, 2+n, 9, 0, 0, 0, time.UTC) }

// Session is the visit as a session.
func (v Visit) Session() shoulder.Session {
	s := shoulder.Session{When: Day(v.Day)}
	instrument := shoulder.Handheld
	if v.Belt {
		instrument = shoulder.BeltStabilised
	}
	strength := func(r shoulder.Rotation, values [3]string) {
		for i, value := range values {
			if value == "" {
				continue
			}
			t := shoulder.Trial{
				Rotation: r, Position: shoulder.Positions[i], Support: shoulder.Supported,
				Contraction: shoulder.Make, Instrument: instrument,
			}
			t.Side, t.Value, t.Source = shoulder.Right, exact.MustParse(value), Next()
			s.Trials = append(s.Trials, t)
			t.Side, t.Value, t.Source = shoulder.Left, exact.Int(100), Next()
			s.Trials = append(s.Trials, t)
		}
	}
	strength(shoulder.External, v.ER)
	strength(shoulder.Internal, v.IR)
	for i, g := range v.Grades {
		if g != shoulder.GradeUnknown {
			for _, r := range shoulder.Rotations {
				s.Grades = append(s.Grades, shoulder.Grade{Source: Next(), Rotation: r, Position: shoulder.Positions[i], Side: shoulder.Right, Value: g})
			}
		}
	}
	active := func(m shoulder.Movement, degrees string) {
		if degrees != "" {
			s.Ranges = append(s.Ranges, shoulder.Range{Source: Next(), Movement: m, Side: shoulder.Right, Active: true, Degrees: exact.MustParse(degrees)})
		}
	}
	active(shoulder.Flexion, v.Flexion)
	active(shoulder.Abduction, v.Abduction)
	if v.Pain != "" {
		s.Pains = append(s.Pains, shoulder.Pain{Source: Next(), Context: shoulder.PainDuringResistedTest, Score: exact.MustParse(v.Pain)})
	}
	for _, p := range v.Steady {
		s.Steady = append(s.Steady, shoulder.Steadiness{Source: Next(), Position: p, Side: shoulder.Right, Steady: true})
	}
	for _, p := range v.Unsteady {
		s.Steady = append(s.Steady, shoulder.Steadiness{Source: Next(), Position: p, Side: shoulder.Right})
	}
	return s
}

// Episode is the course of a right shoulder over its visits, oldest first.
func Episode(visits ...Visit) *shoulder.Episode {
	e := &shoulder.Episode{Involved: shoulder.Right}
	for _, v := range visits {
		e.Sessions = append(e.Sessions, v.Session())
	}
	return e
}

// All is one value in every position.
func All(value string) [3]string { return [3]string{value, value, value} }
