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
	ID       string   `json:"id"`
	Version  string   `json:"version"`
	Title    string   `json:"title"`
	Trials   Trials   `json:"trials"`
	Error    Error    `json:"error"`
	Pairing  Pairing  `json:"pairing"`
	Symmetry Symmetry `json:"symmetry"`
	Range    Range    `json:"range"`
	Pain     Pain     `json:"pain"`
	Tissue   Tissue   `json:"tissue"`
	Grade    Grade    `json:"grade"`
	Ratio    Ratio    `json:"ratio"`
	Trend    Trend    `json:"trend"`
	Recheck  Recheck  `json:"recheck"`
	Goal     Goal     `json:"goal"`
	Dose     Doses    `json:"dose"`

	digest string
}

// Trials says how repeated trials become one score.
type Trials struct {
	Score     ScoreRule `json:"score"`
	Minimum   Threshold `json:"minimum"`   // number of trials without a warning
	Variation Threshold `json:"variation"` // coefficient of variation, %
	Outlier   Threshold `json:"outlier"`   // distance from the median of the others, %
}

// Error is the measurement error: the standard error of measurement in per
// cent of the score, by measuring condition, and the confidence of statements.
type Error struct {
	Stabilised   Setting   `json:"stabilised"`
	Usual        Setting   `json:"usual"`
	Unstabilised Setting   `json:"unstabilised"`
	Painful      Threshold `json:"painful"`  // pain during the test that makes it count as unstabilised
	Interval     Setting   `json:"interval"` // two-sided confidence of intervals, %
	Change       Setting   `json:"change"`   // confidence of the minimal detectable change, %
}

// Pairing says how old a measurement may be.
type Pairing struct {
	CarryForward Threshold `json:"carryForward"` // age of the comparison side's score, days
	Current      Threshold `json:"current"`      // age of a measurement that decides, days
}

// Symmetry holds the thresholds of the limb symmetry index.
type Symmetry struct {
	GoodEnough    Threshold `json:"goodEnough"`
	Even          Threshold `json:"even"`
	Confirmations Threshold `json:"confirmations"`
	// Drift is how far the true index moves in a week, as a standard deviation
	// in per cent of itself; Pooled is the probability, from all sessions
	// together, that confirms evenness.
	Drift     Setting   `json:"drift"`
	Pooled    Threshold `json:"pooled"`
	Dominance Dominance `json:"dominance"`
	Weak      Threshold `json:"weak"` // N/kg
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
func (d Dominance) Expected(r shoulder.Rotation, p shoulder.ArmPosition) Setting {
	switch {
	case r == shoulder.External:
		return d.External
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

// Tissue gates resisted work after a cuff repair.
type Tissue struct {
	ResistedAfter        Threshold `json:"resistedAfter"`        // weeks since the repair
	ResistedAfterMassive Threshold `json:"resistedAfterMassive"` // weeks since the repair of a massive tear
	Massive              Threshold `json:"massive"`              // size of the tear, cm
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
	return [...]Band{r.AtSide, r.AtSide, r.Flexion90, r.Abduction90}[p]
}

// Band is a published band, for orientation and never a gate.
type Band struct {
	Low    exact.Number `json:"low"`
	High   exact.Number `json:"high"`
	Source string       `json:"source"`
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
}

// Goal says when goals are due, in days.
type Goal struct {
	Near Setting `json:"near"` // the next threshold
	Due  Setting `json:"due"`  // evenness in all positions
}

// Doses are the proposed doses by kind of exercise.
type Doses struct {
	Isometric             Dose `json:"isometric"`
	RhythmicStabilisation Dose `json:"rhythmicStabilisation"`
	Isotonic              Dose `json:"isotonic"`
	Range                 Dose `json:"range"`
	Functional            Dose `json:"functional"`
}

// Dose is a proposed dose, for the clinician to change.
type Dose struct {
	Text   string `json:"text"`
	Source string `json:"source"`
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
