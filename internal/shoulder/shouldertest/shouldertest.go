// Package shouldertest builds small episodes for tests.
package shouldertest

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Visit is one re-check of a right shoulder. Strengths are newtons, so that they
// are per cent of the left side, which pulls 100 N; an empty text is not measured.
// Several trials of one test are set apart by blanks: "80 82 78".
type Visit struct {
	Day            int
	ER, IR         [3]string // at the side, flexion, abduction
	LeftER, LeftIR [3]string // of the comparison side where ER and IR are measured; empty is 100 N
	Grades         [3]shoulder.MuscleGrade

	Flexion, Abduction               string // active, degrees
	PassiveFlexion, PassiveAbduction string // passive, degrees

	Pain      string // during the resisted test
	RestPain  string
	WorstPain string // of the day

	Steady   []shoulder.ArmPosition
	Unsteady []shoulder.ArmPosition
	Belt     bool // belt-stabilised, otherwise hand-held
	Break    bool // a break test, otherwise a make test
}

var source shoulder.SourceID // tests of one package run in one goroutine

// Next is a source that nothing else has.
func Next() shoulder.SourceID { source++; return source }

// Day is nine in the morning of the n-th day.
func Day(n int) time.Time { return time.Date(2026, 3, 2+n, 9, 0, 0, 0, time.UTC) }

// Session is the visit as a session.
func (v Visit) Session() shoulder.Session {
	s := shoulder.Session{When: Day(v.Day)}
	s.Trials = slices.Concat(v.trials(shoulder.External, v.ER, v.LeftER), v.trials(shoulder.Internal, v.IR, v.LeftIR))
	s.Grades, s.Ranges, s.Pains = v.grades(), v.ranges(), v.pains()
	for _, p := range v.Steady {
		s.Steady = append(s.Steady, shoulder.Steadiness{Source: Next(), Position: p, Side: shoulder.Right, Steady: true})
	}
	for _, p := range v.Unsteady {
		s.Steady = append(s.Steady, shoulder.Steadiness{Source: Next(), Position: p, Side: shoulder.Right})
	}
	return s
}

func (v Visit) trials(r shoulder.Motion, right, left [3]string) (all []shoulder.Trial) {
	for i, values := range right {
		if values == "" {
			continue
		}
		t := shoulder.Trial{
			Motion: r, Position: shoulder.TrainedPositions[i], Support: shoulder.Supported,
			Contraction: shoulder.Make, Instrument: shoulder.Handheld,
		}
		if v.Belt {
			t.Instrument = shoulder.BeltStabilised
		}
		if v.Break {
			t.Contraction = shoulder.Break
		}
		all = append(all, repeated(t, shoulder.Right, values)...)
		all = append(all, repeated(t, shoulder.Left, cmp.Or(left[i], "100"))...)
	}
	return all
}

// repeated is a trial for each value.
func repeated(t shoulder.Trial, side shoulder.Side, values string) (all []shoulder.Trial) {
	for value := range strings.FieldsSeq(values) {
		t.Side, t.Value, t.Source = side, exact.MustParse(value), Next()
		all = append(all, t)
	}
	return all
}

func (v Visit) grades() (all []shoulder.Grade) {
	for i, g := range v.Grades {
		if g == shoulder.GradeUnknown {
			continue
		}
		for _, r := range shoulder.Trained {
			all = append(all, shoulder.Grade{Source: Next(), Motion: r, Position: shoulder.TrainedPositions[i], Side: shoulder.Right, Value: g})
		}
	}
	return all
}

func (v Visit) ranges() (all []shoulder.Range) {
	add := func(m shoulder.Movement, active bool, degrees string) {
		if degrees != "" {
			all = append(all, shoulder.Range{Source: Next(), Movement: m, Side: shoulder.Right, Active: active, Degrees: exact.MustParse(degrees)})
		}
	}
	add(shoulder.Flexion, true, v.Flexion)
	add(shoulder.Abduction, true, v.Abduction)
	add(shoulder.Flexion, false, v.PassiveFlexion)
	add(shoulder.Abduction, false, v.PassiveAbduction)
	return all
}

func (v Visit) pains() (all []shoulder.Pain) {
	add := func(c shoulder.PainContext, score string) {
		if score != "" {
			all = append(all, shoulder.Pain{Source: Next(), Context: c, Score: exact.MustParse(score)})
		}
	}
	add(shoulder.PainDuringResistedTest, v.Pain)
	add(shoulder.PainAtRest, v.RestPain)
	add(shoulder.PainWorst24h, v.WorstPain)
	return all
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
