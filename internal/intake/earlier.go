package intake

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/fhir"
)

// Stored is a result of an earlier answer of this service that is part of the input: an
// Observation, a DetectedIssue, a Goal, a CarePlan or a DiagnosticReport of this patient.
type Stored struct {
	Resource  fhir.Resource
	Common    *fhir.Common // of the Resource
	Reference fhir.Reference
	Path      string    // FHIRPath in what was sent
	Updated   time.Time // zero if it is not known
}

// takeEarlierResult collects an entry that is a result of an earlier answer of this
// service, and reports whether it is one.
func (r *reader) takeEarlierResult(e *entry) bool {
	if !hasResultIdentifier(e.common.Identifier) {
		return false
	}
	r.addEarlierResult(e)
	return true
}

func (r *reader) addEarlierResult(e *entry) {
	if r.isPatient(fhir.SubjectOf(e.resource), e) {
		r.earlierResults = append(r.earlierResults, Stored{e.resource, e.common, e.reference(), e.path(), e.lastUpdated()})
	}
}

// carePlan recognises a plan of an earlier answer of this service, also if its identifier
// was removed. Other plans are outside the scope.
func (r *reader) carePlan(e *entry, c *fhir.CarePlan) {
	isOurs := hasResultIdentifier(c.Identifier)
	for _, canonical := range c.InstantiatesCanonical {
		isOurs = isOurs || strings.HasPrefix(canonical, fhir.CanonicalBase+"/")
	}
	if !isOurs {
		r.skipType(c.Type())
		return
	}
	r.addEarlierResult(e)
}

func hasResultIdentifier(identifiers []fhir.Identifier) bool {
	return slices.ContainsFunc(identifiers, func(id fhir.Identifier) bool { return id.System == fhir.SystemResult })
}

// sortedStored sorts the earlier results, the newest of each type first, independently of
// the order of the entries.
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
