package intake

import (
	"slices"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// unknownProcedure reads a Procedure whose codes are none of a cuff repair. One on the
// shoulder may be a repair in a code system that is not read: then what is there is not
// all, and opens nothing. Any other is named by its code system and left out.
func (r *reader) unknownProcedure(e *entry, p *fhir.Procedure) {
	if !mayBeDone[p.Status] || r.isNoOperation(p.Code) {
		r.skipType(p.Type())
		return
	}
	if r.onShoulder(p) && r.maybeOfPatient(e) {
		r.operations = append(r.operations, e)
		return
	}
	r.skipType(p.Type())
	if isUncoded(p.Code) {
		return
	}
	system := codeSystems[p.Code.Coding[0].System]
	if slices.Contains(r.procedureSystems, system) {
		return
	}
	r.procedureSystems = append(r.procedureSystems, system)
	r.note(e.pathBase(), "code", fault.NotRead, "a procedure whose code is not known here; expected a cuff repair in SNOMED CT, or a map of the site's codes", "")
	r.lastIssue(fault.Subject{Kind: fault.OfProcedure, CodeSystem: system})
}

// reportOperations reports the procedures on the shoulder that nobody can tell from a
// repair, but for those so long ago that a repair would no longer limit anything.
func (r *reader) reportOperations() {
	newest := r.latestMeasurement()
	for _, e := range r.operations {
		p, _ := e.resource.(*fhir.Procedure)
		text, _ := performed(p.Performed)
		when, dated := r.dateTime(text)
		if dated && (when.after(r.latest) || when.time.AddDate(longestHealing, 0, 0).Before(newest)) {
			continue
		}
		subject := fault.Subject{Kind: fault.OfProcedure, When: when.time}
		if !isUncoded(p.Code) {
			subject.CodeSystem = codeSystems[p.Code.Coding[0].System]
		}
		from := len(r.issues)
		r.warn(e.pathBase(), "code", fault.CodeUnknown, "a procedure on the shoulder whose code is not known here; it may be a repair of the cuff; expected its code in SNOMED CT", "")
		r.lastIssue(subject)
		r.lostMeasurements = append(r.lostMeasurements, lostMeasurement{e, from, len(r.issues)})
	}
}

// lastIssue says what the latest issue is about.
func (r *reader) lastIssue(subject fault.Subject) {
	if n := len(r.issues); n > 0 && r.unlisted == 0 {
		r.issues[n-1].Subject = subject
	}
}

// longestHealing is after how many years no repair limits the load any more.
//
// Source: ours; twice the weeks of a massive repair in the default protocol.
const longestHealing = 1

// mayBeDone are the states of a procedure that may have been performed.
var mayBeDone = map[string]bool{"completed": true, "in-progress": true, "on-hold": true, "stopped": true, "unknown": true}

// isNoOperation reports whether a procedure is known to leave the tendon as it is.
func (r *reader) isNoOperation(concept *fhir.CodeableConcept) bool {
	return concept != nil && slices.ContainsFunc(concept.Coding, func(c fhir.Coding) bool {
		return c.System == fhir.SystemSNOMED && noOperations[c.Code]
	})
}

// noOperations are procedures after which no tendon has to heal.
//
// Source: SNOMED CT, from memory: physical therapy, exercise therapy, evaluation, imaging, open
// acromioplasty.
var noOperations = map[string]bool{"91251008": true, "229065009": true, "386053000": true, "363679005": true, "297709009": true}

// onShoulder reports whether a procedure names the shoulder or its cuff by its body site or
// in words. The words only ever hold back.
func (r *reader) onShoulder(p *fhir.Procedure) bool {
	for i := range p.BodySite {
		if r.bodySite(&p.BodySite[i]).shoulder || namesShoulder(p.BodySite[i].Text) {
			return true
		}
	}
	if p.Code == nil {
		return false
	}
	return namesShoulder(p.Code.Text) || slices.ContainsFunc(p.Code.Coding, func(c fhir.Coding) bool { return namesShoulder(c.Display) })
}

// shoulderWords name the shoulder or its cuff in English, German and French.
var shoulderWords = [...]string{
	"shoulder", "cuff", "schulter", "rotatorenmanschette", "épaule", "epaule", "coiffe", "supraspinat", "infraspinat", "subscapular", "supra-épineux",
}

func namesShoulder(text string) bool {
	text = strings.ToLower(text)
	return slices.ContainsFunc(shoulderWords[:], func(word string) bool { return strings.Contains(text, word) })
}

// codeSystems are the short names of code systems of procedures.
//
// Source: HL7 Terminology (THO), external code systems; OPS, CHOP and CCAM by their
// national publishers.
var codeSystems = map[string]string{
	fhir.SystemSNOMED:                                "SNOMED CT",
	"http://www.ama-assn.org/go/cpt":                 "CPT",
	"http://www.cms.gov/Medicare/Coding/ICD10":       "ICD-10-PCS",
	"http://hl7.org/fhir/sid/icd-9-cm":               "ICD-9-CM",
	"http://fhir.de/CodeSystem/bfarm/ops":            "OPS",
	"http://fhir.de/CodeSystem/dimdi/ops":            "OPS",
	"https://interop.esante.gouv.fr/CodeSystem/ccam": "CCAM",
}
