// Package plan turns readiness into a proposal: what to train and how, what to
// measure next and when, what to aim at, and what to be careful about. It
// proposes; the clinician decides.
package plan

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Plan is the proposal that follows from one assessment.
type Plan struct {
	Irritability Irritability
	Exercises    []Exercise
	Requests     []Request
	Goals        []Goal
	// Recheck is when to measure again; while a red flag holds, when to examine.
	Recheck Window
	// Sooner is why the re-check is early, if it is.
	Sooner   Sooner
	Examine  bool // a red flag holds
	Cautions []Caution
}

// Window is a span of days, both included.
type Window struct{ From, To time.Time }

// Irritability is how easily the shoulder is provoked.
//
// Source: McClure and Michener 2015, Physical Therapy 95:791-800.
type Irritability uint8

// The levels. The zero Irritability is not known, and treated like high.
const (
	IrritabilityUnknown Irritability = iota
	HighIrritability
	ModerateIrritability
	LowIrritability
)

// String names the level.
func (i Irritability) String() string {
	return [...]string{"unknown", "high", "moderate", "low"}[i]
}

// Mode is how resistance is given.
type Mode uint8

// The modes, from the gentlest.
const (
	NoResistance Mode = iota
	Isometric
	RhythmicStabilisation
	Isotonic // active, then resisted
)

// String names the mode.
func (m Mode) String() string {
	return [...]string{"none", "isometric", "rhythmic-stabilisation", "isotonic"}[m]
}

// Purpose is why an exercise is in the plan.
type Purpose uint8

// The purposes.
const (
	Strengthen    Purpose = iota // at the open step
	Continue                     // in a lower position that is not even yet
	RestoreRange                 // where range limits
	BeginFunction                // a little, beside the elevated work
	FullFunction                 // takes over from direct cuff work
)

// String is the code of the purpose in the project's code system.
func (p Purpose) String() string {
	return [...]string{"strengthen", "continue-beside", "restore-range", "begin-functional", "functional-strengthening"}[p]
}

// Cue is a set-up instruction. Cues are common practice, without a published
// source.
type Cue uint8

// The cues.
const (
	RollUnderArm     Cue = iota // a small roll between arm and trunk
	ArmOnSurface                // the arm lies on a table or another firm surface
	PullFromAbove               // the line of pull comes from above the arm
	PullLevelOrBelow            // the line of pull is level with the arm or below it
	UpperArmStill               // the upper arm does not move
	NoForwardDrift              // the upper arm does not drift forward in abduction
	MirrorAsFeedback            // a mirror shows whether the arm stays
	PainWithinLimit             // pain stays within the limit and settles by the next session
	DoNotRaiseLoad              // the load is not raised until pain is within the limit
	SurgeonsProtocol            // the operating surgeon's protocol decides
	SubmaximalOnly              // clearly less than full effort, while a repair is young
	NoSportYet                  // no sport with load or contact, while a repair heals
	LoadAsBefore                // the load stays until a doubtful or lower test is repeated or confirmed
	StopAtPain                  // no pain at all, while a repair is young or a test is in doubt
	LoadUntilOutcome            // the load is not raised until an outcome measure meets its gate
)

// String names the cue.
func (c Cue) String() string {
	return [...]string{
		"roll-under-arm", "arm-on-surface", "pull-from-above", "pull-level-or-below", "upper-arm-still",
		"no-forward-drift", "mirror-as-feedback", "pain-within-limit", "do-not-raise-load", "surgeons-protocol",
		"submaximal-only", "no-sport-yet", "load-as-before",
		"stop-at-pain", "load-until-outcome",
	}[c]
}

// SetsUp reports whether a cue is about the set-up of an exercise, and not about how
// much load is allowed.
func (c Cue) SetsUp() bool { return c <= MirrorAsFeedback }

// Exercise is one activity of the plan.
type Exercise struct {
	Purpose  Purpose
	Motion   shoulder.Motion      // unknown for range and function
	Position shoulder.ArmPosition // unstated for range and function
	Support  shoulder.Support
	Movement shoulder.Movement // of range work
	Mode     Mode
	Cues     []Cue
	Dose     protocol.Dose
	// Provisional says that the position is open without a measurement there.
	Provisional bool
	// Held says that the load must not be raised now.
	Held bool
	// Load is the force to work at, nil if the dose gives no share of the strength, or the
	// strength is not known.
	Load *Load
}

