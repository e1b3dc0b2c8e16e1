package intake

import (
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
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

// spareForOperations spares the shoulder for the procedures that nobody can tell from a
// repair, and says so, but for those so long ago that a repair would no longer limit
// anything: while the tendon would heal no resisted work is permitted, and nothing is opened.
// It does the same for those among the entries that were dropped before it was known what
// they are.
func (r *reader) spareForOperations() {
	newest := r.latestMeasurement()
	for _, e := range r.operations {
		if p, _ := e.resource.(*fhir.Procedure); r.mayHeal(p, newest) {
			r.reportOperation(e, p)
			r.spareFor(e, p, shoulder.RepairPossible)
		}
	}
	for _, e := range r.lostEntries {
		p, ok := e.resource.(*fhir.Procedure)
		if !ok || notDone[p.Status] || !r.maybeOfPatient(e) {
			continue
		}
		if kind := r.repairKind(p.Code); kind != shoulder.RepairUnstated {
			r.spareFor(e, p, kind)
		} else if r.onShoulder(p) && !r.isNoOperation(p.Code) && r.mayHeal(p, newest) {
			r.spareFor(e, p, shoulder.RepairPossible)
		}
	}
}

// mayHeal reports whether a repair that an operation may have been may still limit the load.
func (r *reader) mayHeal(p *fhir.Procedure, newest time.Time) bool {
	text, _ := performed(p.Performed)
	when, dated := r.dateTime(text)
	return !dated || !r.isLater(when) && !when.time.AddDate(longestHealing, 0, 0).Before(newest)
}

func (r *reader) reportOperation(e *entry, p *fhir.Procedure) {
	text, _ := performed(p.Performed)
	when, _ := r.dateTime(text)
	subject := fault.Subject{Kind: fault.OfProcedure, When: when.time}
	if !isUncoded(p.Code) {
		subject.CodeSystem = codeSystems[p.Code.Coding[0].System]
	}
	from := len(r.issues)
	r.warn(e.pathBase(), "code", fault.CodeUnknown, "a procedure on the shoulder whose code is not known here; it may be a repair of the cuff; expected its code in SNOMED CT", "")
	r.lastIssue(subject)
	r.lostMeasurements = append(r.lostMeasurements, lostMeasurement{e, from, len(r.issues)})
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

// notDone are the states of a procedure that was not performed.
var notDone = map[string]bool{"preparation": true, "not-done": true, "entered-in-error": true}

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

// onShoulder reports whether a procedure names the shoulder or its cuff by its body site, its
// code or in words. The words only ever hold back.
func (r *reader) onShoulder(p *fhir.Procedure) bool {
	for i := range p.BodySite {
		if r.bodySite(&p.BodySite[i]).shoulder || namesShoulder(p.BodySite[i].Text) {
			return true
		}
	}
	if p.Code == nil {
		return false
	}
	return namesShoulder(p.Code.Text) || slices.ContainsFunc(p.Code.Coding, func(c fhir.Coding) bool {
		return namesShoulder(c.Display) || isShoulderCode(c)
	})
}

// shoulderCodes are the chapters of operations on the shoulder in code systems that are not
// read otherwise: the first and the last code of each, compared as far as the latter goes.
//
// Source: CPT, ICD-10-PCS (repair, reattachment and supplement of a shoulder tendon) and OPS,
// from memory.
var shoulderCodes = map[string][][2]string{
	"http://www.ama-assn.org/go/cpt":           {{"23000", "23929"}, {"29805", "29828"}},
	"http://www.cms.gov/Medicare/Coding/ICD10": {{"0LQ1", "0LQ2"}, {"0LM1", "0LM2"}, {"0LU1", "0LU2"}},
	"http://fhir.de/CodeSystem/bfarm/ops":      {{"5-805", "5-805"}, {"5-814", "5-814"}},
	"http://fhir.de/CodeSystem/dimdi/ops":      {{"5-805", "5-805"}, {"5-814", "5-814"}},
}

func isShoulderCode(c fhir.Coding) bool {
	return slices.ContainsFunc(shoulderCodes[c.System], func(chapter [2]string) bool {
		n := len(chapter[1])
		return len(c.Code) >= n && c.Code[:n] >= chapter[0] && c.Code[:n] <= chapter[1]
	})
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
