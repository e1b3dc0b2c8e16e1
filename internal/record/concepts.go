package record

import (
	"fmt"
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// The concepts here are shared by all resources and must not be changed.

// computed holds the concepts of the project's own codes by code. They have no display,
// because the published CodeSystem has it.
var computed = func() map[string]fhir.CodeableConcept {
	concepts := make(map[string]fhir.CodeableConcept, len(fhir.Computed))
	for _, c := range fhir.Computed {
		concepts[c.Code] = ownCode(c.Code)
	}
	return concepts
}()

// titles holds the displays of our own codes by code.
var titles = func() map[string]string {
	displays := make(map[string]string, len(fhir.Computed))
	for _, c := range fhir.Computed {
		displays[c.Code] = c.Display
	}
	return displays
}()

// profiles holds the meta that claims the profile of a kind of result, by code.
var profiles = func() map[string]*fhir.Meta {
	metas := make(map[string]*fhir.Meta, len(fhir.Computed))
	for _, c := range fhir.Computed {
		metas[c.Code] = &fhir.Meta{Profile: []string{profileOf(c.Code)}}
	}
	return metas
}()

// standard is a code of a standard terminology, with its display.
func standard(system, code, display string) fhir.CodeableConcept {
	return fhir.CodeableConcept{Coding: []fhir.Coding{{System: system, Code: code, Display: display}}}
}

// hl7 is a code of an HL7 code system, without a display because the code can be read.
func hl7(system, code string) fhir.CodeableConcept { return standard(system, code, "") }

// ownCode is one of the project's own codes.
func ownCode(code string) fhir.CodeableConcept { return hl7(fhir.SystemShoulder, code) }

// ruleConcepts holds the codes of the rules that have a threshold, by code. The
// PlanDefinition of the protocol has an action for each, with its source.
var ruleConcepts = func() map[string]*fhir.CodeableConcept {
	concepts := map[string]*fhir.CodeableConcept{}
	add := func(code string) {
		concept := ownCode(code)
		concepts[code] = &concept
	}
	for _, r := range readiness.Rules {
		add(r.String())
	}
	for _, f := range redflag.Codes {
		add(f.String())
	}
	return concepts
}()

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

// coded is the code of an enumeration of ours, without a text.
func (b *builder) coded(of fmt.Stringer) *fhir.CodeableConcept { return b.own(of.String(), "") }

var exam = []fhir.CodeableConcept{hl7(fhir.SystemObservationCategory, "exam")}

// The interpretations against a reference range, and against the previous
// result.
//
// Source: FHIR R4 4.0.1, v3-ObservationInterpretation.
var (
	normal = []fhir.CodeableConcept{hl7(fhir.SystemInterpretation, "N")}
	low    = []fhir.CodeableConcept{hl7(fhir.SystemInterpretation, "L")}
	high   = []fhir.CodeableConcept{hl7(fhir.SystemInterpretation, "H")}
	better = hl7(fhir.SystemInterpretation, "B")
	worse  = hl7(fhir.SystemInterpretation, "W")

	abnormal = []fhir.CodeableConcept{hl7(fhir.SystemInterpretation, "A")}

	equivocal = hl7(fhir.SystemInterpretation, "E")
)

// unsure interprets a verdict that is not sure, as directions does a change; nil for one
// that is.
var unsure = [...][]fhir.CodeableConcept{
	measure.ProbablyNot: {withOwnCode(equivocal, measure.ProbablyNot.String())},
	measure.NotClear:    {equivocal},
	measure.ProbablyMet: {withOwnCode(equivocal, measure.ProbablyMet.String())},
	measure.ClearlyMet:  nil,
}

// directions interpret a change by the standard code, and by ours as well where that says
// more.
var directions = [...][]fhir.CodeableConcept{
	measure.Unchanged: {equivocal},
	measure.Improved:  {better},
	measure.Declined:  {worse},

	measure.PossiblyDeclined: {withOwnCode(equivocal, measure.PossiblyDeclined.String())},
	measure.PossiblyImproved: {withOwnCode(equivocal, measure.PossiblyImproved.String())},
}

// withOwnCode adds a more specific code of the project to a standard code.
func withOwnCode(standard fhir.CodeableConcept, code string) fhir.CodeableConcept {
	return fhir.CodeableConcept{Coding: append(slices.Clip(standard.Coding), ownCode(code).Coding...)}
}

// The reasons for an absent value.
//
// Source: FHIR R4 4.0.1, data-absent-reason.
var (
	minusInfinity = hl7(fhir.SystemDataAbsentReason, "negative-infinity")
	plusInfinity  = hl7(fhir.SystemDataAbsentReason, "positive-infinity")
	notANumber    = hl7(fhir.SystemDataAbsentReason, "not-a-number")
	notPerformed  = hl7(fhir.SystemDataAbsentReason, "not-performed")
	notYetKnown   = hl7(fhir.SystemDataAbsentReason, "temp-unknown")
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
func (b *builder) motionComponent(r shoulder.Motion) fhir.Component {
	codes := fhir.CodesOf(r)
	if b.motions[r] == nil {
		b.motions[r] = &fhir.CodeableConcept{Coding: []fhir.Coding{{System: codes.Motion.System, Code: codes.Motion.Code}}, Text: b.w.Motion(r)}
	}
	return component(codes.Component, b.motions[r])
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

// CriterionCode is the project's code of a rule in an arm position, such as
// even-abduction-90, or of a rule about no position, such as tissue-healed. With the
// suffix -value it is the code of the value that was compared with the threshold.
func CriterionCode(r readiness.Rule, p shoulder.ArmPosition) string {
	if p == shoulder.PositionUnstated {
		return r.String()
	}
	return r.String() + "-" + p.String()
}
