package intake

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// malformed is an entry that is not valid FHIR R4, with its problems. Its resource holds
// what could be decoded and may be nil.
type malformed struct {
	issues []fault.Issue
	*entry
}

// maxMalformed is how many malformed entries are listed; the others are counted.
const maxMalformed = fhir.MaxIssues

// dropMalformed lists the entries that are not FHIR R4, each with its reasons.
func (r *reader) dropMalformed(all []malformed) {
	for i, m := range all {
		if m.resource != nil {
			r.lostEntries = append(r.lostEntries, m.entry)
		}
		if i >= maxMalformed {
			continue
		}
		for _, issue := range m.issues {
			issue.Severity = fault.Warning
			issue.Detail += "; this entry is not used"
			r.issues = append(r.issues, issue)
		}
	}
	if more := len(all) - maxMalformed; more > 0 {
		r.issues = append(r.issues, fault.Issue{
			Severity: fault.Warning, Kind: fault.Structure, Path: r.root,
			Detail:     "more entries that are not FHIR R4 than are listed; none of them is used",
			Diagnostic: "found " + strconv.Itoa(more) + " more",
		})
	}
}

// reportLostEntries reports the entries that were dropped before it was known what they
// are, and that may matter: those that may forbid load, and those that may be the latest
// measurement. Leaving them out must not permit more than reading them would have.
func (r *reader) reportLostEntries() {
	latest := r.latestDay()
	r.missLost(latest)
	for _, e := range r.lostEntries {
		if !r.maybeOfPatient(e) || !r.mayMatter(e, latest) {
			continue
		}
		r.incomplete = true
		r.warn(e.pathBase(), "", fault.InputIncomplete,
			"this entry, which is not used, may be about the shoulder; it counts as missing, and nothing is opened without it", "")
	}
}

// latestDay is the day of the latest measurement of the shoulder.
func (r *reader) latestDay() (latest day) {
	for _, f := range r.findings {
		if f.isOfShoulder() {
			latest = max(latest, f.when.day())
		}
	}
	return latest
}

// maybeOfPatient reports whether a resource may be about the patient: nothing says that it
// is about somebody else.
func (r *reader) maybeOfPatient(e *entry) bool {
	subject := fhir.SubjectOf(e.resource)
	_, about := r.patientKey(subject, e)
	return about == subjectUnknown || r.isPatient(subject, e)
}

// mayMatter reports whether a resource may change the assessment, as far as it can be
// read. Where it cannot be read it is assumed to.
func (r *reader) mayMatter(e *entry, latest day) bool {
	switch resource := e.resource.(type) {
	case *fhir.Procedure:
		return isUncoded(resource.Code) || r.repairKind(resource.Code) != shoulder.RepairUnstated || r.onShoulder(resource) && !r.isNoOperation(resource.Code)
	case *fhir.Condition:
		return isUncoded(resource.Code) || r.holds(historyOfRepair, resource.Code) || r.holds(shoulderConditions, resource.Code)
	case *fhir.Observation:
		f := finding{measure: r.measureOf(&resource.Code)}
		text, _ := effective(resource.Effective)
		when, dated := r.dateTime(text)
		mayBeLatest := !dated || when.day() >= latest
		switch {
		case isUncoded(&resource.Code) || f.isOfShoulder():
			return mayBeLatest
		case f.kind == handedness:
			return false
		}
		return f.kind != nothing && !f.inSession()
	}
	return false
}

// isUncoded reports whether a concept has no code that could tell what it is.
func isUncoded(concept *fhir.CodeableConcept) bool {
	if concept == nil {
		return true
	}
	for i := range concept.Coding {
		if concept.Coding[i].Code != "" {
			return false
		}
	}
	return true
}

// measureOf is the measure that the codings of a concept name.
func (r *reader) measureOf(concept *fhir.CodeableConcept) (m measure) {
	for i := range concept.Coding {
		if found := r.interpret(&r.caches.codes, &concept.Coding[i]).term.measure; found.kind != nothing {
			return found
		}
	}
	return m
}
