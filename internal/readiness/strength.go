package readiness

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// PositionReadiness is one rotation in one arm position.
type PositionReadiness struct {
	Position shoulder.ArmPosition
	// Symmetry is the index that the verdicts rest on, nil if there is none
	// that is current.
	Symmetry *measure.Symmetry
	// Stale is the latest index if it is too old to decide with.
	Stale *measure.Symmetry
	// Others are the indices of the same session under other conditions; they
	// are shown and decide nothing.
	Others []*measure.Symmetry
	Grade  shoulder.MuscleGrade
	// Pooled is what all sessions of the position show together; its Sessions
	// are 0 if Symmetry is nil.
	Pooled measure.Pooled

	Pain         Criterion
	Range        Criterion
	RangeMinimum Criterion
	GoodEnough   Criterion
	Steady       Criterion
	Even         Criterion
	Confirmed    Criterion

	// FellFrom is the earlier index that was good enough when the current one
	// is beyond doubt no longer.
	FellFrom *measure.Symmetry
}

// Criteria lists the criteria of the position in the order of the rules.
func (p *PositionReadiness) Criteria() []*Criterion {
	return []*Criterion{&p.Pain, &p.Range, &p.RangeMinimum, &p.GoodEnough, &p.Steady, &p.Even, &p.Confirmed}
}

// RangeVerdict joins both criteria of the range gate.
func (p *PositionReadiness) RangeVerdict() Verdict {
	if p.Range.Verdict == Met && p.RangeMinimum.Verdict != Met {
		return p.RangeMinimum.Verdict
	}
	return p.Range.Verdict
}

// open reports whether range and pain let the position be trained.
func (p *PositionReadiness) open() bool {
	v := p.RangeVerdict()
	return (v == Met || v == NotApplicable) && p.Pain.Verdict != NotMet
}

// measured reports whether anything current says how strong the position is.
func (p *PositionReadiness) measured() bool { return p.GoodEnough.Verdict != NotMeasured }

// gates judges what lets a position be trained or not, whatever the rotation.
func (j *judge) gates(position shoulder.ArmPosition) PositionReadiness {
	r := PositionReadiness{Position: position, Pain: j.pain(position), Steady: j.steady(position)}
	r.Range, r.RangeMinimum = j.rangeOf(position)
	return r
}

// strength adds to the gates of a position how strong a rotation is there.
func (j *judge) strength(r *PositionReadiness, rotation shoulder.Rotation) {
	r.GoodEnough = Criterion{Rule: GoodEnough, Position: r.Position, Threshold: j.p.Symmetry.GoodEnough, Unit: "N"}
	r.Even = Criterion{Rule: Even, Position: r.Position, Threshold: j.p.Symmetry.Even, Unit: "N"}
	r.Confirmed = Criterion{Rule: EvenConfirmed, Position: r.Position, Threshold: j.p.Symmetry.Even, Unit: "N"}
	series := j.series(rotation, r.Position)
	switch {
	case len(series) > 0 && j.current(series[len(series)-1].When):
		j.judgeSeries(r, series)
	case len(series) > 0:
		r.Stale = series[len(series)-1]
		j.judgeGrade(r, rotation)
	default:
		j.judgeGrade(r, rotation)
	}
}

// series is the deciding index of each session, oldest first: of several
// conditions in one session the one that suits a decision best.
func (j *judge) series(rotation shoulder.Rotation, position shoulder.ArmPosition) []*measure.Symmetry {
	var series []*measure.Symmetry
	for i := range j.m.Symmetries {
		s := &j.m.Symmetries[i]
		if s.Rotation != rotation || s.Position != position {
			continue
		}
		if n := len(series); n == 0 || series[n-1].Session != s.Session {
			series = append(series, s)
		}
	}
	return series
}

// others are the further indices of the deciding one's session.
func (j *judge) others(deciding *measure.Symmetry) (others []*measure.Symmetry) {
	for i := range j.m.Symmetries {
		s := &j.m.Symmetries[i]
		if s != deciding && s.Session == deciding.Session && s.Rotation == deciding.Rotation && s.Position == deciding.Position {
			others = append(others, s)
		}
	}
	return others
}

// state is a verdict that does not flip on noise. It falls only when the index
// is below the threshold beyond measurement error, or in consecutive sessions.
type state struct {
	met      bool
	above    int // consecutive sessions on the good side
	below    int // consecutive sessions on the other side
	retained bool
	fellFrom *measure.Symmetry
	lastGood *measure.Symmetry
}

