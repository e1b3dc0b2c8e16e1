package readiness

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// Function is what functional work needs beside strength and range: that the latest
// session itself measured everything, so that a measurement left out never opens
// it; that the sessions before it make evenness of all tests likely; little pain at rest and during the test; that the worst pain of the day is
// known; the phase of a repair; and the outcome measures that the protocol makes gates.
type Function struct {
	AllMeasured Criterion
	AllEven     Criterion
	RestPain    Criterion
	TestPain    Criterion
	WorstPain   Criterion
	Permitted   Criterion
	Outcomes    []Criterion // the outcome measures that are gates
}

// Criteria lists the criteria in the order of the rules.
func (f *Function) Criteria() []*Criterion {
	all := []*Criterion{&f.AllMeasured, &f.AllEven, &f.RestPain, &f.TestPain, &f.WorstPain, &f.Permitted}
	for i := range f.Outcomes {
		all = append(all, &f.Outcomes[i])
	}
	return all
}

// Open reports whether every criterion is met or does not apply.
func (f *Function) Open() bool {
	for _, c := range f.Criteria() {
		if c.Holds() {
			return false
		}
	}
	return true
}

// mayStopDirectWork reports whether every trained motion is even in all positions and nothing
// holds its arm back: direct work of one rotation does not end while the other needs it.
func (r *Readiness) mayStopDirectWork() bool {
	return r.everyTrained(func(m *MotionReadiness) bool { return m.AllConfirmed() && m.allOpen() && !m.Unsteady() })
}

// otherRotation holds functional work of a rotation back because of the other one.
func otherRotation() *Criterion {
	return &Criterion{Rule: OtherRotationEven, Verdict: NotMet, Basis: Recorded, Certainty: measure.CertaintyOfFact(false)}
}

func (j *judge) function(r *Readiness) Function {
	return Function{
		AllMeasured: j.allMeasured(r),
		AllEven:     j.likely,
		RestPain:    j.lowPain(RestPainLow, shoulder.PainAtRest),
		TestPain:    j.lowPain(TestPainLow, shoulder.PainDuringResistedTest),
		WorstPain:   j.worstPain(),
		Permitted:   j.phaseCriterion(FunctionPermitted, shoulder.PositionUnstated, shoulder.LoadFunctional, &r.Tissue.Healing),
		Outcomes:    j.freshOutcomes(),
	}
}

// fresh reports whether a session is the latest one, or as close to it as the
// protocol allows.
func (j *judge) fresh(session int) bool {
	latest := j.episode.Latest()
	if latest < 0 {
		return false
	}
	days := measure.DaysBetween(j.episode.Sessions[session].When, j.episode.Sessions[latest].When)
	return j.p.Symmetry.Latest.Met(exact.Int(int64(days)))
}

// allMeasured asks the latest session for both sides of all six tests, for both
// active elevations, and for whether the arm was held steady where that was noted before.
func (j *judge) allMeasured(r *Readiness) Criterion {
	c := Criterion{Rule: AllMeasured, Verdict: Met, Basis: Recorded}
	if r.any(func(p *PositionReadiness) bool {
		s := p.Symmetry
		return s == nil || !j.fresh(s.Involved.Session) || !j.fresh(s.Comparison.Session) || j.steadyBefore(p)
	}) {
		c.Verdict = NotMet
	}
	for _, movement := range [...]shoulder.Movement{shoulder.Flexion, shoulder.Abduction} {
		if active := j.activeRange(movement, j.episode.Involved); active == nil || !j.fresh(active.Session) {
			c.Verdict = NotMet
		}
	}
	c.Certainty = measure.CertaintyOfFact(c.Verdict == Met)
	return c
}

// steadyBefore reports whether somebody noted in a session, however long ago, whether the arm
// stays still in a position, and nobody did in the latest.
func (j *judge) steadyBefore(p *PositionReadiness) bool {
	before := false
	for i := range j.episode.Sessions {
		if !j.notedSteadiness(i, p.Position) {
			continue
		}
		if j.fresh(i) {
			return false
		}
		before = true
	}
	return before
}

// notedSteadiness reports whether a session has a note on whether the arm stays still in a position.
func (j *judge) notedSteadiness(session int, position shoulder.ArmPosition) bool {
	return slices.ContainsFunc(j.episode.Sessions[session].Steady, func(x shoulder.Steadiness) bool {
		return x.Position == position && x.Side == j.episode.Involved
	})
}

// allEven asks the sessions before the latest one whether all tests together are even
// on its day. The latest session decides by its own indices alone, each of which has to
// be even: in the model one low value of many makes a bad day, which would speak for
// the other tests of that day.
func (j *judge) allEven() Criterion {
	c := Criterion{Rule: AllEvenProbable, Threshold: j.p.Course.AllEven, Unit: "%"}
	latest := j.episode.Latest()
	if latest < 0 || j.before {
		return c
	}
	from := latest
	for from > 0 && j.fresh(from-1) {
		from--
	}
	when := j.episode.Sessions[latest].When
	probability, ok := j.course.AllEvenBefore(from, when)
	if !ok {
		return c
	}
	percent := decimal(100*probability, 1)
	c.Value, c.When, c.Basis, c.Sources = &percent, when, EarlierSessions, j.strengthsBefore(from)
	c.Verdict = verdictOf(c.Threshold.Met(percent))
	c.Certainty = measure.CertaintyOfFact(c.Verdict == Met)
	return c
}

// strengthsBefore are the inputs of the strengths of the trained motions in the sessions before one.
func (j *judge) strengthsBefore(session int) (sources []shoulder.SourceID) {
	for i := range j.m.Scores {
		if s := &j.m.Scores[i]; s.Session < session && s.Motion.Trained() {
			sources = append(sources, s.Sources...)
		}
	}
	return measure.Union(sources)
}

// lowPain holds the pain of an occasion in the latest session against the limit of
// functional work.
func (j *judge) lowPain(rule Rule, context shoulder.PainContext) Criterion {
	c := Criterion{Rule: rule, Threshold: j.p.Function.Pain, Unit: "{score}"}
	if worst := j.freshPain(context); worst != nil {
		c.Value, c.When, c.Sources, c.Basis = &worst.Score, worst.When, worst.Sources, Recorded
		c.Verdict = verdictOf(c.Threshold.Met(worst.Score))
		c.Certainty = measure.CertaintyOfFact(c.Verdict == Met)
	}
	return c
}

// worstPain asks only whether the worst pain of the day is known: a high one is a
// red flag of its own.
func (j *judge) worstPain() Criterion {
	c := Criterion{Rule: WorstPainKnown}
	if worst := j.freshPain(shoulder.PainWorst24h); worst != nil {
		c.Verdict, c.When, c.Sources, c.Basis, c.Certainty = Met, worst.When, worst.Sources, Recorded, measure.ClearlyMet
	}
	return c
}

// freshPain is the worst pain of an occasion in the latest session, nil if it was
// not recorded.
func (j *judge) freshPain(context shoulder.PainContext) (worst *measure.PainScore) {
	for i := len(j.m.Pains) - 1; i >= 0 && j.fresh(j.m.Pains[i].Session); i-- {
		p := &j.m.Pains[i]
		if p.Context == context && (worst == nil || p.Score.Cmp(worst.Score) > 0) {
			worst = p
		}
	}
	return worst
}
