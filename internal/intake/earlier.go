package intake

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/fhir"
)

// Stored is a result of an earlier answer of ours that the input holds: an Observation,
// a DetectedIssue, a Goal, a CarePlan or a DiagnosticReport, of this patient.
type Stored struct {
	Resource  fhir.Resource
	Common    *fhir.Common // of the Resource
	Reference fhir.Reference
	Path      string    // FHIRPath in what was sent
	Updated   time.Time // zero if it is not known
}

// earlier keeps a result of an earlier answer of ours, and reports whether it is one.
func (r *reader) earlier(e *entry) bool {
	if !hasResultIdentifier(e.common.Identifier) {
		return false
	}
	r.keepEarlier(e)
	return true
}

func (r *reader) keepEarlier(e *entry) {
	if r.isPatient(fhir.SubjectOf(e.resource), e) {
		r.earlierResults = append(r.earlierResults, Stored{e.resource, e.common, e.reference(), e.path(), e.lastUpdated()})
	}
}

// carePlan recognises a plan of an earlier answer of ours, also one whose identifier
// somebody took away. Other plans are outside the scope.
func (r *reader) carePlan(e *entry, c *fhir.CarePlan) {
	isOurs := hasResultIdentifier(c.Identifier)
	for _, canonical := range c.InstantiatesCanonical {
		isOurs = isOurs || strings.HasPrefix(canonical, fhir.CanonicalBase+"/")
	}
	if !isOurs {
		r.passOver(c.Type())
		return
	}
	r.keepEarlier(e)
}

func hasResultIdentifier(identifiers []fhir.Identifier) bool {
	return slices.ContainsFunc(identifiers, func(id fhir.Identifier) bool { return id.System == fhir.SystemResult })
}

// sortedStored puts the newest of a type first; the order of the entries plays no
// part.
func (r *reader) sortedStored() []Stored {
	slices.SortFunc(r.earlierResults, func(a, b Stored) int {
		return cmp.Or(
			strings.Compare(a.Resource.Type(), b.Resource.Type()),
			b.Updated.Compare(a.Updated),
			strings.Compare(a.Reference.Reference, b.Reference.Reference),
			strings.Compare(identifierText(firstIdentifier(a.Common.Identifier)), identifierText(firstIdentifier(b.Common.Identifier))),
		)
	})
	return r.earlierResults
}
