package intake

import (
	"fmt"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// code is a code in a code system.
type code struct{ code, system string }

func ours(c string) code   { return code{c, fhir.SystemShoulder} }
func loinc(c string) code  { return code{c, fhir.SystemLOINC} }
func snomed(c string) code { return code{c, fhir.SystemSNOMED} }

// measure is what an Observation is about.
type measure struct {
	kind     kind
	motion   shoulder.Motion   // strength, grade
	movement shoulder.Movement // motion
	active   bool              // motion: moved by the patient
	side     shoulder.Side     // when the code itself says it
	outcome  *protocol.OutcomeMeasure
}

// measures maps the codes that are read to what they measure.
var measures = withMotions(map[code]measure{
	loinc(fhir.LOINCFlexionActive):           {kind: motion, movement: shoulder.Flexion, active: true},
	loinc(fhir.LOINCFlexionPassive):          {kind: motion, movement: shoulder.Flexion},
	loinc(fhir.LOINCAbductionActive):         {kind: motion, movement: shoulder.Abduction, active: true},
	loinc(fhir.LOINCAbductionPassive):        {kind: motion, movement: shoulder.Abduction},
	loinc(fhir.LOINCExternalRotationActive):  {kind: motion, movement: shoulder.ExternalRotation, active: true},
	loinc(fhir.LOINCExternalRotationPassive): {kind: motion, movement: shoulder.ExternalRotation},
	loinc(fhir.LOINCInternalRotationActive):  {kind: motion, movement: shoulder.InternalRotation, active: true},
	loinc(fhir.LOINCInternalRotationPassive): {kind: motion, movement: shoulder.InternalRotation},

	loinc(fhir.LOINCLeftFlexionActive):            {kind: motion, movement: shoulder.Flexion, active: true, side: shoulder.Left},
	loinc(fhir.LOINCRightFlexionActive):           {kind: motion, movement: shoulder.Flexion, active: true, side: shoulder.Right},
	loinc(fhir.LOINCLeftAbductionActive):          {kind: motion, movement: shoulder.Abduction, active: true, side: shoulder.Left},
	loinc(fhir.LOINCRightInternalRotationPassive): {kind: motion, movement: shoulder.InternalRotation, side: shoulder.Right},

	loinc(fhir.LOINCPainVerbalRating):  {kind: pain},
	loinc(fhir.LOINCPainNumericRating): {kind: pain},
	snomed(fhir.SNOMEDPainScore):       {kind: pain},

	ours(fhir.CodeArmHeldSteady):        {kind: steadiness},
	ours(fhir.CodeLeverArmLength):       {kind: lever},
	ours(fhir.CodeResistedClearance):    {kind: clearance},
	ours(fhir.CodeExaminedAndCleared):   {kind: examination},
	ours(fhir.CodePermittedLoad):        {kind: permit},
	ours(fhir.CodeMeasurementConfirmed): {kind: confirmation},
	ours(fhir.CodeCuffTearSize):         {kind: tear},
	snomed(fhir.SNOMEDHandedness):       {kind: handedness},
	loinc(fhir.LOINCBodyWeight):         {kind: bodyMass},
	loinc(fhir.LOINCBodyHeight):         {kind: bodyHeight},
})

// withMotions adds the codes of the strength and the grade of each motion.
func withMotions(all map[code]measure) map[code]measure {
	for _, m := range shoulder.Motions {
		codes := fhir.CodesOf(m)
		all[ours(codes.Strength)] = measure{kind: strength, motion: m}
		all[ours(codes.Grade)] = measure{kind: grade, motion: m}
	}
	return all
}

// computed are the project's own codes of results, which are never read as measurements.
var computed = computedCodes()

func computedCodes() map[code]bool {
	set := make(map[code]bool, len(fhir.Computed))
	for _, c := range fhir.Computed {
		if _, isComponent := componentCodes[c.Code]; !isComponent {
			set[ours(c.Code)] = true
		}
	}
	return set
}

// The codes of the enumerations of the package shoulder.
var (
	positions    = byCode(shoulder.Positions[:]...)
	supports     = byCode(shoulder.Supported, shoulder.Unsupported)
	contractions = byCode(shoulder.Make, shoulder.Break)
	instruments  = byCode(shoulder.Handheld, shoulder.BeltStabilised, shoulder.Isokinetic)
	painContexts = byCode(shoulder.PainAtRest, shoulder.PainDuringResistedTest, shoulder.PainWorst24h)
	loadPhases   = byCode(shoulder.LoadPhases[:]...)
	sideCodes    = byCode(shoulder.Right, shoulder.Left)
)

func byCode[T fmt.Stringer](values ...T) map[string]T {
	m := make(map[string]T, len(values))
	for _, v := range values {
		m[v.String()] = v
	}
	return m
}

// measured reads what an Observation is about. It adds an issue and reports false if that
// is nothing that is read.
func (r *reader) measured(e *entry, concept *fhir.CodeableConcept) (m measure, local siteDetails, ok bool) {
	for i := range concept.Coding {
		means := r.interpret(&r.caches.codes, &concept.Coding[i])
		next := means.term.measure
		if next.kind == nothing {
			if means.term.computed {
				if r.takeEarlierResult(e) {
					return measure{}, siteDetails{}, false
				}
				r.leaveOut(e, codingPath("code", i), "a computed result; it is computed anew from the measurements", concept)
				return measure{}, siteDetails{}, false
			}
			if means.isOurs {
				r.warn(e.pathBase(), codingPath("code", i), fault.CodeUnknown, "no such measurement in our code system; expected a code of "+fhir.SystemShoulder, concept.Coding[i].Code)
				return measure{}, siteDetails{}, false
			}
			continue
		}
		merged, agree := local.merge(means.siteDetails, next.side)
		if m.kind != nothing && !m.sameButSide(next) || !agree {
			r.warn(e.pathBase(), "code", fault.CodeUnknown, "the codings name different measurements; expected them to mean the same", "")
			return measure{}, siteDetails{}, false
		}
		m, local = next, merged
	}
	if m.kind == nothing {
		r.leaveOut(e, "code", "a code outside the scope of the assessment", concept)
		return measure{}, siteDetails{}, false
	}
	return m, local, true
}

// sameButSide reports whether two codes mean the same but for the side.
func (m measure) sameButSide(other measure) bool {
	m.side, other.side = shoulder.SideUnknown, shoulder.SideUnknown
	return m == other
}
