package readiness

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// judge is what every gate is computed from.
type judge struct {
	episode *shoulder.Episode
	m       *measure.Measurements
	p       *protocol.Protocol
	asOf    time.Time
}

// current reports whether a measurement is young enough to decide with.
func (j *judge) current(when time.Time) bool {
	return j.p.Pairing.Current.Met(exact.Int(int64(measure.DaysBetween(when, j.asOf))))
}

// Tissue is the gate of healing time after a cuff repair.
type Tissue struct {
	Criterion
	// Repaired is the date of the repair, zero if there was none or its date
	// is not recorded.
	Repaired time.Time
	// Weeks since the repair, in full.
	Weeks int
	// Massive says that the later date of a massive tear applies.
	Massive bool
	// Undated says that a repair is recorded without its date.
	Undated bool
	// SurgeonGoverns says that resisted work is cleared before its usual time,
	// so that the operating surgeon's protocol decides what is done.
	SurgeonGoverns bool
}

// Open reports whether resisted work may be done.
func (t *Tissue) Open() bool { return t.Verdict == Met || t.Verdict == NotApplicable }

// tissue judges whether resisted work is allowed. A recorded refusal always
// holds; a clearance counts only if it was given after the repair.
func (j *judge) tissue() Tissue {
	t := Tissue{Criterion: Criterion{Rule: TissueHealed, Verdict: NotApplicable}}
	repair := j.latestRepair(&t)
	clearance := j.latestClearance()
	if clearance != nil && !clearance.Cleared {
		t.record(clearance, NotMet)
		return t
	}
	if repair == nil {
		return t
	}
	t.Sources = []shoulder.SourceID{repair.Source}
	t.Threshold = j.repairThreshold(&t)
	switch {
	case !t.Repaired.IsZero() && t.healed(j.asOf):
		t.Verdict, t.Basis, t.Certainty = Met, Recorded, measure.Clear
	case clearance != nil && !clearance.When.Before(t.Repaired):
		t.record(clearance, Met)
		t.SurgeonGoverns = true
	case t.Undated:
		t.Verdict, t.Basis = NotMeasured, ConservativeNo
	default:
		t.Verdict, t.Basis, t.Certainty = NotMet, Recorded, measure.Clear
	}
	return t
}

func (t *Tissue) record(c *shoulder.Clearance, v Verdict) {
	t.Verdict, t.Basis, t.Certainty, t.When = v, Recorded, measure.Clear, c.When
	t.Sources = append(t.Sources, c.Source)
}

// healed holds the whole days since the repair against the weeks.
func (t *Tissue) healed(asOf time.Time) bool {
	days := measure.DaysBetween(t.Repaired, asOf)
	t.Weeks = days / 7
	weeks, _ := exact.Int(int64(days)).Quo(exact.Int(7))
	t.Value, t.Unit, t.When = &weeks, "wk", asOf
	return t.Threshold.Met(weeks)
}

// latestRepair is the latest repair of the involved side, or of no stated
// side. A repair without a date counts as the latest.
func (j *judge) latestRepair(t *Tissue) *shoulder.Repair {
	var latest *shoulder.Repair
	for i := range j.episode.Repairs {
		r := &j.episode.Repairs[i]
		if r.Side == j.episode.Involved.Other() {
			continue
		}
		if r.Date.IsZero() {
			t.Undated, t.Repaired = true, time.Time{}
			return r
		}
		if latest == nil || r.Date.After(latest.Date) {
			latest, t.Repaired = r, r.Date
		}
	}
	return latest
}

func (j *judge) latestClearance() *shoulder.Clearance {
	for i := len(j.episode.Clearances) - 1; i >= 0; i-- {
		if c := &j.episode.Clearances[i]; c.Side != j.episode.Involved.Other() {
			return c
		}
	}
	return nil
}

// repairThreshold is the later one when any recorded tear size is massive.
func (j *judge) repairThreshold(t *Tissue) protocol.Threshold {
	for i := range j.episode.Tears {
		tear := &j.episode.Tears[i]
		if tear.Side != j.episode.Involved.Other() && j.p.Tissue.Massive.Met(tear.Centimetres) {
			t.Massive = true
			t.Sources = append(t.Sources, tear.Source)
			return j.p.Tissue.ResistedAfterMassive
		}
	}
	return j.p.Tissue.ResistedAfter
}

