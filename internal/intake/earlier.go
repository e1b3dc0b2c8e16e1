package intake

import (
	"strings"

	"evenreach.example/internal/fhir"
)

// carePlan recognises a plan of an earlier answer of ours, which the new one
// replaces. Other plans are outside the scope.
func (r *reader) carePlan(e *entry, c *fhir.CarePlan) {
	isOurs := hasIdentifierOfOurs(c.Identifier)
	for _, canonical := range c.InstantiatesCanonical {
		isOurs = isOurs || isUnderBase(canonical)
	}
	if !isOurs || c.Status == "entered-in-error" {
		r.passOver(c.Type())
		return
	}
	r.replaces = append(r.replaces, e.reference())
}

// goal passes over a goal that is not of an earlier answer of ours.
func (r *reader) goal(g *fhir.Goal) {
	if !hasIdentifierOfOurs(g.Identifier) {
		r.passOver(g.Type())
	}
}

func hasIdentifierOfOurs(identifiers []fhir.Identifier) bool {
	for _, id := range identifiers {
		if isUnderBase(id.System) {
			return true
		}
	}
	return false
}

func isUnderBase(url string) bool { return strings.HasPrefix(url, fhir.CanonicalBase+"/") }
