package readiness

import (
	"time"

	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Tissue is the gate of healing time after a cuff repair: whether any resisted
// work is permitted, and how much.
type Tissue struct {
	Criterion
	Healing healing.State
}

// Open reports whether resisted work may be done.
func (t *Tissue) Open() bool { return t.Verdict == Met || t.Verdict == NotApplicable }

// Repaired is the date of the repair, zero if there was none or its date is not
// recorded.
func (t *Tissue) Repaired() time.Time {
	if t.Healing.Repair == nil {
		return time.Time{}
	}
	return t.Healing.Repair.Date
}

// Undated says that a repair is recorded without its date.
func (t *Tissue) Undated() bool { return t.Healing.Repair != nil && !t.Healing.Dated() }

// SurgeonGoverns says that load is permitted by a clearance or a permit and not by
// the usual time, so that the operating surgeon's protocol decides what is done.
func (t *Tissue) SurgeonGoverns() bool {
	return t.Healing.Basis == healing.Cleared || t.Healing.Basis == healing.Permitted
}

// tissue judges whether resisted work is permitted at all.
func (j *judge) tissue() Tissue {
	state := healing.At(j.episode, j.p, j.asOf)
	return Tissue{j.phaseCriterion(TissueHealed, shoulder.PositionUnstated, shoulder.LoadSubmaximalAtSide, &state), state}
}

// phaseCriterion holds the permitted load against a phase: by the weeks since the
// repair, or by what is recorded.
func (j *judge) phaseCriterion(rule Rule, position shoulder.ArmPosition, needed shoulder.LoadPhase, s *healing.State) Criterion {
	permitted := s.Phase >= needed
	c := Criterion{Rule: rule, Position: position, Sources: s.Sources, Certainty: measure.CertaintyOfFact(permitted), Verdict: verdictOf(permitted)}
	switch s.Basis {
	case healing.NoRepair:
		return Criterion{Rule: rule, Position: position, Verdict: NotApplicable}
	case healing.Unknown:
		c.Verdict, c.Basis, c.Certainty = NotMeasured, ConservativeNo, measure.NoCertainty
	case healing.ByTime:
		c.Basis = Recorded
	default:
		c.Basis, c.When = Recorded, s.Stated
	}
	if s.Basis == healing.Refused || s.Basis == healing.Unread {
		return c // no number of weeks opens it
	}
	c.Threshold = j.thresholdOf(needed, s)
	if s.Dated() {
		weeks := s.Weeks()
		c.Value, c.Unit = &weeks, "wk"
		if c.When.IsZero() {
			c.When = j.asOf
		}
	}
	return c
}

// thresholdOf is the week of a phase; none without a repair, of whose weeks there
// are none.
func (j *judge) thresholdOf(phase shoulder.LoadPhase, s *healing.State) protocol.Threshold {
	if s.Repair == nil {
		return protocol.Threshold{}
	}
	return j.p.Tissue.After(phase, s.Massive)
}
