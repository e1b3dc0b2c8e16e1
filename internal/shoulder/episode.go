package shoulder

import (
	"time"

	"evenreach.example/internal/exact"
)

// SourceID names the input that a measurement came from: an index into the
// list that intake keeps of what it read. The core passes it through, so that
// every result can be traced.
type SourceID int32

// Trial is one strength reading of one side.
type Trial struct {
	Source      SourceID
	Motion      Motion
	Position    ArmPosition
	Support     Support
	Side        Side
	Contraction Contraction
	Instrument  Instrument
	Dimension   Dimension
	Value       exact.Number // N for a force, N.m for a torque; not below 0
	// Confirmed says that a clinician has confirmed the reading although it
	// looked doubtful.
	Confirmed bool
	// Denied says that a clinician has said that the reading is not right.
	Denied bool
	// Painful says that the tester marked the reading as limited by pain.
	Painful bool
}

// Grade is a manual muscle test on the ordinal scale from 0 to 5.
type Grade struct {
	Source   SourceID
	Motion   Motion
	Position ArmPosition
	Side     Side
	Value    MuscleGrade
}

// ExaminerID tells examiners apart without saying who they are. The zero
// ExaminerID is not known.
type ExaminerID int32

// Range is how far the arm moves.
type Range struct {
	Source   SourceID
	Movement Movement
	Side     Side
	Active   bool        // moved by the patient; otherwise by the examiner
	Position ArmPosition // for rotations; unstated otherwise
	Degrees  exact.Number
	Examiner ExaminerID
}

// Pain is a score from 0, none, to 10, the worst imaginable.
type Pain struct {
	Source   SourceID
	Context  PainContext
	Side     Side        // unknown if not stated
	Position ArmPosition // unstated if it is not about one position
	Score    exact.Number
}

// Outcome is a value of an outcome measure of the protocol.
type Outcome struct {
	Source  SourceID
	Measure string // id of the measure
	Side    Side   // unknown if not stated
	Value   exact.Number
}

// Steadiness says whether the arm stayed still when it was held free in a
// position.
type Steadiness struct {
	Source   SourceID
	Position ArmPosition
	Side     Side
	Steady   bool
}

// Lever is the distance from the axis of the shoulder's rotation to the pad of
// the dynamometer.
type Lever struct {
	Source SourceID
	Side   Side // unknown if it holds for both
	Metres exact.Number
}

// Session is what was measured at one visit.
type Session struct {
	// When is the earliest time of the visit's measurements, with the offset
	// in which it was recorded.
	When   time.Time
	Trials []Trial
	// Refused are readings that no shoulder exerts. They are part of no score, and put the
	// test that they belong to in doubt.
	Refused []Trial
	Grades  []Grade
	Ranges  []Range
	Pains   []Pain
	Steady  []Steadiness
	Levers  []Lever
	// Outcomes are the values of outcome measures.
	Outcomes []Outcome
	Mass     *Measured // body mass, kg
	Height   *Measured // body height, m
}

// Tests reports whether a motion was tested in a position, on either side.
func (s *Session) Tests(m Motion, p ArmPosition) bool {
	for i := range s.Trials {
		if s.Trials[i].Motion == m && s.Trials[i].Position == p {
			return true
		}
	}
	for i := range s.Grades {
		if s.Grades[i].Motion == m && s.Grades[i].Position == p {
			return true
		}
	}
	return false
}

// Measured is one number with its source.
type Measured struct {
	Source SourceID
	Value  exact.Number
}

// Repair is a surgical repair of the rotator cuff.
type Repair struct {
	Source SourceID
	Kind   RepairKind
	Side   Side      // unknown if the record does not say
	Date   time.Time // zero if the record does not say
}

// Onset is when an active condition of a shoulder began, as the record dates it.
type Onset struct {
	Side Side
	When time.Time
}

// Statement is whether the shoulder may be loaded, as a clinician has stated it: a
// clearance for resisted work after a repair, or an examination of a shoulder whose
// measurements raised a red flag.
type Statement struct {
	Source SourceID
	// When is zero for a refusal whose date is not recorded; it always holds.
	When    time.Time
	IsDay   bool // When is a whole day, without a time
	Side    Side // unknown if not stated
	Cleared bool
}

// Permit is the load that the operating surgeon permits, in place of what the
// time since the repair would.
type Permit struct {
	Source SourceID
	When   time.Time
	Side   Side // unknown if not stated
	Phase  LoadPhase
}

// Tear is the recorded size of the cuff tear.
type Tear struct {
	Source      SourceID
	Side        Side // unknown if not stated
	Centimetres exact.Number
}

// Person says whose episode it is, as the record does: free text, for printed pages
// and never for logs. Nothing is computed from it.
type Person struct {
	Name string // or the record number; empty if neither is known
	Born string // date of birth as the record has it, which may be a year alone
}

// Episode is one patient's shoulder over time: everything that an assessment
// is computed from.
type Episode struct {
	Person   Person
	Involved Side
	// ComparisonAffected says that the other side is affected as well, so that
	// it is no yardstick.
	ComparisonAffected bool
	// Incomplete says that some of the record is known to be missing, so that
	// nothing may be opened by what is there.
	Incomplete bool
	Handedness Handedness
	// Born is the latest day on which the patient can have been born, zero if it is not
	// recorded.
	Born         time.Time
	Sessions     []Session // oldest first
	Onsets       []Onset   // oldest first
	Repairs      []Repair
	Clearances   []Statement // for resisted work, oldest first
	Examinations []Statement // oldest first
	Permits      []Permit    // oldest first
	// Unread are statements about the load that could not be read whole, oldest first: each
	// with the most that it can have permitted, and without a date if it has none.
	Unread []Permit
	Tears  []Tear // oldest first
}

// adult is the age from which growth plates are taken as closed and the published
// values, which are of adults, as fitting. Common practice: the age of majority.
const adult = 18

// Minor reports whether the patient was, or may have been, under age on a day.
func (e *Episode) Minor(on time.Time) bool {
	return !e.Born.IsZero() && on.Before(e.Born.AddDate(adult, 0, 0))
}

// Latest is the index of the latest session with a measurement of the shoulder, -1
// if there is none.
func (e *Episode) Latest() int {
	for i := len(e.Sessions) - 1; i >= 0; i-- {
		s := &e.Sessions[i]
		if len(s.Trials)+len(s.Grades)+len(s.Ranges)+len(s.Pains)+len(s.Steady) > 0 {
			return i
		}
	}
	return -1
}