// pain judges pain during the resisted test in a position. The latest session
// with a score for the position, or for none, counts; there a score of the
// test itself goes before one without a context. Nothing recorded leaves the
// gate open, and shows as not measured.
func (j *judge) pain(position shoulder.ArmPosition) Criterion {
	c := Criterion{Rule: PainAcceptable, Position: position, Threshold: j.p.Pain.Gate, Unit: "{score}"}
	worst := j.painScore(position)
	if worst == nil {
		return c
	}
	c.Value, c.When, c.Sources = &worst.Score, worst.When, worst.Sources
	c.Basis = Recorded
	if worst.Context == shoulder.PainUnstated {
		c.Basis = UnstatedPain
	}
	c.Verdict = verdictOf(c.Threshold.Met(worst.Score))
	c.Certainty = j.marginCertainty(worst.Score, c.Threshold.Value, j.p.Pain.Change.Value)
	return c
}

func (j *judge) painScore(position shoulder.ArmPosition) *measure.PainScore {
	var found *measure.PainScore
	for i := len(j.m.Pains) - 1; i >= 0; i-- {
		s := &j.m.Pains[i]
		if found != nil && s.Session != found.Session || !j.current(s.When) {
			break
		}
		applies := (s.Context == shoulder.PainDuringResistedTest || s.Context == shoulder.PainUnstated) &&
			(s.Position == position || s.Position == shoulder.PositionUnstated)
		if applies && (found == nil || worsePain(s, found)) {
			found = s
		}
	}
	return found
}

// worsePain: of the same context the higher score, else the test's own.
func worsePain(a, b *measure.PainScore) bool {
	if a.Context != b.Context {
		return a.Context == shoulder.PainDuringResistedTest
	}
	return a.Score.Cmp(b.Score) > 0
}

// marginCertainty is clear if the value is at least a real change away from
// the threshold.
func (j *judge) marginCertainty(value, threshold, change exact.Number) measure.Certainty {
	if value.Sub(threshold).Abs().Cmp(change) >= 0 {
		return measure.Clear
	}
	return measure.WithinError
}

// rangeOf judges the active range that an elevated position asks for, as two
// criteria: the fraction of full range, and the position itself. At the side
// neither applies.
func (j *judge) rangeOf(position shoulder.ArmPosition) (fraction, minimum Criterion) {
	fraction = Criterion{Rule: RangeOpen, Position: position, Threshold: j.p.Range.Fraction, Unit: "deg"}
	minimum = Criterion{Rule: RangeMinimum, Position: position, Threshold: j.p.Range.Minimum, Unit: "deg"}
	if !position.Elevated() {
		fraction.Verdict, minimum.Verdict = NotApplicable, NotApplicable
		return fraction, minimum
	}
	movement := position.Elevation()
	active := j.activeRange(movement, j.episode.Involved)
	full, from := j.fullRange(position, movement)
	needed, _ := full.Mul(j.p.Range.Fraction.Value).Quo(exact.Int(100))
	fraction.Needed, minimum.Needed = &needed, &j.p.Range.Minimum.Value
	if active == nil || full.Sign() <= 0 {
		return fraction, minimum
	}
	for _, c := range []*Criterion{&fraction, &minimum} {
		c.Measured, c.When, c.Sources, c.Basis = &active.Degrees, active.When, active.Sources, Recorded
		c.Certainty = j.marginCertainty(active.Degrees, *c.Needed, j.p.Range.Change.Value)
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
	for i := len(j.m.Ranges) - 1; i >= 0; i-- {
		r := &j.m.Ranges[i]
		if r.Movement == movement && r.Side == side && r.Active {
			if !j.current(r.When) {
				return nil
			}
			return r
		}
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
			c.Basis, c.Certainty, c.When = Recorded, measure.Clear, s.When
			c.Sources = append(c.Sources, seen.Source)
		}
		if c.Verdict != NotMeasured {
			break
		}
	}
	return c
}
