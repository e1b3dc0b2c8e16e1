package intake

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// malformed is an entry that is not FHIR R4, with what is wrong. Its resource, what
// could be made out of it, may be nil.
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
			r.lost = append(r.lost, m.entry)
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

// missLost tells which of the entries that were dropped without having been understood
// may be missed: what may forbid something, and a measurement that may be the latest.
// Left out, it must open nothing.
func (r *reader) missLost() {
	latest := r.latestDay()
	for _, e := range r.lost {
		if !r.maybeOfPatient(e) || !r.isMissed(e, latest) {
			continue
		}
		r.incomplete = true
		r.warn(e.whole(), "", fault.InputIncomplete,
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

// maybeOfPatient reports whether nothing says that a resource is about somebody else.
func (r *reader) maybeOfPatient(e *entry) bool {
	subject := fhir.SubjectOf(e.resource)
	_, about := r.patientKey(subject, e)
	return about == aboutNobody || r.isPatient(subject, e)
}

// isMissed reports whether a resource may matter, as far as it can be read. What
// cannot is taken to matter.
func (r *reader) isMissed(e *entry, latest day) bool {
	switch resource := e.resource.(type) {
	case *fhir.Procedure:
		return isUncoded(resource.Code) || r.repairKind(resource.Code) != shoulder.RepairUnstated
	case *fhir.Condition:
		return isUncoded(resource.Code) || r.holds(historyOfRepair, resource.Code) || r.holds(shoulderConditions, resource.Code)
	case *fhir.Observation:
		f := finding{measure: r.aboutWhat(&resource.Code)}
		text, _ := effective(resource.Effective)
		when, dated := r.moment(text)
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

// aboutWhat is what the codings of a concept say that is measured.
func (r *reader) aboutWhat(concept *fhir.CodeableConcept) (m measure) {
	for i := range concept.Coding {
		if found := r.understand(&r.known.codes, &concept.Coding[i]).term.measure; found.kind != nothing {
			return found
		}
	}
	return m
}
