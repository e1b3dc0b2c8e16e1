package readiness

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// judge is what every gate is computed from.
type judge struct {
	episode *shoulder.Episode
	m       *measure.Measurements
	course  *course.Course // nil where nothing is believed, or no side is unaffected
	p       *protocol.Protocol
	asOf    time.Time
	// declined says that the comparison side lost strength, so that no index
	// confirms anything.
	declined bool
	// lost says that a sudden loss of strength was flagged, examined or not: then a
	// fall within measurement error is no longer passed over.
	lost bool
	// likely is whether the sessions before the latest make evenness of all tests likely.
	likely Criterion
	// before says that an earlier session is judged for the sake of the present one.
	before bool
	// yardsticks has what yardstick found, by session.
	yardsticks map[int]bool
}

// current reports whether a measurement is young enough to decide with.
func (j *judge) current(when time.Time) bool {
	return measure.Current(when, j.asOf, j.p)
}

// pain judges the pain of testPain. Nothing recorded leaves the gate open, and shows
// as not measured.
func (j *judge) pain(position shoulder.ArmPosition, worst *measure.PainScore) Criterion {
	c := Criterion{Rule: PainAcceptable, Position: position, Threshold: j.p.Pain.Gate, Unit: "{score}"}
	if worst == nil {
		return c
	}
	c.Value, c.When, c.Sources = &worst.Score, worst.When, worst.Sources
	c.Basis = Recorded
	if worst.Context == shoulder.PainUnstated {
		c.Basis = UnstatedPain
	}
	c.Verdict = verdictOf(c.Threshold.Met(worst.Score))
	c.Certainty = measure.CertaintyOfMargin(c.Threshold.Margin(worst.Score), j.p.Pain.Change.Value, j.p)
	return c
}

// testPain is the pain during the resisted test in a position, nil if none is current: that
// of the latest session with a score of the test for the position, or for none. A score of
// which nobody says when it was felt stands in its place if there is none, or if it is
// later and higher: so it never ends what pain in the test holds.
func (j *judge) testPain(position shoulder.ArmPosition) *measure.PainScore {
	stated, unstated := j.worstOfLatest(shoulder.PainDuringResistedTest, position), j.worstOfLatest(shoulder.PainUnstated, position)
	if stated == nil || unstated != nil && unstated.Session > stated.Session && unstated.Score.Cmp(stated.Score) > 0 {
		return unstated
	}
	return stated
}

// worstOfLatest is the highest score of a context, in a position or for none, of the latest
// session that has one; nil if none is current.
func (j *judge) worstOfLatest(context shoulder.PainContext, position shoulder.ArmPosition) *measure.PainScore {
	var found *measure.PainScore
	for i := len(j.m.Pains) - 1; i >= 0; i-- {
		s := &j.m.Pains[i]
		if found != nil && s.Session != found.Session || !j.current(s.When) {
			break
		}
		applies := s.Context == context && (s.Position == position || s.Position == shoulder.PositionUnstated)
		if applies && (found == nil || s.Score.Cmp(found.Score) > 0) {
			found = s
		}
	}
	return found
}

// rangeOf judges the active range that an elevated position asks for, as two
// criteria: the fraction of full range, and the position itself. At the side
// neither applies.
func (j *judge) rangeOf(position shoulder.ArmPosition, active *measure.RangeScore) (fraction, minimum Criterion) {
	fraction = Criterion{Rule: RangeOpen, Position: position, Threshold: j.p.Range.Fraction, Unit: "deg"}
	minimum = Criterion{Rule: RangeMinimum, Position: position, Threshold: j.p.Range.Minimum, Unit: "deg"}
	if !position.Elevated() {
		fraction.Verdict, minimum.Verdict = NotApplicable, NotApplicable
		return fraction, minimum
	}
	full, from := j.fullRange(position, position.Elevation())
	needed, _ := full.Mul(j.p.Range.Fraction.Value).Quo(exact.Int(100))
	fraction.Needed, minimum.Needed = &needed, &j.p.Range.Minimum.Value
	if active == nil || full.Sign() <= 0 {
		return fraction, minimum
	}
	for _, c := range []*Criterion{&fraction, &minimum} {
		c.Measured, c.When, c.Sources, c.Basis = &active.Degrees, active.When, active.Sources, Recorded
		c.Certainty = measure.CertaintyOfMargin(active.Degrees.Sub(*c.Needed), j.p.Range.Change.Value, j.p)
	}
	if from != nil {
		fraction.Sources = measure.Union(fraction.Sources, from.Sources)
	}
	share, _ := active.Degrees.Mul(exact.Int(100)).Quo(full)
	fraction.Value, minimum.Value = &share, &active.Degrees
	fraction.Verdict = verdictOf(fraction.Threshold.Met(share))
	minimum.Verdict = verdictOf(minimum.Threshold.Met(active.Degrees))
	return fraction, minimum
}

// fullRange is the protocol's full range or, if it says so and it is measured,
// the comparison side's own, with the score that it came from.
func (j *judge) fullRange(position shoulder.ArmPosition, movement shoulder.Movement) (exact.Number, *measure.RangeScore) {
	if j.p.Range.Reference == protocol.OtherSideRange && !j.episode.ComparisonAffected {
		if other := j.activeRange(movement, j.episode.Involved.Other()); other != nil {
			return other.Degrees, other
		}
	}
	return j.p.Range.Full(position).Value, nil
}

// activeRange is the latest current active range of a movement.
func (j *judge) activeRange(movement shoulder.Movement, side shoulder.Side) *measure.RangeScore {
	if r := j.m.LatestRange(movement, side, true, j.p); r != nil && j.current(r.When) {
		return r
	}
	return nil
}

// steady judges whether the arm was seen to stay still when held free.
func (j *judge) steady(position shoulder.ArmPosition) Criterion {
	c := Criterion{Rule: ArmSteady, Position: position}
	if !position.Elevated() {
		c.Verdict = NotApplicable
		return c
	}
	for i := len(j.episode.Sessions) - 1; i >= 0; i-- {
		s := &j.episode.Sessions[i]
		if !j.current(s.When) {
			break
		}
		for _, seen := range s.Steady {
			if seen.Position != position || seen.Side != j.episode.Involved {
				continue
			}
			// Of two statements in one session the unsteady one counts.
			if c.Verdict != NotMet {
				c.Verdict = verdictOf(seen.Steady)
			}
			c.Basis, c.Certainty, c.When = Recorded, measure.CertaintyOfFact(c.Verdict == Met), s.When
			c.Sources = measure.Union(c.Sources, []shoulder.SourceID{seen.Source})
		}
		if c.Verdict != NotMeasured {
			break
		}
	}
	return c
}