// next takes the state to the next session. A session on the good side raises
// it if that is enough; below it falls if that is clear or repeated.
func (s *state) next(x *measure.Symmetry, threshold protocol.Threshold, enough func(above int, beyond bool) bool, confirm int) {
	good, beyond := threshold.Met(x.Index), x.Certainty(threshold) == measure.Clear
	s.retained, s.fellFrom = false, nil
	if good {
		s.above, s.below, s.lastGood = s.above+1, 0, x
		s.met = s.met || enough(s.above, beyond)
		return
	}
	s.above, s.below = 0, s.below+1
	switch {
	case s.met && (beyond || s.below >= confirm):
		s.met, s.fellFrom = false, s.lastGood
	default:
		s.retained = s.met
	}
}

// judgeSeries follows the index through its sessions. Good enough is reached
// in one session. Evenness is confirmed when the session is even and that is
// clear, or the one before was even too, or all sessions together say so.
func (j *judge) judgeSeries(r *PositionReadiness, series []*measure.Symmetry) {
	confirm := int(j.p.Symmetry.Confirmations.Value.Float64())
	atOnce := func(int, bool) bool { return true }
	var pool measure.Pool
	confirmed := func(above int, beyond bool) bool {
		return beyond || above >= confirm || j.pooledEven(pool.Pooled(j.p))
	}
	var good, even state
	for _, s := range series {
		pool.Next(s, j.p)
		good.next(s, j.p.Symmetry.GoodEnough, atOnce, confirm)
		even.next(s, j.p.Symmetry.Even, confirmed, confirm)
	}
	last := series[len(series)-1]
	r.Symmetry, r.Others, r.Pooled, r.FellFrom = last, j.others(last), pool.Pooled(j.p), good.fellFrom
	sources := last.Sources()
	for _, c := range []*Criterion{&r.GoodEnough, &r.Even, &r.Confirmed} {
		c.describe(last, sources)
	}
	r.GoodEnough.settle(good.met, good.retained)
	r.Even.settle(r.Even.Threshold.Met(last.Index) || even.met, even.retained)
	r.Confirmed.settle(even.met, even.retained)
}

// pooledEven reports whether at least two sessions together show evenness.
func (j *judge) pooledEven(pooled measure.Pooled) bool {
	const enoughToPool = 2
	percent := 100 * pooled.ProbabilityEven
	return pooled.Sessions >= enoughToPool && percent >= j.p.Symmetry.Pooled.Value.Float64()
}

// describe fills in what was measured and what would meet the threshold.
func (c *Criterion) describe(s *measure.Symmetry, sources []shoulder.SourceID) {
	c.Value, c.When, c.Sources, c.Basis = &s.Index, s.When, sources, Dynamometry
	c.Certainty = s.Certainty(c.Threshold)
	c.Measured, c.Unit = &s.Involved.Value, s.Dimension.Unit()
	comparison := s.Comparison.Value
	if s.Dimension == shoulder.Torque {
		c.Measured, comparison = s.Involved.Torque, *s.Comparison.Torque
	}
	if needed, ok := comparison.Mul(c.Threshold.Value).Quo(exact.Int(100).Mul(s.Dominance)); ok {
		c.Needed = &needed
	}
}

func (c *Criterion) settle(met, retained bool) {
	c.Verdict = verdictOf(met)
	if retained {
		c.Basis, c.Certainty = Retained, measure.WithinError
	}
}

// judgeGrade judges by the manual muscle test, which can show a position good
// enough and never even.
//
// Source: Tyler et al. 2005, J Shoulder Elbow Surg 14:570-4 (patients graded
// normal had a 28 % deficit in external rotation).
func (j *judge) judgeGrade(r *PositionReadiness, rotation shoulder.Rotation) {
	grade, when, sources := j.grade(rotation, r.Position)
	if grade == shoulder.GradeUnknown {
		return
	}
	r.Grade = grade
	c := &r.GoodEnough
	c.Verdict = verdictOf(grade >= j.p.Grade.GoodEnough.Value)
	c.Basis, c.Grade, c.When, c.Sources, c.Certainty = ManualTest, grade, when, sources, measure.WithinError
	c.Threshold = protocol.Threshold{Comparison: j.p.Grade.GoodEnough.Comparison, Unit: "{score}", Source: j.p.Grade.GoodEnough.Source}
}

// grade is the lowest current grade of the latest session with one.
func (j *judge) grade(rotation shoulder.Rotation, position shoulder.ArmPosition) (lowest shoulder.MuscleGrade, when time.Time, sources []shoulder.SourceID) {
	for i := len(j.episode.Sessions) - 1; i >= 0; i-- {
		s := &j.episode.Sessions[i]
		if !j.current(s.When) {
			break
		}
		for _, g := range s.Grades {
			if g.Rotation != rotation || g.Position != position || g.Side != j.episode.Involved {
				continue
			}
			if lowest == shoulder.GradeUnknown || g.Value < lowest {
				lowest = g.Value
			}
			when, sources = s.When, append(sources, g.Source)
		}
		if lowest != shoulder.GradeUnknown {
			break
		}
	}
	return lowest, when, measure.Union(sources)
}
