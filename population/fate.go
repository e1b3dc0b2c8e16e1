package population

import (
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
)

// fate is what became of a line.
type fate uint8

const (
	unused    fate = iota // nothing says so yet
	used                  // in the sources of the results, or who, when and why
	elsewhere             // about something else
	dropped               // rejected, with a reason
)

// ledger says what became of each line of a patient.
type ledger struct {
	c       *caseOf
	fates   []fate
	reasons []fault.Issue // of the lines that were dropped
}

// account finds the fate of every line.
func (c *caseOf) account() *ledger {
	l := &ledger{c: c, fates: make([]fate, len(c.lines)), reasons: make([]fault.Issue, len(c.lines))}
	l.takeBroken()
	if c.answer != nil {
		l.takeSources(c.answer.Reading)
		l.takeIssues(c.answer.Reading.Issues)
	} else {
		l.takeIssues(c.refused.Issues)
	}
	for i := range l.fates {
		if l.fates[i] == unused {
			l.takeRest(i)
		}
	}
	return l
}

func (l *ledger) drop(i int, reason fault.Issue) { l.fates[i], l.reasons[i] = dropped, reason }

// takeBroken drops what is no JSON or no FHIR.
func (l *ledger) takeBroken() {
	for i := range l.c.lines {
		if issue, ok := l.c.broken[i]; ok {
			l.drop(i, issue)
			continue
		}
		if string(l.c.lines[i].Text) == missing {
			l.drop(i, fault.Issue{Kind: fault.Syntax, Detail: "not one object of JSON in UTF-8; it counts as missing, and nothing is opened without it"})
			continue
		}
		if l.c.entries == nil {
			continue
		}
		if malformed, ok := l.c.entries[i].Resource.(*fhir.Malformed); ok && len(malformed.Issues) > 0 {
			l.drop(i, malformed.Issues[0])
		}
	}
}

// takeSources finds what the results rest on.
func (l *ledger) takeSources(reading *intake.Reading) {
	for i := range reading.Sources {
		if at, ok := l.c.line(reading.Sources[i].Path); ok {
			l.fates[at] = used
		}
	}
	for i := range l.c.entries {
		switch resource := l.c.entries[i].Resource.(type) {
		case *fhir.Patient, *fhir.Encounter:
			l.fates[i] = used
		case *fhir.Condition:
			if slices.ContainsFunc(reading.Addresses, func(r fhir.Reference) bool {
				return strings.TrimPrefix(r.Reference, "Condition/") == resource.ID
			}) {
				l.fates[i] = used
			}
		}
	}
}

// takeIssues drops the lines of which the reading says that they were not used. A warning
// about a line that was used is about a part of it, or corrects it.
func (l *ledger) takeIssues(issues []fault.Issue) {
	for _, issue := range issues {
		at, ok := l.c.line(issue.Path)
		switch {
		case !ok || l.fates[at] != unused:
		case issue.Kind == fault.ComparisonAffected, issue.Kind == fault.SideMissing && issue.Severity == fault.Information:
			l.fates[at] = used
		case issue.Kind == fault.NotRead && issue.Severity == fault.Information:
			l.fates[at] = elsewhere
		case issue.Severity == fault.Warning:
			l.drop(at, issue)
		}
	}
}

// takeRest finds the fate of a line of which nothing was said. Of a patient who was
// refused, what would have been read is dropped for that reason.
func (l *ledger) takeRest(i int) {
	switch inScope := l.inScope(i); {
	case !inScope || l.c.aboutNoShoulder():
		l.fates[i] = elsewhere
	case l.c.refused != nil:
		l.drop(i, fault.Issue{Kind: l.c.refused.Kind(), Detail: l.c.refusal()})
	default:
		l.drop(i, fault.Issue{Kind: fault.Internal, Detail: "a defect of the program: nothing says what became of this line; please report it"})
	}
}

// inScope reports whether the resource of a line would be read of a patient who is
// assessed.
func (l *ledger) inScope(i int) bool {
	if l.c.entries == nil {
		return true
	}
	codes := l.c.assessor.Pipeline.Codes
	has := func(concept *fhir.CodeableConcept, uses ...intake.Use) bool {
		return concept != nil && slices.ContainsFunc(concept.Coding, func(c fhir.Coding) bool { return slices.Contains(uses, codes.Use(c)) })
	}
	refused := l.c.refused != nil
	switch resource := l.c.entries[i].Resource.(type) {
	case *fhir.Observation:
		return has(&resource.Code, intake.Measurement, intake.Confirmation) || refused && l.isOutcome(&resource.Code)
	case *fhir.Condition:
		return refused && has(resource.Code, intake.Disorder)
	case *fhir.Procedure:
		return refused && has(resource.Code, intake.Repair)
	case *fhir.Patient, *fhir.Encounter:
		return refused
	}
	return false
}

// isOutcome reports whether a concept is that of an outcome measure of the protocol.
func (l *ledger) isOutcome(concept *fhir.CodeableConcept) bool {
	for _, measure := range l.c.assessor.Pipeline.Protocols.Find("").OutcomeMeasures {
		for _, known := range measure.Codes {
			if slices.ContainsFunc(concept.Coding, func(c fhir.Coding) bool { return c.System == known.System && c.Code == known.Code }) {
				return true
			}
		}
	}
	return false
}

// line is the index of the line that a FHIRPath leads into.
func (c *caseOf) line(path string) (int, bool) {
	rest, ok := strings.CutPrefix(path, entryPath)
	number, _, found := strings.Cut(rest, "]")
	at, err := strconv.Atoi(number)
	return at, ok && found && err == nil && at < len(c.lines)
}

const entryPath = "Bundle.entry["

// elementOf is what of a FHIRPath lies within the resource.
func elementOf(path string) string {
	if !strings.HasPrefix(path, entryPath) {
		return ""
	}
	_, element, _ := strings.Cut(path, "].resource.")
	return element
}

// tally counts the lines, and lists those that were dropped.
func (l *ledger) tally(counts *Counts) (all []Rejection) {
	for i, fate := range l.fates {
		resource := l.typeOf(i)
		switch fate {
		case used:
			counts.use()
		case elsewhere:
			counts.passOver(resource)
		default:
			reason := &l.reasons[i]
			counts.reject(reason.Kind.String())
			r := rejection(l.c.lines[i].Place, resource, reason.Kind, reason.Detail)
			r.Patient, r.Element = l.c.name, elementOf(reason.Path)
			all = append(all, r)
		}
	}
	return all
}

// typeOf is the type of the resource of a line, as far as it is known.
func (l *ledger) typeOf(i int) string {
	if l.c.entries == nil {
		return ""
	}
	switch resource := l.c.entries[i].Resource.(type) {
	case nil, *fhir.OperationOutcome:
		return ""
	case *fhir.Malformed:
		if resource.Read == nil {
			return ""
		}
		return resource.Read.Type()
	default:
		return resource.Type()
	}
}

// aboutNoShoulder reports whether a patient was refused because nothing of a shoulder is
// there. That is no fault of the lines.
func (c *caseOf) aboutNoShoulder() bool {
	return c.refused != nil && slices.ContainsFunc(c.refused.Issues, func(i fault.Issue) bool { return i.Kind == fault.NothingToAssess })
}

// refusal is why a patient was refused, in one sentence.
func (c *caseOf) refusal() string {
	kind := c.refused.Kind()
	at := slices.IndexFunc(c.refused.Issues, func(i fault.Issue) bool { return i.Kind == kind && i.Severity >= fault.Error })
	if at < 0 {
		return "the patient was refused"
	}
	return "the patient was refused: " + c.refused.Issues[at].Detail
}
