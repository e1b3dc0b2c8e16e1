// Package protocol holds the thresholds that an assessment decides with: each
// with its comparison, unit and source. A default is embedded; a clinic can
// change any of them in a file of its own.
package protocol

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Protocol is a complete set of thresholds. It is read-only once loaded.
type Protocol struct {
	ID        string    `json:"id"`
	Version   string    `json:"version"`
	Title     string    `json:"title"`
	Trials    Trials    `json:"trials"`
	Error     Error     `json:"error"`
	Pairing   Pairing   `json:"pairing"`
	Certainty Certainty `json:"certainty"`
	Doubt     Doubt     `json:"doubt"`
	RedFlag   RedFlag   `json:"redFlag"`
	Symmetry  Symmetry  `json:"symmetry"`
	Range     Range     `json:"range"`
	Pain      Pain      `json:"pain"`
	Tissue    Tissue    `json:"tissue"`
	Function  Function  `json:"function"`
	Grade     Grade     `json:"grade"`
	Ratio     Ratio     `json:"ratio"`
	ByMass    ByMass    `json:"byMass"`
	Course    Course    `json:"course"`
	Trend     Trend     `json:"trend"`
	Recheck   Recheck   `json:"recheck"`
	Goal      Goal      `json:"goal"`
	Dose      Doses     `json:"dose"`
	// OutcomeMeasures are those that the clinic adds; the default has none.
	OutcomeMeasures []OutcomeMeasure `json:"outcomeMeasures,omitzero"`
	// Demands are those of work and sport that the clinic lists; the default has none.
	Demands []Demand `json:"demands,omitzero"`

	digest string
}

// Trials says how repeated trials become one score.
type Trials struct {
	Score     ScoreRule `json:"score"`
	Minimum   Threshold `json:"minimum"`   // number of trials without a warning
	Variation Threshold `json:"variation"` // coefficient of variation, %
	Outlier   Threshold `json:"outlier"`   // distance from the median of the others, %
	// Published is the number of trials in the mean that the published errors
	// hold for; Share is how much of that error's variance comes from one trial
	// to the next, so that the mean of fewer trials has more of it, %.
	Published Setting `json:"published"`
	Share     Setting `json:"share"`
}

// Error is the measurement error: the standard error of measurement in per
// cent of the score, by measuring condition, and the confidence of statements.
type Error struct {
	Stabilised   Setting   `json:"stabilised"`
	Usual        Setting   `json:"usual"`
	Unstabilised Setting   `json:"unstabilised"`
	Painful      Threshold `json:"painful"` // pain during the test that makes it count as unstabilised
	// FloorForce and FloorTorque are the least standard error of a score, however
	// small the score.
	FloorForce  Setting `json:"floorForce"`  // N
	FloorTorque Setting `json:"floorTorque"` // N.m
	// Day is how much of the error's variance all tests of one side on one day
	// share, %.
	Day      Setting `json:"day"`
	Interval Setting `json:"interval"` // two-sided confidence of intervals, %
	Change   Setting `json:"change"`   // confidence of the minimal detectable change, %
}

// Pairing says how old a measurement may be.
type Pairing struct {
	CarryForward Threshold `json:"carryForward"` // age of the comparison side's score, days
	Current      Threshold `json:"current"`      // age of a measurement that decides, days
}

// Certainty says how probable it has to be that a true value meets a threshold, or changed,
// to be called so; the same improbable to be called the contrary.
type Certainty struct {
	Clear    Threshold `json:"clear"`    // clearly, %
	Probable Threshold `json:"probable"` // probably, %
}

// Doubt says when a measurement is not believed until it was repeated or
// confirmed.
type Doubt struct {
	TrialRatio     Threshold `json:"trialRatio"`     // of a trial to the median of its set, or the inverse
	TrialVariation Threshold `json:"trialVariation"` // coefficient of variation of a set, %
	IndexSingle    Threshold `json:"indexSingle"`    // index of one test that makes exchanged sides likely, %
	IndexMost      Threshold `json:"indexMost"`      // index of most tests of a session that does, %
	UnitTolerance  Threshold `json:"unitTolerance"`  // distance from the factor between two units, %
	ComparisonFall Threshold `json:"comparisonFall"` // mean fall of the comparison side, %
}

