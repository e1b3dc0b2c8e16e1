package intake

import (
	"strconv"
	"strings"

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
		r.lostEntries = append(r.lostEntries, m.entry)
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
	latest, missed := r.latestDay(), 0
	r.missLost(latest)
	for _, e := range r.lostEntries {
		if !r.mayBeMissed(e, latest) {
			continue
		}
		r.incomplete = true
		if missed++; missed <= maxMalformed {
			r.warn(e.pathBase(), "", fault.InputIncomplete,
				"this entry, which is not used, may be about the shoulder; it counts as missing, and nothing is opened without it", "")
		}
	}
	if more := missed - maxMalformed; more > 0 {
		r.issues = append(r.issues, fault.Issue{
			Severity: fault.Warning, Kind: fault.InputIncomplete, Path: r.root,
			Detail:     "more entries that count as missing than are listed; nothing is opened without them",
			Diagnostic: "found " + strconv.Itoa(more) + " more",
		})
	}
}

// mayBeMissed reports whether leaving out an entry may permit more than reading it would
// have. Of a Bundle any of its entries may.
func (r *reader) mayBeMissed(e *entry, latest day) bool {
	b, ok := e.resource.(*fhir.Bundle)
	if !ok {
		return r.maybeOfPatient(e) && r.mayMatter(e, latest)
	}
	for i := range b.Entry {
		inner := &b.Entry[i]
		resource := inner.Resource
		if malformed, ok := resource.(*fhir.Malformed); ok {
			resource = malformed.Read
		} else if resource == nil && !lacksResource(inner) {
			continue
		}
		within := newEntry(e.bundle, e.index, inner.FullURL, resource) // no issue is about it: its place is that of the Bundle
		if r.mayBeMissed(&within, latest) {
			return true
		}
	}
	return false
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
	if response, ok := e.resource.(*fhir.QuestionnaireResponse); ok {
		subject = response.Subject
	}
	_, about := r.patientKey(subject, e)
	return about == subjectUnknown || r.isPatient(subject, e)
}

// mayMatter reports whether a resource may change the assessment, as far as it can be
// read. Where it cannot be read it is assumed to: of what type nobody can tell may be a
// measurement.
func (r *reader) mayMatter(e *entry, latest day) bool {
	switch resource := e.resource.(type) {
	case nil, *fhir.Untyped:
		return true
	case *fhir.QuestionnaireResponse:
		return isOurQuestionnaire(resource.Questionnaire) && r.mayBeSince(latest, resource.Authored)
	case *fhir.Procedure:
		return isUncoded(resource.Code) || r.repairKind(resource.Code) != shoulder.RepairUnstated || r.onShoulder(resource) && !r.isNoOperation(resource.Code)
	case *fhir.Condition:
		return isUncoded(resource.Code) || r.holds(historyOfRepair, resource.Code) || r.holds(shoulderConditions, resource.Code)
	case *fhir.Observation:
		f := finding{measure: r.measureOf(&resource.Code)}
		switch {
		case isUncoded(&resource.Code) || f.isOfShoulder() || f.kind == outcome:
			return r.mayBeSince(latest, lastTime(resource.Effective))
		case f.kind == handedness:
			return false
		}
		return f.kind != nothing && !f.inSession()
	}
	return false
}

// mayBeSince reports whether a time is of a day or later, or tells nothing.
func (r *reader) mayBeSince(earliest day, text string) bool {
	when, dated := r.dateTime(text)
	return !dated || !when.plausible() || when.day() >= earliest
}

// lastTime is the time of an Observation as written, of a period its end if it has one.
func lastTime(v fhir.Value) string {
	if period, ok := v.(*fhir.Period); ok && period != nil && period.End != "" {
		return period.End
	}
	text, _ := effective(v)
	return text
}

// isOurQuestionnaire reports whether the answers to a questionnaire may be measurements: it is published here, or not named.
func isOurQuestionnaire(canonical string) bool {
	return canonical == "" || strings.HasPrefix(canonical, fhir.CanonicalBase+"/")
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