// AtHome reports whether the patient can do the exercise alone. Rhythmic stabilisation
// needs a partner who knows how, and is for the clinic.
func (e *Exercise) AtHome() bool { return e.Mode != RhythmicStabilisation }

// Ask is what a request wants to know.
type Ask uint8

// What may be asked for.
const (
	AskStrength    Ask = iota // dynamometry of both sides
	AskRange                  // active range
	AskPain                   // pain during the resisted test
	AskSteadiness             // whether the arm stays still when held free
	AskClearance              // whether resisted work is cleared
	AskRepairDate             // when the cuff was repaired
	AskExamination            // an examination of the shoulder before any load
	AskSurgeon                // contact with the surgeon or the referring physician
	AskSides                  // whether the two sides were exchanged
	AskUnit                   // whether the unit is right
	AskComparison             // strength of the comparison side once more
	AskRestPain               // pain at rest
	AskWorstPain              // worst pain of the day
	AskComplete               // everything in one session
	AskRecord                 // the part of the record that is missing
	AskOutcome                // an outcome measure
	AskPassive                // passive range
)

// String is the code of the request in the project's code system.
func (a Ask) String() string {
	return [...]string{"strength", "range", "pain", "steadiness", "clearance", "repair-date",
		"examination", "surgeon-contact", "sides", "unit", "comparison-side", "rest-pain", "worst-pain", "complete-session", "complete-record", "outcome-measure", "passive-range"}[a]
}

// Why is the reason of a request.
type Why uint8

// The reasons.
const (
	WhyMissing      Why = iota // never measured, or not usable
	WhyStale                   // too old
	WhyProvisional             // the position is open without it
	WhyManualOnly              // a manual test cannot show evenness
	WhyNotAlike                // the sides were tested differently
	WhyConfirm                 // even once, to be confirmed
	WhyAllEven                 // all sessions together do not make evenness likely enough
	WhyHealing                 // resisted work is not cleared
	WhyRoutineCheck            // the regular re-check
	WhyRedFlag                 // a red flag
	WhyTrialsDisagree
	WhySidesMayBeSwapped
	WhyUnitMayBeWrong
	WhyComparisonDeclined
	WhyBeforeFunction // functional work asks for it
	WhyNoYardstick    // to be held against the first measurement
	WhyIncomplete     // some of the record is missing
	WhyRefused        // a clinician has found that the shoulder may not be loaded
	WhyRangesDisagree // a range was measured several times, with different results
	WhyTooFaint       // both sides are too weak for their index to tell anything
	WhyDenied         // a clinician has said that the number is not right
	WhyApart          // one side was tested later than the other
	WhyDemand         // a demand of work or sport asks for it
	WhyUnexamined     // a red flag that nobody has examined is gone by what was measured
)

// String names the reason.
func (w Why) String() string {
	return [...]string{
		"missing", "stale", "provisional", "manual-only", "not-alike", "confirm", "all-even", "healing", "re-check",
		"red-flag", "trials-disagree", "sides-may-be-swapped", "unit-may-be-wrong", "comparison-side-declined",
		"before-function", "no-yardstick", "incomplete", "refused", "ranges-disagree", "too-faint", "not-right", "tested-apart", "demand", "unexamined",
	}[w]
}

// Request is one thing to measure or find out next.
type Request struct {
	Ask      Ask
	Why      Why
	Motion   shoulder.Motion      // of a strength
	Position shoulder.ArmPosition // of a strength or steadiness
	Movement shoulder.Movement    // of a range, active or passive
	Mismatch measure.Mismatch     // for WhyNotAlike
	Outcome  *protocol.OutcomeMeasure
	// First asks for it before anything else, at the next visit; otherwise it
	// belongs to the re-check.
	First bool
	// Settles ranks the strengths of the re-check by what measuring them would settle
	// (settle.go); 0 for what is not ranked.
	Settles int
	When    Window
}

// Aim is what a goal is about.
type Aim uint8

// The aims.
const (
	AimGoodEnough Aim = iota // the index lets the next position open
	AimEven                  // the index is even in the working position
	AimEvenAll               // even in all three positions
	AimRange                 // the range that opens an elevated position
	AimPain                  // pain within the limit
)

