// Package readiness holds measurements against the protocol: criteria become
// verdicts, verdicts open a step for each rotation, and both rotations make
// the overall status.
package readiness

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Verdict is three-valued for what applies: the absence of a measurement is
// neither success nor failure.
type Verdict uint8

// The verdicts.
const (
	NotMeasured Verdict = iota
	NotMet
	Met
	NotApplicable
)

// String is the code of the verdict in the project's code system.
func (v Verdict) String() string {
	return [...]string{"not-measured", "not-met", "met", "not-applicable"}[v]
}

// Rule names a criterion.
type Rule uint8

// The rules, in the order in which they are shown.
const (
	TissueHealed       Rule = iota // resisted work is allowed after a repair
	LoadPermitted                  // the phase of a repair permits load in the position
	PainAcceptable                 // pain during the resisted test
	RangeOpen                      // active range for an elevated position
	RangeMinimum                   // the arm reaches the position itself
	GoodEnough                     // index, or manual grade, good enough to move on
	ArmSteady                      // the arm stays still when held free
	Even                           // index even with the other side
	EvenConfirmed                  // even in two sessions that confirm each other
	AllMeasured                    // everything that readiness rests on is of the latest session
	AllEvenProbable                // the sessions before the latest make it likely that all tests are even
	RestPainLow                    // pain at rest lets functional work begin
	TestPainLow                    // pain during the resisted test lets functional work begin
	WorstPainKnown                 // the worst pain of the day is known
	FunctionPermitted              // the phase of a repair permits functional work
	OutcomeAcceptable              // an outcome measure meets its gate, or is not recorded
	OutcomeForFunction             // an outcome measure of the latest session meets its gate
	OtherRotationEven              // the other rotation is confirmed to be even, and is held steady, too
)

// Rules lists every rule in order.
var Rules = [...]Rule{
	TissueHealed, LoadPermitted, PainAcceptable, RangeOpen, RangeMinimum, GoodEnough, ArmSteady, Even, EvenConfirmed,
	AllMeasured, AllEvenProbable, RestPainLow, TestPainLow, WorstPainKnown, FunctionPermitted, OutcomeAcceptable, OutcomeForFunction, OtherRotationEven,
}

// String is the code of the rule in the project's code system.
func (r Rule) String() string {
	return [...]string{
		"tissue-healed", "load-permitted", "pain-acceptable", "range-open", "range-minimum", "good-enough", "arm-steady", "even",
		"even-confirmed", "all-measured", "all-even-probable", "rest-pain-low", "test-pain-low", "worst-pain-known", "function-permitted",
		"outcome-acceptable", "outcome-for-function", "other-rotation-even",
	}[r]
}

// Basis is what a verdict rests on.
type Basis uint8

// The bases.
const (
	NoBasis          Basis = iota
	Dynamometry            // a limb symmetry index
	ManualTest             // a grade of the manual muscle test
	Retained               // not met, but it was, and the fall is within error: a step that it opened is kept
	Recorded               // a statement in the record, such as a clearance
	UnstatedPain           // a pain score without context stands in for pain during the test
	ConservativeNo         // nothing is known, and not knowing holds
	Doubted                // what was measured is in doubt, and decides nothing
	TooFaint               // near the measuring floor an index tells nothing, and decides nothing
	ComparisonWeaker       // an index that rests on a weaker comparison side confirms nothing
	ComparisonHurts        // an index against a comparison side that hurts confirms nothing
	ComparisonLow          // nor does one against a comparison arm that cannot be lifted
	NoYardstick            // without an unaffected side nothing shows evenness, and one measurement no change
	ChangeFromFirst        // without an unaffected side: the change since the first measurement
	EarlierSessions        // the model of the course, without the latest session
)

// String names the basis.
func (b Basis) String() string {
	return [...]string{"none", "dynamometry", "manual-test", "retained", "recorded", "pain-without-context", "unknown-holds", "doubted", "too-faint", "comparison-weaker", "comparison-hurts", "comparison-low", "no-yardstick", "change-from-first", "earlier-sessions"}[b]
}

// OfComparison reports whether evenness is not confirmed because of the comparison side.
func (b Basis) OfComparison() bool {
	return b == ComparisonWeaker || b == ComparisonHurts || b == ComparisonLow
}

// Criterion is one verdict with everything that explains it.
type Criterion struct {
	Rule      Rule
	Position  shoulder.ArmPosition     // unstated if it is about no position
	Outcome   *protocol.OutcomeMeasure // that it is about; nil for most
	Verdict   Verdict
	Certainty measure.Certainty
	Basis     Basis
	// Value is what was held against Threshold; nil if nothing was measured or
	// the value is no number.
	Value     *exact.Number
	Grade     shoulder.MuscleGrade // the value of a manual test
	Threshold protocol.Threshold
	// Needed is the measurement that would meet the threshold, in Unit: for an
	// index the strength of the involved side, for a range the degrees.
	Needed *exact.Number
	// Measured is the measurement to hold against Needed.
	Measured *exact.Number
	Unit     string
	When     time.Time
	Sources  []shoulder.SourceID
}

// Holds reports whether the criterion keeps its step closed: it is not met, or
// it is not measured where not knowing holds.
func (c *Criterion) Holds() bool {
	return c.Verdict == NotMet || c.Verdict == NotMeasured && c.Rule != PainAcceptable && c.Rule != OutcomeAcceptable
}

func verdictOf(met bool) Verdict {
	if met {
		return Met
	}
	return NotMet
}