// RedFlag says which measurements call for an examination before any loading.
type RedFlag struct {
	Window Threshold `json:"window"` // how far back a fall is looked for, days
	// FalseAlarm is the probability, in per cent, that measurement error alone
	// raises a flag or a doubt of one kind in the answer about a stable patient.
	// The detectable change is corrected for the number of comparisons.
	FalseAlarm    Setting        `json:"falseAlarm"`
	Tests         Threshold      `json:"tests"`         // tests that fell together
	LargeFall     Threshold      `json:"largeFall"`     // fall of a single test, %
	JointFall     Threshold      `json:"jointFall"`     // mean fall of several tests together, %
	GradeFall     Threshold      `json:"gradeFall"`     // whole grades of the manual test
	RangeFall     Threshold      `json:"rangeFall"`     // degrees
	Force         Threshold      `json:"force"`         // near zero, N
	Torque        Threshold      `json:"torque"`        // near zero, N.m
	Grade         GradeThreshold `json:"grade"`         // near zero, manual test
	Elevation     Threshold      `json:"elevation"`     // active elevation that is not reached, degrees
	PassiveExcess Threshold      `json:"passiveExcess"` // passive beyond active elevation, degrees
	WeakExternal  Threshold      `json:"weakExternal"`  // index of external rotation, %
	PainRise      Threshold      `json:"painRise"`
	RestPain      Threshold      `json:"restPain"`
	WorstPain     Threshold      `json:"worstPain"`
	Examine       Setting        `json:"examine"` // how soon to examine, days
}

// Symmetry holds the thresholds of the limb symmetry index.
type Symmetry struct {
	GoodEnough    Threshold `json:"goodEnough"`
	Even          Threshold `json:"even"`
	Confirmations Threshold `json:"confirmations"`
	// ConfirmAfter and ConfirmWithin say how far apart two confirming sessions
	// lie, days. Latest is how old a measurement may be for readiness, counted
	// from the latest session, days.
	ConfirmAfter  Threshold `json:"confirmAfter"`
	ConfirmWithin Threshold `json:"confirmWithin"`
	Latest        Threshold `json:"latest"`
	Dominance     Dominance `json:"dominance"`
	Weak          Threshold `json:"weak"` // N/kg
}

// Dominance corrects the index for the stronger dominant side when enabled.
// Each value is the expected ratio of the dominant to the other side.
type Dominance struct {
	Enabled          bool    `json:"enabled"`
	InternalElevated Setting `json:"internalElevated"`
	InternalAtSide   Setting `json:"internalAtSide"`
	External         Setting `json:"external"`
}

// Expected is the expected ratio of the dominant to the other side.
func (d Dominance) Expected(r shoulder.Motion, p shoulder.ArmPosition) Setting {
	switch {
	case r == shoulder.External:
		return d.External
	case r != shoulder.Internal:
		return Setting{Value: exact.Int(1), Unit: "1", Source: "ours: no difference is known to be published for this motion"}
	case p.Elevated():
		return d.InternalElevated
	}
	return d.InternalAtSide
}

// Range gates the elevated positions by active range.
type Range struct {
	Fraction            Threshold      `json:"fraction"` // of full range, %
	Minimum             Threshold      `json:"minimum"`  // degrees
	FullFlexion         Setting        `json:"fullFlexion"`
	FullAbduction       Setting        `json:"fullAbduction"`
	Reference           RangeReference `json:"reference"`
	Change              Threshold      `json:"change"`
	ChangeOtherExaminer Threshold      `json:"changeOtherExaminer"`
}

// Full is the full range that opens an elevated position.
func (r Range) Full(p shoulder.ArmPosition) Setting {
	if p == shoulder.Abduction90 {
		return r.FullAbduction
	}
	return r.FullFlexion
}