// String is the code of the aim in the project's code system.
func (a Aim) String() string {
	return [...]string{"good-enough", "even", "even-in-all-positions", "range", "pain"}[a]
}

// Achievement is how a goal stands.
type Achievement uint8

// The achievements; their codes are FHIR's.
const (
	InProgress Achievement = iota
	Improving
	Worsening
	NoChange
	Achieved
)

// String is the FHIR code.
//
// Source: FHIR R4 4.0.1, CodeSystem goal-achievement.
func (a Achievement) String() string {
	return [...]string{"in-progress", "improving", "worsening", "no-change", "achieved"}[a]
}

// Target is one measurable part of a goal.
type Target struct {
	Position  shoulder.ArmPosition
	Movement  shoulder.Movement
	Threshold protocol.Threshold
	// Value is the target, in the threshold's unit except for a range, where
	// it is in degrees.
	Value exact.Number
	Unit  string
	// Current is the present value, nil if it is not measured, or Doubted.
	Current *exact.Number
	Doubted bool
}

// Goal is something to aim at by a date, which is zero where none can be given.
type Goal struct {
	Aim         Aim
	Motion      shoulder.Motion // unknown for range and pain
	Targets     []Target
	Due         time.Time
	Achievement Achievement
	Sources     []shoulder.SourceID
}

// Caution is something the reader must not lose sight of.
type Caution uint8

// The cautions.
const (
	SupportsJudgement   Caution = iota // supports, does not replace, a licensed clinician
	LocalRulesGovern                   // local codes, the surgeon's protocol and facility policy
	ReferFirst                         // findings that need referral before exercise
	RotatorsOnly                       // the scope is the rotators of the cuff
	SurgeonGoverns                     // resisted work cleared before the usual time
	HealingTissue                      // no resisted test or work yet
	OneSession                         // a single session can rarely prove evenness
	BothSidesWeak                      // the index looks good because both sides are weak
	NoUnaffectedSide                   // no verdict on symmetry
	PainNotRecorded                    // the pain gate is open because nothing is recorded
	PainWithoutContext                 // a pain score without context stands in
	ManualTestLimits                   // a manual test cannot show evenness
	FlexionErrorUnknown                // no published reliability at 90 degrees of flexion
	GrowingPatient                     // under age: published values are of adults, growth plates are open
)

// String is the code of the caution in the project's code system.
func (c Caution) String() string {
	return [...]string{
		"supports-judgement", "local-rules-govern", "refer-first", "rotators-only", "surgeon-governs", "healing-tissue",
		"one-session", "both-sides-weak", "no-unaffected-side", "pain-not-recorded", "pain-without-context",
		"manual-test-limits", "flexion-error-unknown", "growing-patient",
	}[c]
}

// ForEverybody reports whether a caution holds whoever the patient is, or is about the
// method, so that a short page can leave it to the full report.
func (c Caution) ForEverybody() bool {
	switch c {
	case SupportsJudgement, LocalRulesGovern, ReferFirst, RotatorsOnly, OneSession, FlexionErrorUnknown:
		return true
	}
	return false
}

// Make proposes a plan as of a date.
func Make(e *shoulder.Episode, m *measure.Measurements, c *course.Course, r *readiness.Readiness, p *protocol.Protocol, asOf time.Time) *Plan {
	b := &builder{episode: e, m: m, course: c, r: r, p: p, asOf: asOf}
	sooner := b.schedule()
	irritability := b.irritability()
	return &Plan{
		Irritability: irritability,
		Exercises:    b.exercises(irritability),
		Requests:     b.requests(),
		Goals:        b.goals(),
		Recheck:      b.recheck,
		Sooner:       sooner,
		Examine:      r.Examine(),
		Cautions:     b.cautions(),
	}
}

// builder is what every part of the plan is made from.
type builder struct {
	episode *shoulder.Episode
	m       *measure.Measurements
	course  *course.Course // nil without an unaffected side
	r       *readiness.Readiness
	p       *protocol.Protocol
	asOf    time.Time
	recheck Window
}

func (b *builder) inDays(s protocol.Setting) time.Time { return b.asOf.AddDate(0, 0, s.Int()) }
