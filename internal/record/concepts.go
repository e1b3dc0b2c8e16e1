package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// The concepts here are shared by all resources and never changed.

// computed holds the concepts of our own codes by code.
var computed = func() map[string]fhir.CodeableConcept {
	concepts := make(map[string]fhir.CodeableConcept, len(fhir.Computed))
	for _, c := range fhir.Computed {
		concepts[c.Code] = fhir.CodeableConcept{Coding: []fhir.Coding{c}}
	}
	return concepts
}()

// profiles holds the meta that claims the profile of a kind of result, by code.
var profiles = func() map[string]*fhir.Meta {
	metas := make(map[string]*fhir.Meta, len(fhir.Computed))
	for _, c := range fhir.Computed {
		metas[c.Code] = &fhir.Meta{Profile: []string{profileOf(c.Code)}}
	}
	return metas
}()

func standard(system, code, display string) fhir.CodeableConcept {
	return fhir.CodeableConcept{Coding: []fhir.Coding{{System: system, Code: code, Display: display}}}
}

// ownConcept is a concept with its only coding.
type ownConcept struct {
	concept fhir.CodeableConcept
	coding  [1]fhir.Coding
}

// own is one of our codes with a text for people.
func (b *builder) own(code, text string) *fhir.CodeableConcept {
	c := b.concepts.One()
	c.coding[0] = fhir.Coding{System: fhir.SystemShoulder, Code: code}
	c.concept = fhir.CodeableConcept{Coding: c.coding[:], Text: text}
	return &c.concept
}

var exam = []fhir.CodeableConcept{standard(fhir.SystemObservationCategory, "exam", "Exam")}

// The interpretations against a reference range, and against the previous
// result.
//
// Source: FHIR R4 4.0.1, v3-ObservationInterpretation.
var (
	normal = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "N", "Normal")}
	low    = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "L", "Low")}
	high   = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "H", "High")}
	better = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "B", "Better")}
	worse  = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "W", "Worse")}

	abnormal = []fhir.CodeableConcept{standard(fhir.SystemInterpretation, "A", "Abnormal")}

	equivocal = standard(fhir.SystemInterpretation, "E", "Equivocal")
)

// The reasons for an absent value.
//
// Source: FHIR R4 4.0.1, data-absent-reason.
var (
	minusInfinity = standard(fhir.SystemDataAbsentReason, "negative-infinity", "Negative Infinity (NINF)")
	plusInfinity  = standard(fhir.SystemDataAbsentReason, "positive-infinity", "Positive Infinity (PINF)")
	unknown       = standard(fhir.SystemDataAbsentReason, "unknown", "Unknown")
	notANumber    = standard(fhir.SystemDataAbsentReason, "not-a-number", "Not a Number (NaN)")
)

var (
	recommended = standard(fhir.SystemReferenceRangeMeaning, "recommended", "Recommended Range")
	normalRange = standard(fhir.SystemReferenceRangeMeaning, "normal", "Normal Range")
)

var (
	rightShoulder = standard(fhir.SystemSNOMED, fhir.SNOMEDRightShoulder, "Structure of right shoulder region")
	leftShoulder  = standard(fhir.SystemSNOMED, fhir.SNOMEDLeftShoulder, "Structure of left shoulder region")
)

// shoulderOf is the body site of a side, nil if it is unknown.
func shoulderOf(s shoulder.Side) *fhir.CodeableConcept {
	switch s {
	case shoulder.Right:
		return &rightShoulder
	case shoulder.Left:
		return &leftShoulder
	}
	return nil
}

// motionComponent says which motion a result is about, by its standard code.
func (b *builder) motionComponent(r shoulder.Rotation) fhir.Component {
	codes := fhir.CodesOf(r)
	if b.rotations[r] == nil {
		b.rotations[r] = &fhir.CodeableConcept{Coding: []fhir.Coding{codes.Motion}, Text: b.w.Rotation(r)}
	}
	return component(codes.Component, b.rotations[r])
}

// rangeConcept is the standard code of a range of motion.
func rangeConcept(m shoulder.Movement, active bool) fhir.CodeableConcept {
	if active {
		return activeRanges[m]
	}
	return passiveRanges[m]
}

var (
	activeRanges = [...]fhir.CodeableConcept{
		shoulder.Flexion:          standard(fhir.SystemLOINC, fhir.LOINCFlexionActive, "Shoulder Flexion Active Range of Motion Quantitative"),
		shoulder.Abduction:        standard(fhir.SystemLOINC, fhir.LOINCAbductionActive, "Shoulder Abduction Active Range of Motion Quantitative"),
		shoulder.ExternalRotation: standard(fhir.SystemLOINC, fhir.LOINCExternalRotationActive, "Shoulder External rotation Active Range of Motion Quantitative"),
		shoulder.InternalRotation: standard(fhir.SystemLOINC, fhir.LOINCInternalRotationActive, "Shoulder Internal rotation Active Range of Motion Quantitative"),
	}
	passiveRanges = [...]fhir.CodeableConcept{
		shoulder.Flexion:          standard(fhir.SystemLOINC, fhir.LOINCFlexionPassive, "Shoulder Flexion Passive Range of Motion Quantitative"),
		shoulder.Abduction:        standard(fhir.SystemLOINC, fhir.LOINCAbductionPassive, "Shoulder Abduction Passive Range of Motion Quantitative"),
		shoulder.ExternalRotation: standard(fhir.SystemLOINC, fhir.LOINCExternalRotationPassive, "Shoulder External rotation Passive Range of Motion Quantitative"),
		shoulder.InternalRotation: standard(fhir.SystemLOINC, fhir.LOINCInternalRotationPassive, "Shoulder Internal rotation Passive Range of Motion Quantitative"),
	}
)

var painScore = standard(fhir.SystemLOINC, fhir.LOINCPainVerbalRating, "Pain severity - 0-10 verbal numeric rating [Score] - Reported")

// outcomeConcept is the code of an outcome measure that is written.
func outcomeConcept(m *protocol.OutcomeMeasure) fhir.CodeableConcept {
	return standard(m.Codes[0].System, m.Codes[0].Code, m.Codes[0].Display)
}

// CriterionCode is our code of a rule in an arm position, such as
// even-abduction-90, or of a rule about no position, such as tissue-healed.
// With the suffix -value it is the code of what was held against the threshold.
func CriterionCode(r readiness.Rule, p shoulder.ArmPosition) string {
	if p == shoulder.PositionUnstated {
		return r.String()
	}
	return r.String() + "-" + p.String()
}
