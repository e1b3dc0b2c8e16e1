package redflag

import (
	"fmt"
	"strings"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Builders of small episodes. The right side is involved.

const (
	right = shoulder.Right
	left  = shoulder.Left
)

// at is an hour of the n-th day.
func at(n, hour int) time.Time { return time.Date(2026, 3, 2+n, hour, 0, 0, 0, time.UTC) }

// day is nine in the morning of the n-th day.
func day(n int) time.Time { return at(n, 9) }

func visit(n int, parts ...func(*shoulder.Session)) shoulder.Session {
	s := shoulder.Session{When: day(n)}
	for _, part := range parts {
		part(&s)
	}
	return s
}

// six is all six tests of one side, each of three equal trials.
func six(side shoulder.Side, value string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		for _, r := range shoulder.Trained {
			for _, p := range shoulder.TrainedPositions {
				one(side, r, p, value, value, value)(s)
			}
		}
	}
}

// both is all six tests of both sides, such as "80/100", the involved side first.
func both(values string) func(*shoulder.Session) {
	involved, comparison, _ := strings.Cut(values, "/")
	return func(s *shoulder.Session) {
		six(right, involved)(s)
		six(left, comparison)(s)
	}
}

func one(side shoulder.Side, r shoulder.Motion, p shoulder.ArmPosition, values ...string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		for _, v := range values {
			s.Trials = append(s.Trials, shoulder.Trial{
				Source: shoulder.SourceID(len(s.Trials)), Motion: r, Position: p, Support: shoulder.Supported, Side: side,
				Contraction: shoulder.Make, Instrument: shoulder.Handheld, Value: exact.MustParse(v),
			})
		}
	}
}

func torque(value string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		one(right, shoulder.External, shoulder.AtSide, value)(s)
		s.Trials[len(s.Trials)-1].Dimension = shoulder.Torque
	}
}

func grade(side shoulder.Side, g shoulder.MuscleGrade) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		s.Grades = append(s.Grades, shoulder.Grade{Motion: shoulder.External, Position: shoulder.AtSide, Side: side, Value: g})
	}
}

func reach(m shoulder.Movement, side shoulder.Side, active bool, degrees string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		s.Ranges = append(s.Ranges, shoulder.Range{Movement: m, Side: side, Active: active, Degrees: exact.MustParse(degrees)})
	}
}

func active(degrees string) func(*shoulder.Session) {
	return reach(shoulder.Flexion, right, true, degrees)
}

func passive(degrees string) func(*shoulder.Session) {
	return reach(shoulder.Flexion, right, false, degrees)
}

func pain(c shoulder.PainContext, score string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		s.Pains = append(s.Pains, shoulder.Pain{Context: c, Score: exact.MustParse(score)})
	}
}

func episode(sessions ...shoulder.Session) *shoulder.Episode {
	return &shoulder.Episode{Involved: right, Sessions: sessions}
}

// course is visits a fortnight apart with all six tests alike, such as
// "80/100 40/100".
func course(visits string) *shoulder.Episode {
	e := episode()
	for i, values := range strings.Fields(visits) {
		e.Sessions = append(e.Sessions, visit(14*i, both(values)))
	}
	return e
}

// withError is the default protocol with another measurement error, in per cent.
func withError(percent int) *protocol.Protocol {
	p, err := protocol.Load(fmt.Appendf(nil, `{"id":"clinic","error":{"stabilised":{"value":%[1]d,"source":"x"},
		"usual":{"value":%[1]d,"source":"x"},"unstabilised":{"value":%[2]d,"source":"x"}}}`, percent, max(14, percent)))
	if err != nil {
		panic(err)
	}
	return p
}

func find(e *shoulder.Episode, p *protocol.Protocol, asOf time.Time) []Flag {
	return Find(e, measure.Measure(e, p), p, asOf)
}

// found is the flags on the day of the latest session by the default protocol.
func found(e *shoulder.Episode) []Flag {
	return find(e, protocol.Default(), e.Sessions[len(e.Sessions)-1].When)
}

// codes is the codes of flags in order.
func codes(flags []Flag) string {
	var of []string
	for _, f := range flags {
		of = append(of, f.Code.String())
	}
	return strings.Join(of, " ")
}