// Pain gates every position, and grades irritability.
type Pain struct {
	Gate             Threshold `json:"gate"`
	Change           Threshold `json:"change"`
	HighIrritability Threshold `json:"highIrritability"`
	LowIrritability  Threshold `json:"lowIrritability"`
}

// Tissue says from which week after a cuff repair each phase of load begins.
// The first value of a pair is for most tears, the second for massive ones.
type Tissue struct {
	ResistedAfter           Threshold `json:"resistedAfter"` // sub-maximal work at the side
	ResistedAfterMassive    Threshold `json:"resistedAfterMassive"`
	ProgressiveAfter        Threshold `json:"progressiveAfter"` // progressive work at the side
	ProgressiveAfterMassive Threshold `json:"progressiveAfterMassive"`
	ElevatedAfter           Threshold `json:"elevatedAfter"` // elevated positions
	ElevatedAfterMassive    Threshold `json:"elevatedAfterMassive"`
	FunctionalAfter         Threshold `json:"functionalAfter"` // functional work
	FunctionalAfterMassive  Threshold `json:"functionalAfterMassive"`
	SportAfter              Threshold `json:"sportAfter"` // sport with load or contact
	SportAfterMassive       Threshold `json:"sportAfterMassive"`
	// PermitAhead is how many weeks before its usual week a phase may be permitted.
	PermitAhead Threshold `json:"permitAhead"`
	Massive     Threshold `json:"massive"` // size of the tear, cm
}

// After is the week from which a phase of load is permitted. The first phase has
// none: it begins with the repair.
func (t *Tissue) After(phase shoulder.LoadPhase, massive bool) Threshold {
	usual, late := [...]Threshold{{}, t.ResistedAfter, t.ProgressiveAfter, t.ElevatedAfter, t.FunctionalAfter, t.SportAfter},
		[...]Threshold{{}, t.ResistedAfterMassive, t.ProgressiveAfterMassive, t.ElevatedAfterMassive, t.FunctionalAfterMassive, t.SportAfterMassive}
	if massive {
		return late[phase]
	}
	return usual[phase]
}

// Function says what functional work needs beside strength, range and time.
type Function struct {
	Pain Threshold `json:"pain"` // at rest and during the resisted test
	// Low is the lower end of the interval of an index for a first amount of
	// functional work, %.
	Low Threshold `json:"low"`
}

// Grade holds the threshold of the manual muscle test.
type Grade struct {
	GoodEnough GradeThreshold `json:"goodEnough"`
}

// GradeThreshold is a threshold on the ordinal scale of the manual test.
type GradeThreshold struct {
	Comparison Comparison           `json:"comparison"`
	Value      shoulder.MuscleGrade `json:"value"`
	Source     string               `json:"source"`
}

// Ratio holds published bands of the external to internal rotation ratio.
type Ratio struct {
	AtSide      Band `json:"atSide"`
	Flexion90   Band `json:"flexion90"`
	Abduction90 Band `json:"abduction90"`
}

// At is the band of a position.
func (r Ratio) At(p shoulder.ArmPosition) Band {
	switch p {
	case shoulder.Flexion90:
		return r.Flexion90
	case shoulder.Abduction90:
		return r.Abduction90
	}
	return r.AtSide
}

// ByMass holds published strengths by body mass with the arm at the side, for
// who has no unaffected side to compare with. N/kg.
type ByMass struct {
	External Band `json:"external"`
	Internal Band `json:"internal"`
}

// Of is the band of a rotation.
func (b ByMass) Of(r shoulder.Motion) (Band, bool) {
	switch r {
	case shoulder.External:
		return b.External, true
	case shoulder.Internal:
		return b.Internal, true
	}
	return Band{}, false
}

// Band is a published band, for orientation and never a gate.
type Band struct {
	Low    exact.Number `json:"low"`
	High   exact.Number `json:"high"`
	Source string       `json:"source"`
}

// Course is what the model of the course assumes beforehand, and from which
// probability it says something. All but the weeks and the thresholds are standard
// deviations in per cent, of a logarithm.
type Course struct {
	// ErrorSpread is how well the size of the measurement error is known; BothSides
	// is the correlation of a good or bad day of both sides, %.
	ErrorSpread Setting `json:"errorSpread"`
	BothSides   Setting `json:"bothSides"`
	// LeastDay is how much of the error's variance the tests of a day share at least;
	// error.day is how much at most. Both are as likely, %.
	LeastDay Setting `json:"leastDay"`
	// Plateau is the index at which recoveries end, %; PlateauSpread is how far
	// patients, TestSpread how far the tests of one patient lie apart there.
	Plateau       Setting `json:"plateau"`
	PlateauSpread Setting `json:"plateauSpread"`
	TestSpread    Setting `json:"testSpread"`
	// Gap is how far below the plateau those are at first who recover, and StableGap
	// those who do not; Fast and Slow are the weeks in which it shrinks to 37 %. A
	// stable course, a fast and a slow recovery are as likely.
	Gap       Setting `json:"gap"`
	GapSpread Setting `json:"gapSpread"`
	StableGap Setting `json:"stableGap"`
	Fast      Setting `json:"fast"`
	Slow      Setting `json:"slow"`
	// The drifts are how far a strength walks in a week: the comparison side's, the
	// plateau of all tests together and of each by itself, and the gap.
	ComparisonDrift Setting `json:"comparisonDrift"`
	PlateauDrift    Setting `json:"plateauDrift"`
	TestDrift       Setting `json:"testDrift"`
	GapDrift        Setting `json:"gapDrift"`
	// From these probabilities on it is said: that all tests are even; that they, or
	// one of them, will be within the horizon, so that a date is given; that it levels
	// off below evenness. %.
	AllEven   Threshold `json:"allEven"`
	Reach     Threshold `json:"reach"`
	ReachOne  Threshold `json:"reachOne"`
	Levelling Threshold `json:"levelling"`
}

// Trend limits what is said about the future.
type Trend struct {
	Sessions Threshold `json:"sessions"`
	Horizon  Threshold `json:"horizon"` // weeks
}

// Recheck is when to measure again, in days.
type Recheck struct {
	Earliest Setting `json:"earliest"`
	Latest   Setting `json:"latest"`
	// After a clear fall of the involved side, or so many strengths that are probably lower;
	// what is later than the above counts for nothing.
	WorseTests    Setting `json:"worseTests"`
	WorseEarliest Setting `json:"worseEarliest"`
	WorseLatest   Setting `json:"worseLatest"`
}

// Goal says when goals are due, in days.
type Goal struct {
	Near Setting `json:"near"` // the next threshold
	Due  Setting `json:"due"`  // evenness in all positions
}

// Doses are the proposed doses by kind of exercise.
type Doses struct {
	Submaximal            Dose `json:"submaximal"` // the first resisted work after a repair
	Isometric             Dose `json:"isometric"`
	RhythmicStabilisation Dose `json:"rhythmicStabilisation"`
	Isotonic              Dose `json:"isotonic"`
	Range                 Dose `json:"range"`
	Functional            Dose `json:"functional"`
	// Progression is when the load of isotonic work is raised, and by how much.
	Progression Dose `json:"progression"`
}

// Dose is a proposed dose, for the clinician to change.
type Dose struct {
	Text   string `json:"text"`
	Source string `json:"source"`
	// Share is the load in per cent of the strength that was tested, nil if the text
	// gives none. The text names it too.
	Share *exact.Number `json:"share,omitzero"`
}

// Digest identifies the content: hexadecimal SHA-256 of its canonical JSON.
func (p *Protocol) Digest() string { return p.digest }

// Ref names the protocol of an answer.
type Ref struct {
	ID      string
	Version string
	Title   string
	Digest  string
}

// Ref names this protocol.
func (p *Protocol) Ref() Ref {
	return Ref{ID: p.ID, Version: p.Version, Title: p.Title, Digest: p.digest}
}
